from __future__ import annotations

from jointlab.publish.drawing import EXACT, HANDLED, HELD, HELD_OPEN, RELIED_ON, STEP, UNUSED, ImageForm
from jointlab.publish.strengths_figure import (
    MOST_MARKS,
    binned,
    mark_of,
    strength_rows,
    strengths_figure,
    unplaced_rows,
)


def test_every_pull_has_one_mark_and_its_shape_tells_its_censoring(made) -> None:
    publication = made.publication_of()
    assert [mark_of(each) for each in publication.pulls] == [EXACT, EXACT, HELD, STEP, HANDLED, UNUSED, EXACT]
    rows = strength_rows(publication.pulls, publication.strengths)
    assert [len(row.marks) for row in rows] == [6, 1]


def test_a_bound_with_a_blocking_finding_is_drawn_as_open(made) -> None:
    publication = made.publication_of()
    rows = strength_rows(publication.pulls, publication.strengths)
    assert [(row.bound_mpa, row.bound_mark) for row in rows] == [(1.5, RELIED_ON), (None, HELD_OPEN)]


def test_marks_that_would_cover_each_other_take_another_slot(made) -> None:
    pulls = tuple(made.pull_of(str(number), lower=4.0, upper=4.0) for number in range(7))
    (row,) = strength_rows(pulls, (made.strength_of(made.MAPLE, bound_mpa=1.0),))
    assert sorted(mark.slot for mark in row.marks) == list(range(7))
    assert row.slots == 7


def test_glue_ups_stand_below_each_other_with_their_names(made) -> None:
    pulls = tuple(
        made.pull_of(f"{batch}{number}", lower=2.0 * number, upper=2.0 * number, batch=batch)
        for batch in ("A", "B")
        for number in (1, 2)
    )
    (row,) = strength_rows(pulls, (made.strength_of(made.MAPLE, bound_mpa=1.0),))
    assert row.batches == (("A", 0), ("B", 1))
    assert [mark.slot for mark in row.marks] == [0, 0, 1, 1]


def test_binned_marks_still_count_every_pull(made) -> None:
    pulls = tuple(
        made.pull_of(str(number), lower=3.0 + number % 5, upper=3.0 + number % 5) for number in range(MOST_MARKS + 5)
    )
    strengths = (made.strength_of(made.MAPLE, bound_mpa=1.0),)
    (row,) = binned(strength_rows(pulls, strengths))
    assert sum(mark.count for mark in row.marks) == MOST_MARKS + 5
    assert len(row.marks) == 5
    assert {mark.slot for mark in row.marks} == {0}


def test_a_crowded_figure_stays_small(made) -> None:
    pulls = tuple(
        made.pull_of(str(number), lower=3.0 + number % 97 / 97, upper=3.0 + number % 97 / 97)
        for number in range(MOST_MARKS + 1)
    )
    svg = strengths_figure(pulls, (made.strength_of(made.MAPLE, bound_mpa=1.0),))
    assert len(svg) < 150_000


def test_figures_read_beside_each_other_are_drawn_one_way(made) -> None:
    pulls = tuple(made.pull_of(str(number), lower=3.0 + number / 50, upper=3.0 + number / 50) for number in range(60))
    strengths = (made.strength_of(made.MAPLE, bound_mpa=1.0),)
    alone = strengths_figure(pulls, strengths, beside=MOST_MARKS - len(pulls))
    crowded = strengths_figure(pulls, strengths, beside=MOST_MARKS)
    assert alone == strengths_figure(pulls, strengths)
    assert crowded != alone


def test_marks_in_one_slot_are_those_in_many(made) -> None:
    pulls = tuple(made.pull_of(str(number), lower=3.0, upper=3.0, batch=str(number % 2)) for number in range(5))
    strengths = (made.strength_of(made.MAPLE, bound_mpa=1.0),)
    (row,), (placed,) = unplaced_rows(pulls, strengths), strength_rows(pulls, strengths)
    assert [mark.at_mpa for mark in row.marks] == [mark.at_mpa for mark in placed.marks]
    assert (row.slots, placed.slots) == (1, 5)


def test_the_figure_comes_as_vectors_or_dots(made) -> None:
    publication = made.publication_of()
    assert strengths_figure(publication.pulls, publication.strengths).startswith(b"<?xml")
    png = strengths_figure(publication.pulls, publication.strengths, form=ImageForm.PNG)
    assert png.startswith(b"\x89PNG")


def test_a_combination_without_pulls_leaves_an_empty_row(made) -> None:
    assert b"<svg" in strengths_figure((), (made.strength_of(made.MAPLE, bound_mpa=None),))
