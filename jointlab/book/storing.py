"""What changes a book: each function runs inside one transaction of a writer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from dataclasses import replace as with_changes
from itertools import islice, repeat
from typing import Any

from sqlalchemy import Connection, func, insert, select, tuple_, update

from jointlab.book.cells import cells_of, differing_columns, pull_from
from jointlab.book.chain import digest_of
from jointlab.book.reading import current_cells
from jointlab.book.schema import LEDGER, PULL_REVISIONS, PULLS
from jointlab.book.stored import ImportReceipt, StoredPull
from jointlab.book.wording import needed_line, optional_line
from jointlab.errors import BookError, InputError, Problem
from jointlab.record.pull import Pull

CHUNK = 400
"""Rows looked up and inserted at once: within the number of values one SQLite statement may carry."""

_Cells = dict[str, Any]
_Key = tuple[str, str]


@dataclass(slots=True)
class _Ledger:
    """Where the chain stands while a writer holds it."""

    length: int
    head: str

    def linked(self, cells: _Cells) -> _Cells:
        """The cells as the next revision of the chain."""
        self.length += 1
        cells = {"position": self.length, **cells}
        self.head = digest_of(cells, before=self.head)
        return {**cells, "digest": self.head}


def _held_ledger(connection: Connection) -> _Ledger:
    row = connection.execute(select(LEDGER.c.length, LEDGER.c.head).where(LEDGER.c.id == 1).with_for_update()).one()
    return _Ledger(row.length, row.head)


def _release(connection: Connection, ledger: _Ledger) -> None:
    connection.execute(update(LEDGER).where(LEDGER.c.id == 1).values(length=ledger.length, head=ledger.head))


def record(connection: Connection, pull: Pull, *, at: str, by: str | None) -> StoredPull:
    """Store one new pull."""
    cells, name = cells_of(pull), optional_line(by, column="by")
    ledger = _held_ledger(connection)
    taken = _owner_of(connection, cells)
    if taken is not None:
        raise InputError(_taken(taken, cells, row=None), subject="the pull")
    pull_id = _last_id(connection) + 1
    _insert(connection, ledger, [(pull_id, cells)], at=at, by=name)
    _release(connection, ledger)
    return StoredPull(pull_id, 1, pull)


def _last_id(connection: Connection) -> int:
    last = connection.execute(select(func.max(PULLS.c.id))).scalar()
    return int(last) if last is not None else 0


def _owner_of(connection: Connection, cells: _Cells) -> int | None:
    query = select(PULLS.c.id).where(
        PULLS.c.batch_key == cells["batch_key"], PULLS.c.specimen_key == cells["specimen_key"]
    )
    found = connection.execute(query).scalar()
    return int(found) if found is not None else None


def _taken(pull_id: int, cells: _Cells, *, row: int | None) -> Problem:
    message = (
        f"batch {cells['batch']} has a specimen {cells['specimen']} in the book already (pull {pull_id}); "
        f"give this one another, or correct that one: jointlab pulls correct {pull_id}"
    )
    return Problem(message, row=row, column="specimen", value=str(cells["specimen"]))


def _insert(
    connection: Connection, ledger: _Ledger, new: Sequence[tuple[int, _Cells]], *, at: str, by: str | None
) -> None:
    heads = [
        {"id": pull_id, "batch_key": cells["batch_key"], "specimen_key": cells["specimen_key"], "revision": 1}
        for pull_id, cells in new
    ]
    stamps = {"revision": 1, "recorded_at": at, "reason": None, "recorded_by": by}
    rows = [ledger.linked({"pull_id": pull_id, **stamps, **cells}) for pull_id, cells in new]
    connection.execute(insert(PULLS), heads)
    connection.execute(insert(PULL_REVISIONS), rows)


@dataclass(slots=True)
class _Import:
    """How far an import has come."""

    next_id: int
    seen: dict[_Key, int | None] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    stored: int = 0
    skipped: int = 0


def import_pulls(
    connection: Connection, pulls: Iterable[Pull], *, rows: Iterable[int] | None, at: str, by: str | None
) -> ImportReceipt:
    """Store all pulls that are new, or none; skip those equal to what was first recorded."""
    name = optional_line(by, column="by")
    ledger = _held_ledger(connection)
    progress = _Import(next_id=_last_id(connection) + 1)
    for chunk in _chunks(pulls, rows):
        new = list(_new_rows(connection, chunk, progress))
        if new and not progress.problems:
            _insert(connection, ledger, new, at=at, by=name)
        progress.stored += len(new)
    if progress.problems:
        raise InputError(progress.problems, subject="the file")
    _release(connection, ledger)
    return ImportReceipt(progress.stored, progress.skipped)


def _chunks(pulls: Iterable[Pull], rows: Iterable[int] | None) -> Iterator[list[tuple[int | None, _Cells]]]:
    pairs = zip(pulls, repeat(None), strict=False) if rows is None else zip(pulls, rows, strict=True)
    numbered = ((row, cells_of(pull)) for pull, row in pairs)
    while chunk := list(islice(numbered, CHUNK)):
        yield chunk


def _new_rows(
    connection: Connection, chunk: list[tuple[int | None, _Cells]], progress: _Import
) -> Iterator[tuple[int, _Cells]]:
    keys = [_key(cells) for _, cells in chunk]
    first, owners = _first_recorded(connection, keys), _owners(connection, keys)
    for row, cells in chunk:
        key = _key(cells)
        if key in progress.seen:
            progress.problems.append(_repeated(row, cells, progress.seen[key]))
            continue
        progress.seen[key] = row
        known = first.get(key, [])
        differences = [differing_columns(stored, cells) for stored in known]
        if () in differences:
            progress.skipped += 1
        elif known:
            progress.problems.append(_differing(row, cells, known[0], differences[0]))
        elif key in owners:
            progress.problems.append(_taken(owners[key], cells, row=row))
        else:
            yield progress.next_id, cells
            progress.next_id += 1


def _key(cells: _Cells) -> _Key:
    return cells["batch_key"], cells["specimen_key"]


def _first_recorded(connection: Connection, keys: list[_Key]) -> dict[_Key, list[_Cells]]:
    table = PULL_REVISIONS
    query = select(table).where(table.c.revision == 1, tuple_(table.c.batch_key, table.c.specimen_key).in_(keys))
    found: dict[_Key, list[_Cells]] = {}
    for row in connection.execute(query.order_by(table.c.position)).mappings():
        found.setdefault((row["batch_key"], row["specimen_key"]), []).append(dict(row))
    return found


def _owners(connection: Connection, keys: list[_Key]) -> dict[_Key, int]:
    query = select(PULLS).where(tuple_(PULLS.c.batch_key, PULLS.c.specimen_key).in_(keys))
    return {(row.batch_key, row.specimen_key): row.id for row in connection.execute(query)}


def _repeated(row: int | None, cells: _Cells, first: int | None) -> Problem:
    where = f" (row {first})" if first else ""
    message = f"batch {cells['batch']}, specimen {cells['specimen']} stands in the file twice{where}"
    return Problem(message, row=row, column="specimen", value=str(cells["specimen"]))


def _differing(row: int | None, cells: _Cells, stored: _Cells, columns: tuple[str, ...]) -> Problem:
    column = columns[0]
    others = f" (also {', '.join(columns[1:])})" if columns[1:] else ""
    message = (
        f"batch {cells['batch']}, specimen {cells['specimen']} was first recorded with {column} "
        f"{_said(stored[column])}{others}; a changed pull is corrected with: jointlab pulls correct {stored['pull_id']}"
    )
    return Problem(message, row=row, column=column, value=_said(cells[column]), allowed=_said(stored[column]))


def _said(value: object) -> str:
    return "blank" if value is None else str(value)


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
    ledger = _held_ledger(connection)
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
        raise InputError(_taken(int(owner or 0), cells, row=None), subject="the correction")
    revision = stored["revision"] + 1
    stamps = {"revision": revision, "recorded_at": at, "reason": why, "recorded_by": name}
    connection.execute(insert(PULL_REVISIONS), [ledger.linked({"pull_id": pull_id, **stamps, **cells})])
    head = {"batch_key": cells["batch_key"], "specimen_key": cells["specimen_key"], "revision": revision}
    connection.execute(update(PULLS).where(PULLS.c.id == pull_id).values(**head))
    _release(connection, ledger)
    return StoredPull(pull_id, revision, pull)


def exclude(connection: Connection, pull_id: int, *, cause: str, at: str, by: str | None) -> StoredPull:
    """Store the next revision of a pull, with the cause for not using it."""
    why = needed_line(cause, column="cause", subject="the exclusion")
    stored = pull_from(current_cells(connection, pull_id))
    if stored.excluded_because == why:
        raise InputError(Problem(f"pull {pull_id} is excluded for that cause already"), subject="the exclusion")
    return correct(connection, pull_id, with_changes(stored, excluded_because=why), reason=why, at=at, by=by)
