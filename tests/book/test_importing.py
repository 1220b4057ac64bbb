"""Files longer than a chunk, and every problem of one at once."""

from __future__ import annotations

import dataclasses

import pytest

from jointlab.book.importing import naming
from jointlab.book.staging import CHUNK, MOST_PROBLEMS
from jointlab.errors import InputError, Problem


def test_a_row_that_repeats_one_of_an_earlier_chunk_is_told_with_the_row_of_both(any_book, pull_of_cells):
    pulls = [pull_of_cells(specimen=str(number)) for number in range(CHUNK + 5)]
    with pytest.raises(InputError) as refused:
        any_book.import_pulls([*pulls, pulls[3]], rows=range(2, CHUNK + 8))
    (problem,) = refused.value.problems
    assert (problem.row, problem.column) == (CHUNK + 7, "specimen")
    assert "in row 5 already" in problem.message
    assert any_book.pulls() == ()


def test_a_row_skipped_in_an_earlier_chunk_is_repeated_all_the_same(any_book, pull_of_cells):
    pulls = [pull_of_cells(specimen=str(number)) for number in range(CHUNK + 1)]
    any_book.import_pulls(pulls)
    with pytest.raises(InputError, match="in row 2 already"):
        any_book.import_pulls([*pulls, pulls[0]], rows=range(2, CHUNK + 4))
    with pytest.raises(InputError, match="in this file already"):
        any_book.import_pulls([*pulls, pulls[0]])
    assert any_book.import_pulls(pulls).skipped == CHUNK + 1


def test_what_the_file_says_wrong_and_what_the_book_refuses_are_told_together_by_row(any_book, pull_of_cells):
    any_book.record(pull_of_cells(specimen="known"))

    def reading():
        yield 2, pull_of_cells(specimen="new")
        yield 4, pull_of_cells(specimen="known", load_n="1")
        raise InputError([Problem("must be a number", row=3, column="load_n")], subject="pulls.csv")

    with pytest.raises(InputError) as refused:
        any_book.import_numbered(reading())
    assert refused.value.subject == "pulls.csv"
    assert [(problem.row, problem.column) for problem in refused.value.problems] == [(3, "load_n"), (4, "load_n")]
    assert len(any_book.pulls()) == 1


def test_problems_beyond_a_thousand_are_counted(book, pull_of_cells):
    pull = pull_of_cells()
    pulls = [dataclasses.replace(pull, specimen=str(number)) for number in range(MOST_PROBLEMS + 30)]
    book.import_pulls(pulls)
    changed = [dataclasses.replace(each, notes="another") for each in pulls]
    with pytest.raises(InputError) as refused:
        book.import_pulls(changed)
    assert len(refused.value.problems) == MOST_PROBLEMS + 1
    assert refused.value.problems[-1].message == "and 30 more rows differ from the book or repeat another"
    assert book.check().revisions == len(pulls)


@pytest.mark.parametrize("table", ["pulls", "pull_revisions"])
def test_the_rows_of_a_chunk_are_looked_up_by_index(book, table):
    with book._engine.connect() as connection:
        asked = f"EXPLAIN QUERY PLAN {naming(table, 3, mark='?')}"
        plan = [row[3] for row in connection.exec_driver_sql(asked, ("g1", "1", "g1", "2", "g2", "1"))]
    (search,) = [step for step in plan if step.startswith("SEARCH")]
    assert search.startswith("SEARCH named USING INDEX")
    assert "batch_key=? AND specimen_key=?" in search
    assert "SCAN named" not in plan


def test_a_row_under_the_name_a_corrected_pull_has_now_is_refused(any_book, pull_of_cells):
    any_book.record(pull_of_cells(specimen="1"))
    any_book.correct(1, pull_of_cells(specimen="9"), reason="mislabelled")
    with pytest.raises(InputError, match="has a specimen 9 in the book already"):
        any_book.import_pulls([pull_of_cells(specimen="2"), pull_of_cells(specimen="9")], rows=[2, 3])
    assert len(any_book.pulls()) == 1


def test_a_column_that_only_some_rows_of_a_chunk_fill_is_stored_for_those(any_book, pull_of_cells):
    pulls = [pull_of_cells(specimen="1"), pull_of_cells(specimen="2", notes="a knot"), pull_of_cells(specimen="3")]
    any_book.import_pulls(pulls)
    assert [stored.pull for stored in any_book.pulls()] == pulls
    assert any_book.check().sound
