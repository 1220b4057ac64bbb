"""Reading a package that someone sent, a folder or a .zip: bounded, without following anything, writing nothing."""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from jointlab.errors import InputError
from jointlab.publish.received import refused

SOURCE = "judgement"

MOST_FILES = 2_000
MOST_BYTES_OF_ONE = 100_000_000
MOST_BYTES = 200_000_000
MOST_SQUEEZED = 200
"""Files, bytes of one and of all, and bytes unpacked from one packed byte: beyond them nothing is read (``SOURCE``)."""

_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, OSError, ValueError, RuntimeError, IndexError,
           OverflowError, MemoryError)  # fmt: skip


def package_files(path: Path) -> dict[str, bytes]:
    """Every file of a package by its relative name.

    Raises
    ------
    InputError
        There is no such folder or .zip, or it is built to do harm: too much in it, names that lead out of it, links.
    """
    if path.is_symlink():
        raise refused(path.name, "is a link: name the package itself")
    if path.is_dir():
        return _of_folder(path)
    if not path.is_file():
        raise refused(str(path), "is neither a folder nor a .zip file")
    try:
        return _of_zip(path)
    except InputError:
        raise
    except _BROKEN as failure:
        raise refused(path.name, f"cannot be read as a .zip file: {failure}") from None


def _of_folder(folder: Path) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    total = 0
    for path in _walked(folder):
        relative = path.relative_to(folder).as_posix()
        size = path.lstat().st_size
        total += size
        _check_amount(folder.name, relative, len(files) + 1, size, total)
        with path.open("rb") as file:
            content = file.read(MOST_BYTES_OF_ONE + 1)
        _check_amount(folder.name, relative, len(files) + 1, len(content), total)
        files[relative] = content
    return files


def _walked(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.iterdir()):
        if path.is_symlink():
            raise refused(folder.name, f"{path.name} is a link: a package holds files only")
        if path.is_dir():
            yield from _walked(path)
        elif path.is_file():
            yield path
        else:
            raise refused(folder.name, f"{path.name} is no plain file")


def _check_amount(name: str, relative: str, count: int, size: int, total: int) -> None:
    if count > MOST_FILES:
        raise refused(name, f"holds more than {MOST_FILES} files")
    if size > MOST_BYTES_OF_ONE:
        raise refused(name, f"{relative} has more than {MOST_BYTES_OF_ONE} bytes")
    if total > MOST_BYTES:
        raise refused(name, f"holds more than {MOST_BYTES} bytes")


def _of_zip(path: Path) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    total = 0
    with zipfile.ZipFile(path) as packed:
        entries = [entry for entry in packed.infolist() if not entry.is_dir()]
        if len(packed.infolist()) > MOST_FILES:
            raise refused(path.name, f"holds more than {MOST_FILES} files")
        for entry in entries:
            _check_entry(path.name, entry, files)
            total += entry.file_size
            _check_amount(path.name, entry.filename, len(files) + 1, entry.file_size, total)
            with packed.open(entry) as file:
                content = file.read(entry.file_size + 1)
            if len(content) != entry.file_size:
                raise refused(path.name, f"{entry.filename} is not of the size it says")
            files[entry.filename] = content
    return _without_folder(files)


def _check_entry(name: str, entry: zipfile.ZipInfo, files: dict[str, bytes]) -> None:
    told = entry.orig_filename
    parts = told.split("/")
    if told != entry.filename or "\\" in told or ":" in told or not told.isprintable():
        raise refused(name, f"{told!r} is no plain name")
    if told.startswith("/") or ".." in parts or "" in parts or "." in parts:
        raise refused(name, f"{told!r} leads out of the package")
    if entry.filename in files:
        raise refused(name, f"{told} is there twice")
    if (entry.external_attr >> 16) & 0o170000 not in (0, 0o100000):
        raise refused(name, f"{told} is no plain file")
    if entry.flag_bits & 0x1:
        raise refused(name, f"{told} is locked by a password")
    if entry.file_size > MOST_SQUEEZED * max(entry.compress_size, 1) + 1_000_000:
        raise refused(name, f"{told} would unpack to more than {MOST_SQUEEZED} times its size")


def _without_folder(files: dict[str, bytes]) -> dict[str, bytes]:
    """The names without the one folder they may all stand in, as packing a folder makes them."""
    tops = {name.split("/")[0] for name in files}
    if len(tops) == 1 and all("/" in name for name in files):
        return {name.split("/", 1)[1]: content for name, content in files.items()}
    return files
