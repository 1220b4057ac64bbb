"""A whole book copied from one place to another: from a file to a server, or back."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine, Table, func, insert, select, update

from jointlab.book.backup import copied, named
from jointlab.book.engine import address_of, reading_at_one_moment, shown, writing
from jointlab.book.failures import told_plainly
from jointlab.book.inspection import look_through
from jointlab.book.opening import opened
from jointlab.book.schema import LEDGER
from jointlab.book.schema_beside import CHAINS, EVERY_TABLE, PHOTOS
from jointlab.book.stored import BookCheck
from jointlab.errors import BookError

ROWS_AT_ONCE = 500
"""Rows carried over in one statement."""

PHOTOS_AT_ONCE = 10
"""Photos carried over in one statement: each may be of several megabytes."""

_ENDS = (LEDGER, CHAINS)
_ENTRIES = tuple(table for table in EVERY_TABLE if table not in _ENDS)


def copy_book(source: str | Path, target: str | Path) -> BookCheck:
    """Copy every row of a book, numbers, history and chain included, into an empty book; the source stays as it is.

    Returns
    -------
    BookCheck
        What was found when the copy was looked through, before it was let stand.

    Raises
    ------
    BookError
        The target holds something already, or one of the books cannot be used; the target is then as it was.
    """
    from_address = address_of(source)
    with told_plainly(shown(from_address)):
        from_engine = opened(from_address)
    try:
        return _copied_to(from_engine, target, name=shown(address_of(target)))
    finally:
        from_engine.dispose()


def restore_to_server(backup: Path, target: str | Path) -> BookCheck:
    """Copy a backup, which stays as it is, into the empty book of a server.

    Raises
    ------
    BookError
        The backup is damaged or no shop book, or the server's book has entries or cannot be used.
    """
    with tempfile.TemporaryDirectory(prefix="jointlab-") as folder:
        apart = Path(folder) / "backup.db"
        try:
            copied(backup, apart)
        except (sqlite3.Error, OSError) as failure:
            raise BookError(f"{backup} could not be restored ({failure}); nothing was stored.") from failure
        return copy_book(apart, target)


def back_up_from_server(engine: Engine, target: Path) -> Path:
    """Copy a book that is no file, as it stands at one moment, into a new file that is a book of its own.

    Raises
    ------
    BookError
        Something stands at the target already, or it cannot be written.
    """
    taken = f"{target} exists already; a backup overwrites nothing. Name another file."
    if target.exists():
        raise BookError(taken)
    unfinished = target.with_name(f"{target.name}.unfinished")
    beside = [unfinished.with_name(f"{unfinished.name}{end}") for end in ("", "-wal", "-shm")]
    try:
        for path in beside:
            path.unlink(missing_ok=True)
        _copied_to(engine, unfinished, name=str(target))
        with closing(sqlite3.connect(unfinished)) as copy:
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, readable from a read-only disk
        named(unfinished, target)
    except FileExistsError as failure:
        raise BookError(taken) from failure
    except (sqlite3.Error, OSError) as failure:
        raise BookError(f"The backup {target} could not be written ({failure}); the book is as it was.") from failure
    finally:
        for path in beside:
            path.unlink(missing_ok=True)
    return target


def _copied_to(from_engine: Engine, target: str | Path, *, name: str) -> BookCheck:
    to_engine = opened(address_of(target))
    try:
        snapshot, growing = reading_at_one_moment(from_engine), writing(to_engine)
        with told_plainly(name), snapshot.connect() as reader, growing.begin() as writer:
            return _copied(reader, writer, name)
    finally:
        to_engine.dispose()


def _copied(reader: Connection, writer: Connection, name: str) -> BookCheck:
    length = writer.execute(select(LEDGER.c.length).where(LEDGER.c.id == 1).with_for_update()).scalar_one()
    if length or any(_count(writer, table) for table in _ENTRIES):
        raise BookError(f"The shop book {name} has entries already: a copy goes into an empty book only.")
    for table in _ENTRIES:
        order = list(table.primary_key.columns)
        at_once = PHOTOS_AT_ONCE if table is PHOTOS else ROWS_AT_ONCE
        rows = reader.execution_options(yield_per=at_once).execute(select(table).order_by(*order)).mappings()
        for part in rows.partitions(at_once):
            writer.execute(insert(table), [dict(row) for row in part])
    for table in _ENDS:
        (key,) = table.primary_key.columns
        for row in reader.execute(select(table)).mappings():
            writer.execute(update(table).where(key == row[key.name]).values(**dict(row)))
    report = look_through(writer, name)
    if not report.sound:
        raise BookError(
            f"The copy in {name} was not let stand: {'; '.join(report.damages[:3])}. Check the source first."
        )
    return report


def _count(connection: Connection, table: Table) -> int:
    return int(connection.execute(select(func.count()).select_from(table)).scalar_one())
