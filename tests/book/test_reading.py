"""Lists and filters: what they give, and that they are found by index."""

from __future__ import annotations

import pytest

from jointlab.book.reading import _selected
from jointlab.book.stored import PullSelection
from jointlab.record.vocabulary import Action

FILTERS = {
    "glue": PullSelection(glue="Yellow glue"),
    "substrate": PullSelection(substrate="MDF"),
    "preparation": PullSelection(preparation=""),
    "action": PullSelection(action=Action.PULL),
    "combination": PullSelection(glue="Yellow glue", substrate="MDF", preparation="", action=Action.PULL),
    "batch": PullSelection(batch="G1"),
    "numbers": PullSelection(ids=(1, 2)),
    "page": PullSelection(after=3, limit=2),
    "page of a filter": PullSelection(substrate="MDF", after=3, limit=2),
}


@pytest.fixture
def filled(any_book, pull_of_cells):
    pulls = [
        pull_of_cells(
            batch=f"G{number % 3}",
            specimen=str(number),
            glue=["Yellow glue", "hide", "epoxy"][number % 3],
            substrate=["MDF", "maple"][number % 2],
            preparation=["sized", None][number % 2],
        )
        for number in range(12)
    ]
    any_book.import_pulls(pulls)
    any_book.correct(1, pull_of_cells(batch="G0", specimen="0", substrate="oak"), reason="misread")
    return any_book


@pytest.mark.parametrize("selection", FILTERS.values(), ids=FILTERS)
def test_no_filter_reads_the_whole_book(book, selection):
    asked = _selected(selection).compile(book._engine, compile_kwargs={"literal_binds": True})
    with book._engine.connect() as connection:
        plan = [row[3] for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {asked}")]
    assert [step for step in plan if step.startswith(("SEARCH pulls", "SEARCH pull_revisions"))]
    assert not [step for step in plan if step.startswith(("SCAN pulls", "SCAN pull_revisions"))]


def test_filters_find_what_stands_now_in_the_order_of_the_numbers(filled):
    found = {
        name: [kept.id for kept in filled.pulls(selection)]
        for name, selection in {
            "substrate": PullSelection(substrate="mdf"),
            "before it was corrected": PullSelection(substrate="oak"),
            "preparation": PullSelection(preparation="Sized"),
            "none given": PullSelection(preparation=""),
            "action": PullSelection(action=Action.PULL),
            "nothing": PullSelection(action=Action.TWIST),
            "batch": PullSelection(batch="g2"),
        }.items()
    }
    assert found == {
        "substrate": [3, 5, 7, 9, 11],
        "before it was corrected": [1],
        "preparation": [3, 5, 7, 9, 11],
        "none given": [1, 2, 4, 6, 8, 10, 12],
        "action": list(range(1, 13)),
        "nothing": [],
        "batch": [3, 6, 9, 12],
    }


def test_a_long_list_comes_by_pages(filled):
    pages, last = [], 0
    while page := filled.pulls(PullSelection(substrate="MDF", after=last, limit=2)):
        pages.append([kept.id for kept in page])
        last = pages[-1][-1]
    assert pages == [[3, 5], [7, 9], [11]]


def test_pulls_one_after_another_are_those_of_one_moment(filled, pull_of_cells):
    each = filled.each_pull()
    first = next(each)
    filled.record(pull_of_cells(specimen="late"))
    assert [first, *each] == list(filled.pulls())[:12]


def test_an_empty_book_has_nothing_of_any_kind(any_book):
    assert any_book.pulls(PullSelection(substrate="MDF")) == ()


def test_a_book_knows_the_entries_of_its_own_chain(filled):
    assert filled.has_entry(filled.head())
    assert filled.has_entry(filled.history(1)[0].digest)
    assert not filled.has_entry("0" * 64)
