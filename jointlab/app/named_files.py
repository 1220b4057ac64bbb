"""Files the user names: read whole, written whole, and told by name when they cannot be."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from jointlab.errors import InputError, Problem


def content_of(path: Path) -> bytes:
    """Content of a file the user names.

    Raises
    ------
    InputError
        There is no such file, or it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(Problem(f"cannot be read: {error.strerror}", value=str(path)), subject=str(path)) from None


def text_of(path: Path) -> str:
    """Text of a file the user names, in UTF-8.

    Raises
    ------
    InputError
        There is no such file, it cannot be read, or it is no such text.
    """
    try:
        return content_of(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(Problem("is not UTF-8 text: save it as UTF-8"), subject=path.name) from None


def write_text(path: Path, text: str) -> None:
    """Write a text file the user names, in UTF-8, its line ends as they are."""
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file the user names.

    Raises
    ------
    InputError
        It cannot be written there.
    """
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputError(Problem(f"cannot be written: {error.strerror}", value=str(path)), subject=str(path)) from None


@contextmanager
def written_whole(path: Path) -> Iterator[BinaryIO]:
    """A file to write bit by bit, which has the name the user gave only once all of it is written.

    Raises
    ------
    InputError
        It cannot be written there.
    """
    plain = path.is_file() or not path.exists()  # what is no file on a disk is written to as it is
    unfinished = path.with_name(f"{path.name}.unfinished") if plain else path
    try:
        with unfinished.open("wb") as file:
            yield file
        if plain:
            unfinished.replace(path)
    except OSError as error:
        raise InputError(Problem(f"cannot be written: {error.strerror}", value=str(path)), subject=str(path)) from None
    finally:
        if plain:
            unfinished.unlink(missing_ok=True)
