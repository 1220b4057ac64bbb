"""A folder that is written whole or not at all, and never over what is not ours."""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from pathlib import Path

from jointlab.errors import InputError, Problem
from jointlab.publish.package import DESCRIPTOR

EARLIER = frozenset({"index.html", "pulls.csv"})
"""What publications left before they were data packages."""


def refuse_occupied(directory: Path, *, replacing: bool) -> None:
    """Raise unless the folder is free, or holds an earlier publication and nothing else and may be replaced.

    Raises
    ------
    InputError
        It is a file, not empty, or holds files no publication wrote.
    """
    if not directory.exists():
        return
    if not directory.is_dir():
        raise InputError(Problem("is a file: name a folder", value=str(directory)), subject=str(directory))
    found = {path.relative_to(directory).as_posix() for path in directory.rglob("*") if not path.is_dir()}
    if found and not replacing:
        problem = Problem("is not empty: name a new folder, or add --replace", value=str(directory))
        raise InputError(problem, subject=str(directory))
    foreign = sorted(found - _written_before(directory))
    if foreign:
        problem = Problem(f"holds files that no publication wrote ({', '.join(foreign[:5])}): name another folder")
        raise InputError(problem, subject=str(directory))


def _written_before(directory: Path) -> frozenset[str]:
    """Files the descriptor in the folder names as its own."""
    try:
        described = json.loads((directory / DESCRIPTOR).read_text(encoding="utf-8"))
        return EARLIER | {DESCRIPTOR} | {str(resource["path"]) for resource in described["resources"]}
    except (OSError, ValueError, LookupError, TypeError):
        return EARLIER


def write_folder(directory: Path, files: Mapping[str, bytes]) -> None:
    """Write the files beside the folder and put them in its place in one step, so that no half of them is ever seen.

    Raises
    ------
    InputError
        They cannot be written there.
    """
    whole = directory.resolve()
    unfinished, old = (whole.with_name(f".{whole.name}.{word}") for word in ("unfinished", "old"))
    try:
        shutil.rmtree(unfinished, ignore_errors=True)
        for name, content in files.items():
            path = unfinished / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        if whole.exists():
            shutil.rmtree(old, ignore_errors=True)
            whole.rename(old)
        unfinished.rename(whole)
        shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        problem = Problem(f"cannot be written: {error.strerror}", value=str(directory))
        raise InputError(problem, subject=str(directory)) from error
    finally:
        if old.exists() and not whole.exists():
            old.rename(whole)
        shutil.rmtree(unfinished, ignore_errors=True)


MOST_BYTES = 2_000_000_000
"""What a publication may hold in all."""


def folder_files(directory: Path) -> dict[str, bytes]:
    """Content of every file in a folder by its relative name; a link is never followed out of it.

    Raises
    ------
    InputError
        There is no such folder, it cannot be read, or it is too large to be a publication.
    """
    if not directory.is_dir():
        raise InputError(Problem("is no folder: name that of a publication", value=str(directory)), subject="publish")
    files: dict[str, bytes] = {}
    total = 0
    try:
        for path in sorted(directory.rglob("*")):
            if path.is_symlink():
                problem = Problem("is a link, and a publication holds none", value=path.name)
                raise InputError(problem, subject=str(directory))
            if path.is_file():
                total += path.stat().st_size
                if total > MOST_BYTES:
                    raise InputError(Problem("is too large to be a publication"), subject=str(directory))
                files[path.relative_to(directory).as_posix()] = path.read_bytes()
    except OSError as error:
        raise InputError(Problem(f"cannot be read: {error.strerror}"), subject=str(directory)) from None
    return files
