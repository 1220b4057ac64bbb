"""Pulls on their way into a book: set aside on the disk first, so that the book is held only while they are stored."""

from __future__ import annotations

import marshal
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from itertools import chain
from typing import Any

from jointlab.book.cells import cells_of
from jointlab.errors import BookError, InputError, Problem
from jointlab.record.csv_file import named_twice
from jointlab.record.pull import Pull

SOURCE = "judgement"

CHUNK = 400
"""Rows handled at once: within the number of values one SQLite statement may carry."""

MOST_PROBLEMS = 1000
"""Problems that are listed one by one; more are counted (``SOURCE``)."""

_SHELF = """
PRAGMA journal_mode = OFF;
PRAGMA synchronous = OFF;
PRAGMA cache_size = -8192;
CREATE TABLE aside (place INTEGER PRIMARY KEY, line INTEGER, batch_key TEXT, specimen_key TEXT, cells BLOB,
    UNIQUE (batch_key, specimen_key));
"""

Cells = dict[str, Any]
_Row = tuple[int, int | None, str, str, bytes]
Numbered = tuple[int | None, Pull]
"""A pull and the row of the sheet it stands in; None where there is no sheet."""


class Refusals:
    """What is wrong with the rows of a file: the first problems as they are, the number of the others."""

    def __init__(self) -> None:
        self._listed: list[Problem] = []
        self._more = 0

    def __bool__(self) -> bool:
        return bool(self._listed)

    def add(self, problem: Problem) -> None:
        """List a problem, or count it."""
        if len(self._listed) < MOST_PROBLEMS:
            self._listed.append(problem)
        else:
            self._more += 1

    def with_those(self, of_file: Iterable[Problem] = ()) -> list[Problem]:
        """All of them and these, by their rows."""
        found = sorted([*of_file, *self._listed], key=lambda problem: problem.row or 10**9)
        if self._more:
            found.append(Problem(f"and {self._more} more rows differ from the book or repeat another"))
        return found


class Staged:
    """Pulls set aside, no specimen of a batch twice; ``refused`` is what their source raised after the last of them."""

    def __init__(self, shelf: sqlite3.Connection) -> None:
        self._shelf = shelf
        self._columns: tuple[str, ...] = ()
        self.refusals = Refusals()
        self.refused: InputError | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong with them so far."""
        return self.refused is None and not self.refusals

    def batches(self) -> list[str]:
        """Names of their glue-ups as they are matched, in the order in which they first come."""
        asked = "SELECT batch_key FROM aside GROUP BY batch_key ORDER BY min(place)"
        return [name for (name,) in self._shelf.execute(asked)]

    def chunks(self) -> Iterator[list[tuple[int | None, Cells]]]:
        """The cells of the pulls with their rows, some at a time, in their order."""
        found = self._shelf.execute("SELECT line, cells FROM aside ORDER BY place")
        while some := found.fetchmany(CHUNK):
            yield [(line, dict(zip(self._columns, marshal.loads(cells), strict=True))) for line, cells in some]

    def every_problem(self) -> InputError:
        """What is wrong with the file, and of its rows with the book as far as that was compared."""
        if self.refused is None:
            return InputError(self.refusals.with_those(), subject="the file")
        return InputError(self.refusals.with_those(self.refused.problems), subject=self.refused.subject)

    def take(self, pulls: Iterable[Numbered]) -> None:
        """Set these pulls aside as they come, until their source has no more or refuses."""
        self._shelf.execute("BEGIN")
        rows: list[_Row] = []
        try:
            for place, (line, pull) in enumerate(pulls):
                cells = cells_of(pull)
                self._columns = self._columns or tuple(cells)
                key = cells["batch_key"], cells["specimen_key"]
                rows.append((place, line, *key, marshal.dumps(tuple(cells.values()))))
                if len(rows) == CHUNK:
                    self._put(rows)
                    rows = []
        except InputError as refused:
            self.refused = refused
        self._put(rows)
        self._shelf.execute("COMMIT")

    def _put(self, rows: Sequence[_Row]) -> None:
        before = self._shelf.total_changes
        self._shelf.executemany("INSERT OR IGNORE INTO aside VALUES (?, ?, ?, ?, ?)", rows)
        if self._shelf.total_changes - before < len(rows):
            self._refuse_repeated(rows)

    def _refuse_repeated(self, rows: Sequence[_Row]) -> None:
        asked = "SELECT place, line FROM aside WHERE batch_key = ? AND specimen_key = ?"
        for place, line, *key, packed in rows:
            first, before = self._shelf.execute(asked, key).fetchone()
            if first != place:
                cells = dict(zip(self._columns, marshal.loads(packed), strict=True))
                self.refusals.add(named_twice(cells["batch"], cells["specimen"], row=line, before=before))


@contextmanager
def staged(pulls: Iterable[Numbered]) -> Iterator[Staged]:
    """These pulls set aside in a temporary file, which is gone when the block ends.

    Raises
    ------
    BookError
        There is no room for temporary files.
    """
    with closing(sqlite3.connect("", isolation_level=None)) as shelf:
        try:
            shelf.executescript(_SHELF)
            aside = Staged(shelf)
            aside.take(pulls)
        except sqlite3.OperationalError as failure:
            raise BookError(
                f"The pulls could not be set aside while they are looked through ({failure}): the disk for temporary "
                "files is full or read-only. Nothing was stored: free some space, or name another folder in TMPDIR."
            ) from failure
        yield aside


def keys_of(chunk: Iterable[tuple[int | None, Cells]]) -> tuple[str, ...]:
    """Batch and specimen of each of these rows in turn, as they are matched."""
    return tuple(chain.from_iterable((cells["batch_key"], cells["specimen_key"]) for _, cells in chunk))
