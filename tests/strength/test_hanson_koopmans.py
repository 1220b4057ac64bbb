import math

import numpy as np
import pytest

from jointlab.strength import StrengthSample
from jointlab.strength.hanson_koopmans import bound_from, extremes_of, factor, steadied_bound_from


def test_the_factor_of_two_pulls_solves_its_equation() -> None:
    # n = j = 2: P = 1 - int_q^1 2u (1 - (q/u)^(1/k)) du has a closed form in k.
    k, q = factor(2, 2, coverage=0.9, confidence=0.8), 0.1
    power = 1 / k
    integral = (1 - q * q) - 2 * q**power * (1 - q ** (2 - power)) / (2 - power)
    assert 1 - integral == pytest.approx(0.8, abs=1e-12)


def test_the_factor_is_never_below_one() -> None:
    assert factor(200, 200, coverage=0.9, confidence=0.8) == 1.0


def test_the_bound_covers_as_often_as_it_says_when_logs_are_exponential() -> None:
    # ln F linear is the edge of what is assumed: there the confidence is met exactly. Strength x with F(x) = x^4.
    strengths = np.random.default_rng(11).random((20_000, 6)) ** 0.25
    k = factor(6, 6, coverage=0.95, confidence=0.9)
    bound = strengths.min(axis=1) ** k * strengths.max(axis=1) ** (1 - k)
    assert (bound < 0.05**0.25).mean() == pytest.approx(0.9, abs=0.0064)  # three standard errors


def test_complete_pulls_stand_on_the_smallest_and_the_largest() -> None:
    extremes = extremes_of(StrengthSample.of_values([4.0, 3.0, 6.0]))
    assert extremes is not None
    assert (extremes.first_mpa, extremes.jth_mpa, extremes.j, extremes.n) == (3.0, 6.0, 3, 3)
    k = factor(3, 3, coverage=0.9, confidence=0.95)
    expected = 6.0 * (3.0 / 6.0) ** k
    assert bound_from(extremes, coverage=0.9, confidence=0.95) == pytest.approx(expected, rel=1e-12)


def test_held_pulls_end_the_breaks_that_count() -> None:
    sample = StrengthSample.of_intervals([3.0, 4.0, 5.0, 4.5], [3.0, 4.0, 5.0, math.inf])
    extremes = extremes_of(sample)
    assert extremes is not None
    assert (extremes.jth_mpa, extremes.j, extremes.n) == (4.0, 2, 4)


def test_a_step_counts_with_its_lower_end_as_smallest_and_its_upper_end_as_jth() -> None:
    extremes = extremes_of(StrengthSample.of_intervals([3.0, 5.0, 6.0], [3.5, 5.5, math.inf]))
    assert extremes is not None
    assert (extremes.first_mpa, extremes.jth_mpa, extremes.j) == (3.0, 5.5, 2)


def test_without_two_breaks_below_the_lowest_load_held_there_is_nothing() -> None:
    assert extremes_of(StrengthSample.of_intervals([3.0, 5.0, 4.0], [3.0, 5.0, math.inf])) is None
    assert extremes_of(StrengthSample.of_values([3.0])) is None


def test_a_handled_joint_counts_as_what_the_rig_can_show_and_as_zero_without_it() -> None:
    bare = StrengthSample.of_intervals([0.0, 5.0, 6.0], [1.0, 5.0, 6.0])
    extremes = extremes_of(bare)
    assert extremes is not None
    assert extremes.unresolved
    assert bound_from(extremes, coverage=0.95, confidence=0.95) == 0.0
    rig = StrengthSample(
        lower_mpa=bare.lower_mpa,
        upper_mpa=bare.upper_mpa,
        batch=bare.batch,
        batch_names=bare.batch_names,
        cap_mpa=bare.cap_mpa,
        load_step_mpa=np.array([0.4, 0.0, 0.0]),
        handled=np.array([True, False, False]),
    )
    shown = extremes_of(rig)
    assert shown is not None
    assert (shown.first_mpa, shown.unresolved) == (0.4, False)


def test_the_second_largest_steadies_the_bound_with_a_quarter_of_the_weight() -> None:
    extremes = extremes_of(StrengthSample.of_values([4.0, 3.0, 6.0, 5.0]))
    assert extremes is not None
    assert (extremes.jth_mpa, extremes.before_mpa, extremes.j) == (6.0, 5.0, 4)
    levels = {"coverage": 0.95, "confidence": 0.95}
    each = [x * (3.0 / x) ** factor(4, j, **levels) for x, j in ((6.0, 4), (5.0, 3))]
    assert steadied_bound_from(extremes, **levels) == pytest.approx(each[0] ** 0.75 * each[1] ** 0.25, rel=1e-12)


def test_two_breaks_have_no_second_largest() -> None:
    extremes = extremes_of(StrengthSample.of_values([4.0, 3.0]))
    assert extremes is not None
    assert extremes.before_mpa is None
    levels = {"coverage": 0.95, "confidence": 0.95}
    assert steadied_bound_from(extremes, **levels) == bound_from(extremes, **levels)
