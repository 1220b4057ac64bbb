from __future__ import annotations

import pytest

from jointlab.mount.demand import Case
from jointlab.publish.wording import (
    ANSWER_WORDS,
    BASIS_WORDS,
    CASE_WORDS,
    METHOD_WORDS,
    counted,
    factor_words,
    force_words,
    link_words,
    listed,
    margin_words,
    outline_words,
    percent,
    rounded,
)
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.strength.values import Method
from jointlab.verdict.values import Basis, Outcome


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "\N{EN DASH}"),
        (0.0, "0"),
        (2.3456, "2.35"),
        (-2.3456, "-2.35"),
        (1234.0, "1230"),
        (13273.2, "13300"),
        (0.00123456, "0.00123"),
        (0.0000123, "0.000012"),
        (5.0, "5"),
    ],
)
def test_numbers_are_rounded_to_three_digits_in_plain_decimals(value, text) -> None:
    assert rounded(value) == text


def test_a_force_is_told_in_newtons_and_as_a_weight() -> None:
    assert force_words(980.665) == "980 N (100 kgf)"


def test_every_word_of_a_closed_list_has_words_for_readers() -> None:
    assert set(CASE_WORDS) == set(Case)
    assert set(ANSWER_WORDS) == set(Outcome)
    assert set(BASIS_WORDS) == set(Basis)
    assert set(METHOD_WORDS) == set(Method)


def test_links_are_called_as_the_trade_calls_them() -> None:
    assert link_words("block") == "waste block"
    assert link_words("blank_joint_2") == "joint 2 inside the blank"
    assert link_words("new_link") == "new link"


def test_outlines_are_told_with_their_sizes() -> None:
    assert outline_words(Disc(50.0)) == "disc of 50 mm"
    assert outline_words(Ring(100.0, 40.0)) == "ring of 100 mm around a hole of 40 mm"
    assert outline_words(Rectangle(25.0, 30.0)) == "rectangle of 25 by 30 mm"


def test_shares_counts_and_lists_read_as_a_sentence_does() -> None:
    assert percent(0.95) == "95 %"
    assert percent(0.999) == "99.9 %"
    assert counted(1, "glue-up") == "1 glue-up"
    assert counted(2, "glue-up") == "2 glue-ups"
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_a_lower_margin_is_never_rounded_up():
    assert margin_words(2.3199) == "2.31"
    assert margin_words(0.0) == "0"
    assert margin_words(None) == "\N{EN DASH}"


def test_factors_are_called_by_what_they_act_on():
    assert factor_words("size_tension") == "size, tension"
    assert factor_words("blank_joint_2.cure_shear") == "joint 2 inside the blank: cure, shear"
    assert factor_words("stopping_mm") == "arc over which a catch stops the blank [mm]"
