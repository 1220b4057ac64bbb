"""Files the user names: read whole, written whole, and told by name when they cannot be."""

from __future__ import annotations

from pathlib import Path

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
