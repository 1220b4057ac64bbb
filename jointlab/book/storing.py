"""What changes a book: each function runs inside one transaction of a writer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from dataclasses import replace as with_changes
from functools import lru_cache
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, Dialect, Table, func, insert, select, update

from jointlab.book.cells import cells_of, differing_columns, pull_from
from jointlab.book.chain import digest_of
from jointlab.book.reading import current_cells
from jointlab.book.schema import LEDGER, PULL_REVISIONS, PULLS
from jointlab.book.stored import StoredPull
from jointlab.book.wording import needed_line, optional_line
from jointlab.errors import BookError, InputError, Problem
from jointlab.record.pull import Pull

_Cells = dict[str, Any]


@dataclass(slots=True)
class Ledger:
    """Where the chain stands while a writer holds it."""

    length: int
    head: str

    def linked(self, cells: _Cells) -> _Cells:
        """The cells as the next revision of the chain."""
        self.length += 1
        cells = {"position": self.length, **cells}
        self.head = digest_of(cells, before=self.head)
        return {**cells, "digest": self.head}


def held_ledger(connection: Connection) -> Ledger:
    """Where the chain stands, held until the transaction ends so that the next writer waits."""
    row = connection.execute(select(LEDGER.c.length, LEDGER.c.head).where(LEDGER.c.id == 1).with_for_update()).one()
    return Ledger(row.length, row.head)


def release(connection: Connection, ledger: Ledger) -> None:
    """Set the ledger to what was added to the chain."""
    connection.execute(update(LEDGER).where(LEDGER.c.id == 1).values(length=ledger.length, head=ledger.head))


def record(connection: Connection, pull: Pull, *, at: str, by: str | None) -> StoredPull:
    """Store one new pull."""
    cells, name = cells_of(pull), optional_line(by, column="by")
    ledger = held_ledger(connection)
    taken = _owner_of(connection, cells)
    if taken is not None:
        raise InputError(taken_by(taken, cells, row=None), subject="the pull")
    pull_id = last_id(connection) + 1
    insert_new(connection, ledger, [(pull_id, cells)], at=at, by=name)
    release(connection, ledger)
    return StoredPull(pull_id, 1, pull)


def last_id(connection: Connection) -> int:
    """Number of the pull stored last; 0 in an empty book."""
    last = connection.execute(select(func.max(PULLS.c.id))).scalar()
    return int(last) if last is not None else 0


def _owner_of(connection: Connection, cells: _Cells) -> int | None:
    query = select(PULLS.c.id).where(
        PULLS.c.batch_key == cells["batch_key"], PULLS.c.specimen_key == cells["specimen_key"]
    )
    found = connection.execute(query).scalar()
    return int(found) if found is not None else None


def taken_by(pull_id: int, cells: _Cells, *, row: int | None) -> Problem:
    """What to say of a pull whose batch and specimen are another's."""
    message = (
        f"batch {cells['batch']} has a specimen {cells['specimen']} in the book already (pull {pull_id}); "
        f"give this one another, or correct that one: jointlab pulls correct {pull_id}"
    )
    return Problem(message, row=row, column="specimen", value=str(cells["specimen"]))


def insert_new(
    connection: Connection, ledger: Ledger, new: Sequence[tuple[int, _Cells]], *, at: str, by: str | None
) -> None:
    """Store new pulls, each under its number, as the next links of the chain."""
    heads = [
        {"id": pull_id, "batch_key": cells["batch_key"], "specimen_key": cells["specimen_key"], "revision": 1}
        for pull_id, cells in new
    ]
    stamps = {"revision": 1, "recorded_at": at, "reason": None, "recorded_by": by}
    rows = [ledger.linked({"pull_id": pull_id, **stamps, **cells}) for pull_id, cells in new]
    _store(connection, PULLS, heads)
    _store(connection, PULL_REVISIONS, rows)


def _store(connection: Connection, table: Table, rows: Sequence[_Cells]) -> None:
    # handed to the driver as they are: working through each cell of a million rows takes longer than storing them
    filled = tuple(name for name in rows[0] if any(row[name] is not None for row in rows))
    compiled = _statement(table, filled, connection.dialect)
    order = compiled.positiontup
    connection.exec_driver_sql(
        str(compiled), [dict(row) for row in rows] if order is None else list(map(itemgetter(*order), rows))
    )


@lru_cache(maxsize=64)
def _statement(table: Table, columns: tuple[str, ...], dialect: Dialect) -> Any:
    return insert(table).compile(dialect=dialect, column_keys=list(columns))


def correct(
    connection: Connection,
    pull_id: int,
    pull: Pull,
    *,
    reason: str,
    at: str,
    by: str | None,
    seen_revision: int | None = None,
) -> StoredPull:
    """Store the next revision of a pull."""
    why, name = needed_line(reason, column="reason", subject="the correction"), optional_line(by, column="by")
    cells = cells_of(pull)
    ledger = held_ledger(connection)
    stored = current_cells(connection, pull_id)
    if seen_revision is not None and seen_revision != stored["revision"]:
        raise BookError(
            f"Pull {pull_id} was corrected by someone else meanwhile: it is at revision {stored['revision']}, "
            f"not {seen_revision}. Nothing was stored: look at it and correct it again."
        )
    if not differing_columns(stored, cells) and stored["entered"] == cells["entered"]:
        raise InputError(Problem(f"pull {pull_id} says so already: nothing to correct"), subject="the correction")
    owner = _owner_of(connection, cells)
    if owner not in (None, pull_id):
        raise InputError(taken_by(int(owner or 0), cells, row=None), subject="the correction")
    revision = stored["revision"] + 1
    stamps = {"revision": revision, "recorded_at": at, "reason": why, "recorded_by": name}
    connection.execute(insert(PULL_REVISIONS), [ledger.linked({"pull_id": pull_id, **stamps, **cells})])
    head = {"batch_key": cells["batch_key"], "specimen_key": cells["specimen_key"], "revision": revision}
    connection.execute(update(PULLS).where(PULLS.c.id == pull_id).values(**head))
    release(connection, ledger)
    return StoredPull(pull_id, revision, pull)


def exclude(connection: Connection, pull_id: int, *, cause: str, at: str, by: str | None) -> StoredPull:
    """Store the next revision of a pull, with the cause for not using it."""
    why = needed_line(cause, column="cause", subject="the exclusion")
    stored = pull_from(current_cells(connection, pull_id))
    if stored.excluded_because == why:
        raise InputError(Problem(f"pull {pull_id} is excluded for that cause already"), subject="the exclusion")
    return correct(connection, pull_id, with_changes(stored, excluded_because=why), reason=why, at=at, by=by)
