"""What was read and worked out of a book's pulls, at hand until the book has another entry.

A page asks for the same few combinations again and again while a mount is typed in. The head of the chain of pulls
stands for all that was ever recorded: as long as it is the same, so are the pulls. It is asked for anew each time, so
that an entry of another process is seen at once.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from operator import is_
from threading import Lock
from typing import Any

from jointlab.book.book import Book
from jointlab.book.stored import PullSelection, StoredCombination, StoredPull

MOST_ROWS = 20_000
"""Pulls and combinations kept in all, some tens of megabytes; the ones not asked for longest go first (judgement)."""


class Shelf:
    """Rows read from books, each kept under the head its book had before they were read."""

    def __init__(self, most_rows: int = MOST_ROWS) -> None:
        self._most = most_rows
        self._kept: OrderedDict[tuple[str, Hashable], tuple[str, tuple[Any, ...]]] = OrderedDict()
        self._guard = Lock()

    def rows(self, book: Book, asked: Hashable, read: Callable[[], tuple[Any, ...]]) -> tuple[Any, ...]:
        """What ``read`` gives, or gave when the book's chain of pulls ended where it ends now."""
        # the head first: rows that another process adds between the two are then read once more, never missed
        head, key = book.head(), (book.place, asked)
        with self._guard:
            known = self._kept.get(key)
            if known is not None and known[0] == head:
                self._kept.move_to_end(key)
                return known[1]
        found = read()
        with self._guard:
            self._kept[key] = (head, found)
            self._kept.move_to_end(key)
            self._let_go()
        return found

    @property
    def held(self) -> int:
        """Number of rows kept."""
        return sum(len(rows) for _, rows in self._kept.values())

    def _let_go(self) -> None:
        while self._kept and self.held > self._most:
            self._kept.popitem(last=False)


_SHELF = Shelf()


def pulls_at_hand(book: Book, selection: PullSelection) -> tuple[StoredPull, ...]:
    """``book.pulls`` as they stand now: the very same values until a pull is recorded, corrected or excluded."""
    return _SHELF.rows(book, selection, lambda: book.pulls(selection))


def combinations_at_hand(book: Book) -> tuple[StoredCombination, ...]:
    """``book.combinations`` as they stand now."""
    return _SHELF.rows(book, "combinations", book.combinations)


class TheVery:
    """Values that are the same only as the very same objects: told quickly, however many and however deep they are."""

    __slots__ = ("_hash", "values")

    def __init__(self, values: Sequence[Any]) -> None:
        self.values = tuple(values)
        self._hash = hash(tuple(map(id, self.values)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, TheVery) or len(self.values) != len(other.values):
            return False
        return all(map(is_, self.values, other.values))

    def __hash__(self) -> int:
        return self._hash
