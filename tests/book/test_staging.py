"""Pulls set aside before they are stored: the book stays free meanwhile, and only what is sound ever holds it."""

from __future__ import annotations

import sqlite3
import tracemalloc
from contextlib import closing
from dataclasses import replace

import pytest

from jointlab.book import staging
from jointlab.book.book import Book
from jointlab.book.staging import CHUNK, staged
from jointlab.errors import BookError, InputError, Problem


def test_others_record_while_the_file_of_an_import_is_still_being_read(tmp_path, pull_of_cells, monkeypatch):
    monkeypatch.setattr("jointlab.book.engine.BUSY_TIMEOUT_MS", 50)
    place = tmp_path / "shop.db"
    with Book.open(place) as book, Book.open(place) as other:

        def read():
            yield 2, pull_of_cells(specimen="1")
            assert other.record(pull_of_cells(specimen="beside")).id == 1
            yield 3, pull_of_cells(specimen="2")

        assert book.import_numbered(read()).stored == 2
        assert [kept.pull.specimen for kept in book.pulls()] == ["beside", "1", "2"]
        assert book.check().sound


def test_what_another_stored_meanwhile_is_met_when_the_file_is_stored(any_book, pull_of_cells):
    def read():
        yield 2, pull_of_cells(specimen="1")
        any_book.record(pull_of_cells(specimen="2"))
        any_book.record(pull_of_cells(specimen="3", load_n="99"))
        yield 3, pull_of_cells(specimen="2")
        yield 4, pull_of_cells(specimen="3")

    with pytest.raises(InputError) as refused:
        any_book.import_numbered(read())
    assert [(problem.row, problem.column) for problem in refused.value.problems] == [(4, "load_n")]
    assert len(any_book.pulls()) == 2


def test_a_file_that_is_refused_never_holds_the_book(tmp_path, pull_of_cells, monkeypatch):
    monkeypatch.setattr("jointlab.book.engine.BUSY_TIMEOUT_MS", 50)
    place = tmp_path / "shop.db"
    with Book.open(place) as book, closing(sqlite3.connect(place, isolation_level=None)) as other:
        book.record(pull_of_cells(specimen="1"))
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(InputError) as refused:
            book.import_pulls([pull_of_cells(specimen="1", load_n="99"), *(2 * [pull_of_cells(specimen="2")])])
        assert len(refused.value.problems) == 2


def test_a_comparison_counts_and_stores_nothing(any_book, pull_of_cells):
    any_book.record(pull_of_cells(specimen="1"))
    with any_book.staged((row, pull_of_cells(specimen=str(row))) for row in (1, 2, 3)) as aside:
        found = any_book.compare_staged(aside)
        assert (found.stored, found.skipped) == (2, 1)
        assert len(any_book.pulls()) == 1
        assert any_book.import_staged(aside) == found
    assert len(any_book.pulls()) == 3


def test_glue_ups_come_in_the_order_of_the_file_as_they_are_matched(pull_of_cells):
    pulls = [(None, pull_of_cells(batch=batch, specimen=str(n))) for n, batch in enumerate(("Late", "Apple", "late"))]
    with staged(pulls) as aside:
        assert aside.batches() == ["late", "apple"]


def test_what_is_set_aside_comes_back_as_it_was(pull_of_cells):
    pulls = [pull_of_cells(specimen=str(number), notes="ünï") for number in range(CHUNK + 3)]
    with staged(enumerate(pulls, start=2)) as aside:
        chunks = list(aside.chunks())
    assert [len(chunk) for chunk in chunks] == [CHUNK, 3]
    rows = [row for chunk in chunks for row, _ in chunk]
    assert rows == list(range(2, CHUNK + 5))
    assert {cells["notes"] for chunk in chunks for _, cells in chunk} == {"ünï"}
    assert all(cells["load_n"] == pulls[0].loading.load for chunk in chunks for _, cells in chunk)


def test_a_full_disk_for_temporary_files_is_told_and_nothing_is_stored(book, pull_of_cells, monkeypatch):
    monkeypatch.setattr(staging, "_SHELF", f"{staging._SHELF} PRAGMA max_page_count = 6;")
    pull = pull_of_cells()
    with pytest.raises(BookError, match="temporary files is full") as refused:
        book.import_pulls(replace(pull, specimen=str(number)) for number in range(3 * CHUNK))
    assert "TMPDIR" in str(refused.value)
    assert book.pulls() == ()


def test_three_times_the_pulls_take_no_more_memory(pull_of_cells):
    pull = pull_of_cells()

    def peak_of(number: int) -> int:
        tracemalloc.start()
        with staged((row, replace(pull, specimen=str(row))) for row in range(number)) as aside:
            for _ in aside.chunks():
                pass
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return peak

    peak_of(6 * CHUNK)  # names are remembered, up to a limit
    assert peak_of(6 * CHUNK) < peak_of(2 * CHUNK) * 1.2


def test_a_source_that_refuses_leaves_what_came_before_it_to_be_compared(pull_of_cells):
    def read():
        yield 2, pull_of_cells(specimen="1")
        yield 3, pull_of_cells(specimen="1")
        raise InputError([Problem("no number", row=2)], subject="pulls.csv")

    with staged(read()) as aside:
        assert not aside.sound
        told = aside.every_problem()
    assert told.subject == "pulls.csv"
    assert [problem.row for problem in told.problems] == [2, 3]
