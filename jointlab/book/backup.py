"""A whole book in one new file, while others go on writing."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from itertools import count
from pathlib import Path

from jointlab.errors import BookError


def back_up(book: Path, target: Path) -> Path:
    """Copy the book as it stands at one moment into a new file, look through it, and only then give it its name.

    Raises
    ------
    BookError
        Something stands at the target already, its folder is missing, or it cannot be written.
    """
    if target.exists():
        raise BookError(f"{target} exists already; a backup overwrites nothing. Name another file.")
    unfinished = target.with_name(f"{target.name}.unfinished")
    try:
        copied(book, unfinished)
        named(unfinished, target)
    except FileExistsError as failure:
        raise BookError(f"{target} exists already; a backup overwrites nothing. Name another file.") from failure
    except (sqlite3.Error, OSError) as failure:
        raise BookError(
            f"The backup {target} could not be written ({failure}); the book is as it was. "
            "Check that the folder exists, that you may write there and that the disk has room."
        ) from failure
    finally:
        unfinished.unlink(missing_ok=True)
    return target


def copy_beside(book: Path) -> Path:
    """Back the book up next to itself under a name that is still free, before its schema is changed."""
    names = (book.with_name(f"{book.stem}.before-upgrade-{number}{book.suffix}") for number in count(1))
    return back_up(book, next(name for name in names if not name.exists()))


def copied(book: Path, unfinished: Path) -> None:
    """Copy the book as it stands at one moment, and look through the copy."""
    unfinished.unlink(missing_ok=True)
    with closing(sqlite3.connect(book)) as source, closing(sqlite3.connect(unfinished)) as copy:
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, readable from a read-only disk
        (said,) = copy.execute("PRAGMA quick_check(1)").fetchone()
    if said != "ok":
        raise sqlite3.DatabaseError(f"the copy is damaged: {said}")


def named(unfinished: Path, target: Path) -> None:
    """Give a finished file its name, unless someone else just took it."""
    with unfinished.open("rb+") as file:
        os.fsync(file.fileno())
    target.open("xb").close()  # takes the name, or finds that someone else just did
    unfinished.replace(target)
    if os.name == "posix":
        _sync_folder(target.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
