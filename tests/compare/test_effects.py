"""Effects as values and as sentences."""

import numpy as np
import pytest

from jointlab.compare.effects import effects_of, said, shown_by, stronger_chance, stronger_first
from jointlab.compare.estimates import Draws, Estimates, largest_of
from jointlab.compare.values import Difference, Effect, Estimate
from jointlab.record.joint import Combination
from jointlab.strength.values import Family

MAPLE, MDF = Combination("yellow", "maple"), Combination("yellow", "mdf")


def effect(value: float, lower: float | None, upper: float | None) -> Effect:
    ratio = Estimate(value, lower, upper)
    return Effect(MAPLE, MDF, ratio, 0.01, shown_by(ratio), Estimate(0.9, 0.7, 0.99), Estimate(value, lower, upper))


def test_a_shown_difference_is_said_in_percent_of_the_stronger() -> None:
    assert said(effect(1.38, 1.12, 1.70)) == "yellow on maple is 38 % stronger than yellow on mdf (12 to 70 %)."
    assert (
        said(effect(1 / 1.38, 1 / 1.70, 1 / 1.12))
        == "yellow on mdf is 38 % stronger than yellow on maple (12 to 70 %)."
    )


def test_a_large_difference_is_said_in_times() -> None:
    assert said(effect(4.34, 2.75, 6.85)) == "yellow on maple is 4.34 times as strong as yellow on mdf (2.75 to 6.85)."


def test_no_difference_shown_is_never_said_to_be_none() -> None:
    text = said(effect(1.1, 0.84, 1.44))
    assert "may be anything from 0.84 to 1.44" in text
    assert "does not make them alike" in text
    assert "from any to 1.40" in said(effect(1.1, None, 1.40))


def test_an_effect_is_turned_to_speak_of_the_stronger() -> None:
    turned = stronger_first(effect(0.5, 0.4, 0.8))
    assert (turned.combination, turned.against, turned.shown) == (MDF, MAPLE, Difference.STRONGER)
    assert turned.ratio == Estimate(2.0, 1.25, 2.5)
    assert (turned.chance_outlasts.value, turned.chance_outlasts.lower) == pytest.approx((0.1, 0.01))
    assert stronger_first(effect(2.0, 1.5, 2.5)).combination == MAPLE


def test_an_end_that_is_missing_shows_nothing_on_its_side() -> None:
    assert shown_by(Estimate(2.0, None, None)) is Difference.NOT_SHOWN
    assert shown_by(Estimate(0.5, None, 0.9)) is Difference.WEAKER


@pytest.mark.parametrize("family", [Family.LOGNORMAL, Family.WEIBULL])
def test_the_chance_to_outlast_is_that_of_drawn_joints(family: Family) -> None:
    rng = np.random.default_rng(8)

    def joints(location: float, scale: float) -> np.ndarray:
        z = rng.standard_normal(400_000) if family is Family.LOGNORMAL else np.log(rng.exponential(size=400_000))
        return location + scale * z

    seen = (joints(0.3, 0.3) > joints(0.0, 0.15)).mean()
    got = stronger_chance(*(np.array([x]) for x in (0.3, 0.3, 0.0, 0.15)), family)
    assert got[0] == pytest.approx(seen, abs=0.003)


def test_intervals_are_the_difference_and_the_familys_factor_times_its_error() -> None:
    rng = np.random.default_rng(9)
    spread = rng.standard_normal((5000, 2))
    draws = Draws(
        0.1 * spread + [0.5, 0.0], np.full((5000, 2), 0.2), np.array([0.5, 0.0]), np.full(2, 0.2), Family.LOGNORMAL
    )
    largest = largest_of(spread, [np.full(5000, np.sqrt(2.0))], [(0, 1)])
    estimates = Estimates(
        np.array([0.5, 0.0]), np.full(2, 0.2), np.array([0.2, -0.3]), np.array([0.14]), largest, draws
    )
    (got,) = effects_of(estimates, combinations=[MAPLE, MDF], family=[(0, 1)], confidence=0.95)
    assert np.log(got.ratio.upper / got.ratio.value) == pytest.approx(1.96 * 0.14, rel=0.04)
    assert got.low_ratio.value == pytest.approx(np.exp(0.5))
    assert got.chance_outlasts.value == pytest.approx(0.9615, abs=1e-3)  # Phi(.5 / (.2 sqrt 2))
    assert got.p_value < 0.01
