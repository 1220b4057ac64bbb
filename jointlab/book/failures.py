"""What the database refused, said so that the user knows what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from jointlab.errors import BookError, InputError, Problem
from jointlab.record.row import NAME_LENGTH

_SQLITE: tuple[tuple[str, str], ...] = (
    ("SQLITE_BUSY", "is in use by another program that is writing. Nothing was stored: try again in a moment"),
    ("SQLITE_LOCKED", "is in use by another program that is writing. Nothing was stored: try again in a moment"),
    (
        "SQLITE_READONLY",
        "cannot be written to: the file or its folder is read-only. Nothing was stored: change its permissions, or "
        "copy it to a folder of yours and name that with --book",
    ),
    (
        "SQLITE_CANTOPEN",
        "cannot be opened: check that its folder exists and that you may read and write the file and its folder",
    ),
    ("SQLITE_NOTADB", "is not a shop book: another kind of file stands there, and it was left as it is. Name another"),
    (
        "SQLITE_CORRUPT",
        "is damaged. Stop using it, keep a copy as it is, run `jointlab check` and restore the last backup beside it",
    ),
    ("SQLITE_FULL", "cannot grow: the disk is full. Nothing was stored: free some space and try again"),
    (
        "SQLITE_IOERR",
        "could not be read or written: the disk or its cable failed, or the disk is full. What was acknowledged before "
        "is kept; copy the book to another disk and run `jointlab check` there",
    ),
    ("SQLITE_PERM", "may not be opened by you: change its permissions"),
)

_UNOPENED = (
    "is damaged where its tables are listed: nothing in it can be read. Keep a copy as it is, and make a new book from "
    "the last backup: jointlab restore BACKUP --book NEW"
)

_LOST = (
    "broke off the connection. Whether the last entry was stored is not known: when the server is back, look at "
    "`jointlab pulls` before entering it again"
)

_POSTGRESQL: tuple[tuple[str, str], ...] = (
    ("40", "is in use by others who are writing. Nothing was stored: try again in a moment"),
    ("55P03", "is in use by others who are writing. Nothing was stored: try again in a moment"),
    ("28", "refused the name or password in its address"),
    ("3D", "does not exist on that server: have it created, or check the name at the end of the address"),
    ("42501", "does not let this user do that: the user's role there is to read or record only"),
    ("25006", "is read-only at present. Nothing was stored"),
    ("53100", "cannot grow: the server's disk is full. Nothing was stored"),
    ("53", "has no room for another connection at present. Nothing was stored: try again in a moment"),
    ("54", "cannot index names as long as these"),
    ("57", _LOST),
    ("XX", "is damaged. Stop using it and restore the last backup elsewhere"),
)

_UNREACHABLE = "does not answer: check that the server runs and that the address is right"


@contextmanager
def told_plainly(place: str) -> Iterator[None]:
    """Turn what the database refuses into a ``BookError`` that names the book and what to do.

    Raises
    ------
    BookError
        The database is locked, read-only, full, damaged, missing or no shop book.
    InputError
        A CHECK refused what was given, or it is no text or number that a database can hold.
    """
    try:
        yield
    except UnicodeEncodeError as failure:  # half of a character, as a name of a file in another encoding leaves it
        problem = Problem("is no text: write it anew", value=ascii(failure.object)[:NAME_LENGTH])
        raise InputError(problem, subject="what was asked") from failure
    except OverflowError as failure:
        problem = Problem("holds a number larger than any book counts to")
        raise InputError(problem, subject="what was asked") from failure
    except IntegrityError as failure:
        raise _refused(failure) from failure
    except DBAPIError as failure:
        raise BookError(f"The shop book {place} {_reason(failure)}.") from failure
    except sqlite3.Error as failure:  # of a statement that had to go round the engine
        raise BookError(f"The shop book {place} {_sqlite_reason(failure)}.") from failure
    except SQLAlchemyError as failure:
        raise BookError(f"The shop book {place} cannot be used: {failure}.") from failure


@contextmanager
def opening_told_plainly(place: str) -> Iterator[None]:
    """``told_plainly`` while a book is opened: one too damaged for that has nothing that could be looked through.

    Raises
    ------
    BookError
        As ``told_plainly``.
    """
    with told_plainly(place):
        try:
            yield
        except DBAPIError as failure:
            if str(getattr(failure.orig, "sqlite_errorname", "")).startswith("SQLITE_CORRUPT"):
                raise BookError(f"The shop book {place} {_UNOPENED}.") from failure
            raise


@contextmanager
def driver_at_hand(place: str) -> Iterator[None]:
    """Say what to install when the driver of a server's database is missing.

    Raises
    ------
    BookError
        The driver is not installed.
    """
    try:
        yield
    except ImportError as failure:
        raise BookError(
            f"The shop book {place} needs the driver that comes with jointlab[postgresql]: install it ({failure})."
        ) from failure


def _refused(failure: IntegrityError) -> InputError:
    return InputError(Problem(f"a limit of the shop book refuses it ({failure.orig})"), subject="the pull")


def _reason(failure: DBAPIError) -> str:
    if isinstance(failure.orig, sqlite3.Error):
        return _sqlite_reason(failure.orig)
    state = str(getattr(failure.orig, "sqlstate", "") or "")
    said = str(failure.orig).strip()
    if state and not state.startswith("08"):
        return next((told for start, told in _POSTGRESQL if state.startswith(start)), f"says: {said}")
    if "FATAL:" in said:
        return f"was refused by the server ({said.rsplit('FATAL:', 1)[1].strip()}): check its address"
    return _LOST if failure.connection_invalidated else f"{_UNREACHABLE} ({said.splitlines()[0] if said else ''})"


def _sqlite_reason(failure: sqlite3.Error) -> str:
    name = str(getattr(failure, "sqlite_errorname", "") or "")
    return next((said for start, said in _SQLITE if name.startswith(start)), f"says: {failure}")
