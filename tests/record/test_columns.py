"""A title that is no column is answered with what was probably meant."""

from __future__ import annotations

import pytest

from jointlab.errors import Problem
from jointlab.record.columns import column_of


def answer(title: str) -> Problem:
    found = column_of(title)
    assert isinstance(found, Problem)
    return found


def test_of_many_near_titles_the_three_nearest_are_offered():
    # load_n, _kn, _kgf, _kg, _lbf and _lb are all one or two letters away
    problem = answer("loadd")
    offered = problem.message.partition("did you mean ")[2].removesuffix("?").split(" or ")
    assert len(offered) == 3
    assert all(title.startswith("load_") for title in offered)
    assert problem.allowed == ", ".join(offered)


def test_where_nothing_is_near_nothing_is_offered():
    problem = answer("sh_pct")
    assert problem.message.endswith("remove it, or put the text in notes")
    assert problem.allowed is None


@pytest.mark.parametrize(
    ("title", "allowed"),
    [
        ("Batch", "batch"),
        ("diameter", "diameter_mm, diameter_cm, diameter_in"),
        ("diameter_m", "diameter_mm, diameter_cm, diameter_in"),
    ],
)
def test_capitals_and_units_that_lack_or_are_unknown_are_answered_with_what_is_taken(title, allowed):
    assert answer(title).allowed == allowed
