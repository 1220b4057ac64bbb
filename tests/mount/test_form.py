import pytest

from jointlab.errors import Problem
from jointlab.mount.form import FACTOR_NAMES, SECTIONS, BlankForm, ScrewsForm, allowed_words, section_form


def test_a_section_that_is_right_comes_back_as_its_form():
    form = section_form("screws", {"count": 6, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 19})
    assert isinstance(form, ScrewsForm)
    assert (form.count, form.pilot, form.reused) == (6, True, False)


def test_a_section_that_is_wrong_comes_back_as_its_problems():
    problems = section_form("screws", {"count": True, "circle_mm": "76", "depth_mm": 3})
    assert isinstance(problems, tuple)
    assert all(isinstance(problem, Problem) for problem in problems)
    assert {problem.column for problem in problems} == {
        "screws.count",
        "screws.circle_mm",
        "screws.depth_mm",
        "screws.diameter_mm",
        "screws.thread_mm",
    }


@pytest.mark.parametrize(
    ("form", "key", "words"),
    [
        (BlankForm, "diameter_mm", "greater than 0 and at most 10000"),
        (BlankForm, "mass_kg", "greater than 0 and at most 10000"),
        (BlankForm, "state", "one of trued, sawn_round, natural_edge"),
        (ScrewsForm, "count", "at least 1 and at most 100"),
        (ScrewsForm, "pilot", None),
    ],
)
def test_what_is_allowed_is_said_in_words(form, key, words):
    assert allowed_words(form, key) == words


def test_the_sections_and_factors_are_those_of_the_contract():
    assert list(SECTIONS) == [
        "blank",
        "blank_joint",
        "joint",
        "block",
        "hold",
        "screws",
        "lathe",
        "work",
        "support",
        "people",
        "criteria",
        "factors",
    ]
    assert len(FACTOR_NAMES) == 18
    assert FACTOR_NAMES[:2] == ("size_tension", "size_shear")
