"""Many pulls at once, all or none: compared with the book and stored from where they were set aside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from sqlalchemy import Connection, RowMapping, Table, select

from jointlab.book.cells import differing_columns
from jointlab.book.engine import make_room
from jointlab.book.schema import LEDGER, PULL_REVISIONS, PULLS
from jointlab.book.staging import Cells, Staged, keys_of
from jointlab.book.stored import ImportReceipt
from jointlab.book.storing import held_ledger, insert_new, last_id, release, taken_by
from jointlab.book.wording import optional_line
from jointlab.errors import Problem

_Rows = list[tuple[int | None, Cells]]
_Key = tuple[str, str]


def compare(connection: Connection, staged: Staged) -> ImportReceipt:
    """How many of these pulls are new to the book, and how many it has; nothing is stored.

    Raises
    ------
    InputError
        With every problem of their source and of their rows with the book.
    """
    corrected = connection.execute(select(LEDGER.c.length)).scalar_one() > last_id(connection)
    new = skipped = 0
    for chunk in staged.chunks():
        fresh, known = _parted(connection, chunk, staged, corrected=corrected)
        new, skipped = new + len(fresh), skipped + known
    if not staged.sound:
        raise staged.every_problem()
    return ImportReceipt(new, skipped)


def import_pulls(connection: Connection, staged: Staged, *, at: str, by: str | None) -> ImportReceipt:
    """Store all pulls that are new, or none; skip those equal to what was first recorded.

    Raises
    ------
    InputError
        With every problem of their rows with the book.
    """
    name = optional_line(by, column="by")
    ledger = held_ledger(connection)
    first = last = last_id(connection)
    corrected, skipped = ledger.length > last, 0
    make_room(connection)
    for chunk in staged.chunks():
        fresh, known = _parted(connection, chunk, staged, corrected=corrected)
        skipped += known
        if fresh and staged.sound:
            insert_new(connection, ledger, list(enumerate(fresh, start=last + 1)), at=at, by=name)
            last += len(fresh)
    if not staged.sound:
        raise staged.every_problem()
    release(connection, ledger)
    return ImportReceipt(last - first, skipped)


def _parted(connection: Connection, chunk: _Rows, staged: Staged, *, corrected: bool) -> tuple[list[Cells], int]:
    """Those of these rows that are new, and how many the book has; what differs is refused.

    ``corrected`` tells whether a pull of the book was ever corrected, and so may have another name than at first.
    """
    keys = keys_of(chunk)
    first = _first_recorded(connection, keys)
    owners = _owners(connection, keys) if corrected else {}
    fresh: list[Cells] = []
    skipped = 0
    for row, cells in chunk:
        key = cells["batch_key"], cells["specimen_key"]
        known = first.get(key, [])
        differences = [differing_columns(stored, cells) for stored in known]
        if () in differences:
            skipped += 1
        elif known:
            staged.refusals.add(_differing(row, cells, known[0], differences[0]))
        elif key in owners:
            staged.refusals.add(taken_by(owners[key], cells, row=row))
        else:
            fresh.append(cells)
    return fresh, skipped


def _first_recorded(connection: Connection, keys: Sequence[str]) -> dict[_Key, list[Cells]]:
    found: dict[_Key, list[Cells]] = {}
    for row in named_rows(connection, PULL_REVISIONS, keys):
        if row["revision"] == 1:
            found.setdefault((row["batch_key"], row["specimen_key"]), []).append(dict(row))
    for rows in found.values():
        rows.sort(key=lambda cells: int(cells["position"]))
    return found


def _owners(connection: Connection, keys: Sequence[str]) -> dict[_Key, int]:
    return {(row["batch_key"], row["specimen_key"]): row["id"] for row in named_rows(connection, PULLS, keys)}


def named_rows(connection: Connection, table: Table, keys: Sequence[str]) -> Iterable[RowMapping]:
    """Rows with one of these batches and specimens, which stand in turn, each looked up by the index of both."""
    asked = naming(table.name, len(keys) // 2, mark="?" if connection.dialect.paramstyle == "qmark" else "%s")
    return connection.exec_driver_sql(asked, tuple(keys)).mappings()


@lru_cache(maxsize=8)
def naming(table: str, number: int, *, mark: str) -> str:
    """The question for the rows of so many batches and specimens.

    The pairs stand first and are joined: a list of pairs to be ``IN`` would make SQLite read the whole table.
    """
    pairs = ", ".join([f"({mark}, {mark})"] * number)
    return (
        f"WITH asked (batch_key, specimen_key) AS (VALUES {pairs}) SELECT named.* FROM asked CROSS JOIN {table} named "
        "WHERE named.batch_key = asked.batch_key AND named.specimen_key = asked.specimen_key"
    )


def _differing(row: int | None, cells: Cells, stored: Cells, columns: tuple[str, ...]) -> Problem:
    column = columns[0]
    others = f" (also {', '.join(columns[1:])})" if columns[1:] else ""
    message = (
        f"batch {cells['batch']}, specimen {cells['specimen']} was first recorded with {column} "
        f"{_said(stored[column])}{others}; a changed pull is corrected with: jointlab pulls correct {stored['pull_id']}"
    )
    return Problem(message, row=row, column=column, value=_said(cells[column]), allowed=_said(stored[column]))


def _said(value: object) -> str:
    return "blank" if value is None else str(value)
