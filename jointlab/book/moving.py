"""A whole book copied from one place to another: from a file to a server, or back."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Table, func, insert, select, update

from jointlab.book.engine import address_of, reading_at_one_moment, shown, writing
from jointlab.book.failures import told_plainly
from jointlab.book.inspection import look_through
from jointlab.book.opening import opened
from jointlab.book.schema import CHAINS, LEDGER, METADATA
from jointlab.book.stored import BookCheck
from jointlab.errors import BookError

ROWS_AT_ONCE = 500
"""Rows carried over in one statement."""


_ENDS = (LEDGER, CHAINS)
_ENTRIES = tuple(table for table in METADATA.sorted_tables if table not in _ENDS)


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
    from_address, to_address = address_of(source), address_of(target)
    name = shown(to_address)
    with told_plainly(shown(from_address)):
        from_engine = opened(from_address)
    try:
        to_engine = opened(to_address)
        try:
            snapshot, growing = reading_at_one_moment(from_engine), writing(to_engine)
            with told_plainly(name), snapshot.connect() as reader, growing.begin() as writer:
                return _copied(reader, writer, name)
        finally:
            to_engine.dispose()
    finally:
        from_engine.dispose()


def _copied(reader: Connection, writer: Connection, name: str) -> BookCheck:
    length = writer.execute(select(LEDGER.c.length).where(LEDGER.c.id == 1).with_for_update()).scalar_one()
    if length or any(_count(writer, table) for table in _ENTRIES):
        raise BookError(f"The shop book {name} has entries already: a copy goes into an empty book only.")
    for table in _ENTRIES:
        order = list(table.primary_key.columns)
        rows = reader.execution_options(yield_per=ROWS_AT_ONCE).execute(select(table).order_by(*order)).mappings()
        for part in rows.partitions(ROWS_AT_ONCE):
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
