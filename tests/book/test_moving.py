"""A book copied from one engine to the other loses nothing."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from jointlab.book.book import Book
from jointlab.book.moving import copy_book
from jointlab.errors import BookError
from jointlab.record.rig import Rig, RigCheck, RigKind


def _fill(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n), notes="Öl\nzwei") for n in range(520)])
        book.correct(7, pull_of_cells(specimen="6", load_n="0.1"), reason="misread", by="Kim")
        book.exclude(3, cause="slipped")
        book.keep_rig(Rig("Beam", RigKind.LEVER, ratio=5.0, checks=(RigCheck("2026-03-01", 1.0, 1.1),)))


def _everything(place):
    with Book.open(place) as book:
        return book.check(), book.pulls(), book.history(7), book.combinations(), book.rig_history("beam")


def test_there_and_back_again_everything_is_the_same(tmp_path, any_place, pull_of_cells):
    first, last = tmp_path / "first.db", tmp_path / "last.db"
    _fill(first, pull_of_cells)
    assert copy_book(first, any_place).sound
    assert _everything(any_place) == _everything(first)
    copy_book(any_place, last)
    assert _everything(last) == _everything(first)
    with Book.open(last) as book:
        assert book.record(pull_of_cells(specimen="new")).id == 521
        assert book.check().sound


def test_a_copy_goes_into_an_empty_book_only(tmp_path, pull_of_cells):
    first, second = tmp_path / "first.db", tmp_path / "second.db"
    _fill(first, pull_of_cells)
    with Book.open(second) as book:
        book.record(pull_of_cells())
    with pytest.raises(BookError, match="has entries already"):
        copy_book(first, second)
    with Book.open(second) as book:
        assert len(book.pulls()) == 1


def test_a_damaged_book_is_not_copied(tmp_path, pull_of_cells):
    first, second = tmp_path / "first.db", tmp_path / "second.db"
    _fill(first, pull_of_cells)
    with closing(sqlite3.connect(first)) as connection, connection:
        connection.execute("DROP TRIGGER revisions_are_not_changed")
        connection.execute("UPDATE pull_revisions SET load_n = 1 WHERE position = 8")
    with pytest.raises(BookError, match="was not let stand"):
        copy_book(first, second)
    with Book.open(second) as book:
        assert book.pulls() == ()
