"""A book to write in, and pulls to write into it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from jointlab.book.book import Book
from jointlab.record.pull import Pull
from jointlab.record.row import checked_row, pull_of

CELLS = {
    "batch": "G1",
    "specimen": "1",
    "tested_on": "2026-03-14",
    "glue": "Yellow glue",
    "substrate": "MDF",
    "action": "pull",
    "shape": "disc",
    "diameter_mm": "50",
    "load_n": "1500",
    "outcome": "broke",
}

PullMaker = Callable[..., Pull]


@pytest.fixture
def pull_of_cells() -> PullMaker:
    """A good pull, with these cells instead; None leaves a cell blank."""

    def make(**cells: str | None) -> Pull:
        written = {name: text for name, text in {**CELLS, **cells}.items() if text is not None}
        return pull_of(checked_row(written), entered=(("load_n", written.get("load_n", "")),))

    return make


@pytest.fixture
def place(tmp_path: Path) -> str:
    return str(tmp_path / "shop.db")


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty book made once, since making one loads the migrations."""
    path = tmp_path_factory.mktemp("book") / "empty.db"
    Book.open(path).close()
    return path


@pytest.fixture
def book(place: str, empty_book: Path) -> Iterator[Book]:
    shutil.copyfile(empty_book, place)
    with Book.open(place) as opened:
        yield opened
