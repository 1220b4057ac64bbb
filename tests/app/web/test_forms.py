"""From what a thumb types to the columns of a pull."""

import pytest

from jointlab.app.web.forms import cells_from, field_problems, fields_from, number_text
from jointlab.errors import InputError, Problem


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("12,5", "12.5"),
        (" 12.5 ", "12.5"),
        ("1,234.5", "1,234.5"),
        ("1,2,3", "1,2,3"),
        ("-3,25", "-3.25"),
        (",5", ",5"),
    ],
)
def test_one_comma_is_the_decimal_mark(typed, read):
    assert number_text(typed) == read


def test_sizes_of_another_shape_and_arms_of_another_action_are_left_out():
    form = {
        "shape": "disc",
        "diameter": "50",
        "hole": "20",
        "width": "9",
        "action": "pull",
        "arm": "300",
        "offset": "1",
    }
    assert cells_from(form) == {"shape": "disc", "action": "pull", "diameter_mm": "50", "offset_mm": "1"}


def test_one_tap_says_the_shares_unless_they_are_given():
    assert cells_from({"break": "paper"}) == {"paper_pct": "100", "broke_at": "paper"}
    assert cells_from({"break": "wood", "wood_pct": "97,5", "adhesive_pct": "2,5"}) == {
        "wood_pct": "97.5",
        "adhesive_pct": "2.5",
    }
    assert cells_from({"break": "wood", "outcome": "held"}) == {"outcome": "held"}


def test_the_last_load_held_belongs_to_a_break_on_the_way():
    form = {"load": "12", "held": "10", "load_unit": "load_kgf"}
    assert cells_from(form | {"outcome": "step"}) == {"outcome": "step", "load_kgf": "12", "held_kgf": "10"}
    assert cells_from(form | {"outcome": "broke"}) == {"outcome": "broke", "load_kgf": "12"}


def test_the_time_of_the_tap_is_taken_where_it_is_the_day_that_was_entered():
    assert cells_from({"tested_on": "2026-03-14", "entered_at": "2026-03-14T10:05"}) == {
        "tested_on": "2026-03-14T10:05"
    }
    assert cells_from({"tested_on": "2026-03-13", "entered_at": "2026-03-14T10:05"}) == {"tested_on": "2026-03-13"}


def test_lengths_come_back_in_the_unit_they_were_written_in_or_in_millimetres():
    assert fields_from({"diameter_in": "2", "arm_in": "12"}) | {} == {
        "diameter_in": "2", "arm_in": "12", "diameter": "2", "arm": "12", "length_unit": "in",
    }  # fmt: skip
    mixed = fields_from({"diameter_in": "2", "arm_mm": "300"})
    assert (mixed["diameter"], mixed["arm"], mixed["length_unit"]) == ("50.8", "300", "mm")


def test_problems_stand_beside_the_field_they_belong_to():
    error = InputError([Problem("bad", column="load_kgf"), Problem("worse", column="diameter_mm"), Problem("all")])
    assert field_problems(error) == {"load": ["bad"], "diameter": ["worse"], "": ["all"]}
