"""From a backup back to a book, looked through before it gets its name."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from sqlalchemy import URL

from jointlab.book.backup import copied, named
from jointlab.book.engine import address_of, file_of
from jointlab.book.failures import told_plainly
from jointlab.book.inspection import look_through
from jointlab.book.moving import restore_to_server
from jointlab.book.opening import opened
from jointlab.book.stored import BookCheck
from jointlab.errors import BookError


def restore_book(backup: str | Path, place: str | Path) -> BookCheck:
    """Make a book at ``place`` from a backup, which stays as it is; tells what is in it.

    The copy is looked through whole - file, references, chain - and brought to the present schema before it takes its
    name. Nothing is overwritten: a book that stands there is moved away first, by hand, with its ``-wal`` file. On a
    server it goes into an empty database.

    Raises
    ------
    BookError
        Something stands at ``place`` already; the backup is missing, damaged, no shop book, or of a newer jointlab.
    """
    source, address = Path(backup), address_of(place)
    target = file_of(address)
    if not source.is_file():
        raise BookError(f"There is no backup {source}: check its name.")
    if source.stat().st_size == 0:
        raise BookError(f"The backup {source} is empty: nothing was restored. Try an older one.")
    if target is None:
        if address.get_backend_name() == "sqlite":
            raise BookError(f"A backup is restored to a file or a server, and {place} is neither.")
        return restore_to_server(source, place)
    for taken in (target, target.with_name(f"{target.name}-wal")):
        if taken.exists():
            raise BookError(
                f"{taken} exists already; restoring overwrites nothing. Close jointlab everywhere, move that file "
                f"(and {target.name}-wal, if it is there) to another folder, then restore again."
            )
    unfinished = target.with_name(f"{target.name}.unfinished")
    try:
        return _restored(source, unfinished, target)
    except FileExistsError as failure:
        raise BookError(f"{target} was made by someone else meanwhile; nothing was restored.") from failure
    except (sqlite3.Error, OSError) as failure:
        raise BookError(f"{source} could not be restored ({failure}); {target} was not made.") from failure
    finally:
        for leftover in ("", "-wal", "-shm"):
            unfinished.with_name(f"{unfinished.name}{leftover}").unlink(missing_ok=True)


def _restored(source: Path, unfinished: Path, target: Path) -> BookCheck:
    copied(source, unfinished)
    report = _report_on(URL.create("sqlite", database=str(unfinished)), str(source))
    if not report.sound:
        found = "; ".join(report.damages[:3])
        raise BookError(f"The backup {source} is damaged and was not restored ({found}). Try an older one.")
    named(unfinished, target)
    return report


def _report_on(address: URL, name: str) -> BookCheck:
    engine = opened(address, copy=None)  # the backup itself stays as it is
    try:
        with told_plainly(name), engine.connect() as connection:
            return look_through(connection, name)
    finally:
        engine.dispose()
