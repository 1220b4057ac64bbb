"""Papers are kept with every state they were in, under a name or a number."""

from __future__ import annotations

import math
import sqlite3
from contextlib import closing

import pytest

from jointlab.book.book import Book
from jointlab.book.stored import PaperKind
from jointlab.errors import InputError, UnknownEntryError

PLAN = {"schema": 1, "looks": 2, "combinations": [{"glue": "Yellow glue", "substrate": "Ahorn ü"}], "none": None}


def test_a_paper_comes_back_as_it_was_kept(any_book):
    kept = any_book.keep_paper(PaperKind.PLAN, PLAN, key="Spring  trial", subject="Yellow Glue", by="Kim")
    assert (kept.key, kept.subject, kept.revision, kept.by, kept.reason) == (
        "Spring trial",
        "yellow glue",
        1,
        "Kim",
        None,
    )
    assert any_book.paper(PaperKind.PLAN, " spring TRIAL ") == kept
    assert kept.document == PLAN
    assert any_book.check().sound


def test_papers_without_a_name_are_numbered_each_kind_for_itself(any_book):
    first = any_book.keep_paper(PaperKind.MOUNT, {"n": 1})
    any_book.keep_paper(PaperKind.MOUNT, {"n": 2}, key="3")
    third = any_book.keep_paper(PaperKind.MOUNT, {"n": 3})
    other = any_book.keep_paper(PaperKind.EVENT, {"n": 1}, subject="3")
    assert [first.key, third.key, other.key] == ["1", "4", "1"]
    assert [paper.key for paper in any_book.papers(PaperKind.MOUNT)] == ["1", "3", "4"]


def test_papers_are_found_by_what_they_are_about(any_book):
    for subject in ("bowl", "Dish", "dish"):
        any_book.keep_paper(PaperKind.EVENT, {"subject": subject}, subject=subject)
    assert [paper.key for paper in any_book.papers(PaperKind.EVENT, subject="DISH")] == ["2", "3"]
    assert len(any_book.papers(PaperKind.EVENT)) == 3
    assert any_book.papers(PaperKind.PROOF) == ()


def test_a_change_is_a_new_state_with_a_reason_beside_the_old(any_book):
    any_book.keep_paper(PaperKind.PLAN, PLAN, key="trial")
    any_book.keep_paper(PaperKind.PLAN, {"schema": 1}, key="later")
    changed = {**PLAN, "looks": 3}
    with pytest.raises(InputError, match="say why"):
        any_book.keep_paper(PaperKind.PLAN, changed, key="Trial")
    with pytest.raises(InputError, match="nothing to change"):
        any_book.keep_paper(PaperKind.PLAN, PLAN, key="trial", reason="again")
    assert any_book.keep_paper(PaperKind.PLAN, changed, key="TRIAL", reason="one more glue-up").revision == 2
    assert [paper.key for paper in any_book.papers(PaperKind.PLAN)] == ["TRIAL", "later"]
    old, new = any_book.paper_history(PaperKind.PLAN, "trial")
    assert (old.document, new.document, new.reason) == (PLAN, changed, "one more glue-up")


def test_an_unknown_paper_is_told_with_the_nearest_names(any_book):
    any_book.keep_paper(PaperKind.PLAN, PLAN, key="Spring trial")
    for ask in (any_book.paper, any_book.paper_history):
        with pytest.raises(UnknownEntryError, match=r"no plan sprng trial .*Nearest: Spring trial"):
            ask(PaperKind.PLAN, "sprng trial")


def test_a_document_with_a_number_that_is_none_is_refused_and_nothing_kept(book):
    with pytest.raises(ValueError, match="not JSON compliant"):
        book.keep_paper(PaperKind.LOOK, {"margin": math.nan})
    assert book.papers(PaperKind.LOOK) == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE papers SET document = '{}'", "never changed"),
        ("DELETE FROM papers", "never deleted"),
        ("INSERT OR REPLACE INTO papers SELECT * FROM papers", "never replaced"),
    ],
)
def test_papers_cannot_be_changed_behind_the_book(book, place, change, said):
    book.keep_paper(PaperKind.PLAN, PLAN)
    with closing(sqlite3.connect(place)) as connection, pytest.raises(sqlite3.IntegrityError, match=said):
        connection.execute(change)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE papers SET document = '{}' WHERE position = 1", "revision 1 of the plan 1 is not what was stored"),
        ("DELETE FROM papers WHERE position = 1", "1 revision(s) of papers are missing"),
        ("DELETE FROM papers WHERE position = 2", "the chain of papers counts 2 revisions, 1 are there"),
    ],
)
def test_tampering_with_a_paper_shows(book, place, change, said):
    book.keep_paper(PaperKind.PLAN, PLAN)
    book.keep_paper(PaperKind.PLAN, {**PLAN, "looks": 1})
    with closing(sqlite3.connect(place)) as connection, connection:
        for trigger in ("papers_are_not_changed", "papers_are_not_deleted"):
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute(change)
    with Book.open(place) as again:
        assert any(said in damage for damage in again.check().damages)
