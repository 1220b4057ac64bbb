"""Many pulls at once, all or none: read as they are stored, so that a file may be longer than the memory."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import chain
from typing import Any

from sqlalchemy import Connection, RowMapping, Table

from jointlab.book.cells import cells_of, differing_columns
from jointlab.book.engine import make_room
from jointlab.book.schema import PULL_REVISIONS, PULLS
from jointlab.book.stored import ImportReceipt
from jointlab.book.storing import held_ledger, insert_new, last_id, release, taken_by
from jointlab.book.wording import optional_line
from jointlab.errors import InputError, Problem
from jointlab.record.csv_file import named_twice
from jointlab.record.pull import Pull

SOURCE = "judgement"

CHUNK = 400
"""Rows looked up and inserted at once: within the number of values one SQLite statement may carry."""

MOST_PROBLEMS = 1000
"""Problems with the book that are listed one by one; more are counted (``SOURCE``)."""

_Cells = dict[str, Any]
_Key = tuple[str, str]
Numbered = tuple[int | None, Pull]
"""A pull and the row of the sheet it stands in; None where there is no sheet."""


class _Import:
    """How far an import has come: eight bytes for each pull of the book, and no more for each row of the file.

    ``corrected`` tells whether a pull of the book was ever corrected, and so may have another name than at first.
    """

    def __init__(self, last: int, *, corrected: bool) -> None:
        self.corrected = corrected
        self.stored = 0
        self.skipped = 0
        self.problems: list[Problem] = []
        self._more = 0
        self._row_of = array("q", bytes(8 * (last + 1)))

    def next_number(self, row: int | None) -> int:
        """Number for the pull in this row."""
        self.stored += 1
        self._row_of.append(row or -1)
        return len(self._row_of) - 1

    def row_of(self, pull_id: int) -> int:
        """Row in which this pull stood already; -1 where rows have no number, 0 where it did not."""
        return self._row_of[pull_id]

    def meet(self, pull_id: int, row: int | None) -> None:
        """Note that a row of the file is about a pull of the book."""
        self._row_of[pull_id] = row or -1

    def refuse(self, problem: Problem) -> None:
        """List a problem, or count it."""
        if len(self.problems) < MOST_PROBLEMS:
            self.problems.append(problem)
        else:
            self._more += 1

    def every_problem(self, of_file: Iterable[Problem] = ()) -> list[Problem]:
        """What is wrong with the file, by its rows."""
        found = sorted([*of_file, *self.problems], key=lambda problem: problem.row or 10**9)
        if self._more:
            found.append(Problem(f"and {self._more} more rows differ from the book or repeat another"))
        return found


def import_pulls(connection: Connection, pulls: Iterable[Numbered], *, at: str, by: str | None) -> ImportReceipt:
    """Store all pulls that are new, or none; skip those equal to what was first recorded.

    Raises
    ------
    InputError
        With every problem of the source, should it raise one, and of its rows with the book.
    """
    name = optional_line(by, column="by")
    ledger = held_ledger(connection)
    last = last_id(connection)
    progress = _Import(last, corrected=ledger.length > last)
    make_room(connection)
    try:
        for chunk in _chunks(pulls):
            new = list(_new_rows(connection, chunk, progress))
            if new:
                # also in a file that will be refused: its later rows are compared with its earlier ones
                insert_new(connection, ledger, new, at=at, by=name)
    except InputError as refused:
        raise InputError(progress.every_problem(refused.problems), subject=refused.subject) from refused
    if progress.problems:
        raise InputError(progress.every_problem(), subject="the file")
    release(connection, ledger)
    return ImportReceipt(progress.stored, progress.skipped)


def _chunks(pulls: Iterable[Numbered]) -> Iterator[list[tuple[int | None, _Cells]]]:
    chunk: list[tuple[int | None, _Cells]] = []
    try:
        for row, pull in pulls:
            chunk.append((row, cells_of(pull)))
            if len(chunk) == CHUNK:
                yield chunk
                chunk = []
    except InputError:
        if chunk:  # what came before is compared with the book, so that every problem is told at once
            yield chunk
        raise
    if chunk:
        yield chunk


def _new_rows(
    connection: Connection, chunk: list[tuple[int | None, _Cells]], progress: _Import
) -> Iterator[tuple[int, _Cells]]:
    keys = list(dict.fromkeys(_key(cells) for _, cells in chunk))
    first = _first_recorded(connection, keys)
    owners = _owners(connection, keys) if progress.corrected else {}
    here: dict[_Key, int] = {}
    for row, cells in chunk:
        key = _key(cells)
        known = first.get(key, [])
        before = here.get(key) or next((at for each in known if (at := progress.row_of(each["pull_id"]))), 0)
        here[key] = row or -1
        if before:
            progress.refuse(named_twice(cells["batch"], cells["specimen"], row=row, before=max(before, 0)))
            continue
        for each in known:
            progress.meet(each["pull_id"], row)
        differences = [differing_columns(stored, cells) for stored in known]
        if () in differences:
            progress.skipped += 1
        elif known:
            progress.refuse(_differing(row, cells, known[0], differences[0]))
        elif key in owners:
            progress.refuse(taken_by(owners[key], cells, row=row))
        else:
            yield progress.next_number(row), cells


def _key(cells: _Cells) -> _Key:
    return cells["batch_key"], cells["specimen_key"]


def _first_recorded(connection: Connection, keys: Sequence[_Key]) -> dict[_Key, list[_Cells]]:
    found: dict[_Key, list[_Cells]] = {}
    for row in named_rows(connection, PULL_REVISIONS, keys):
        if row["revision"] == 1:
            found.setdefault((row["batch_key"], row["specimen_key"]), []).append(dict(row))
    for rows in found.values():
        rows.sort(key=lambda cells: int(cells["position"]))
    return found


def _owners(connection: Connection, keys: Sequence[_Key]) -> dict[_Key, int]:
    return {(row["batch_key"], row["specimen_key"]): row["id"] for row in named_rows(connection, PULLS, keys)}


def named_rows(connection: Connection, table: Table, keys: Sequence[_Key]) -> Iterable[RowMapping]:
    """Rows with one of these batches and specimens, each looked up by the index of both."""
    asked = naming(table.name, len(keys), mark="?" if connection.dialect.paramstyle == "qmark" else "%s")
    return connection.exec_driver_sql(asked, tuple(chain.from_iterable(keys))).mappings()


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
