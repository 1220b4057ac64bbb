"""Pairs: agreement with the general library, Holm's steps."""

import numpy as np
import pytest

from jointlab.compare.pairs import every_pair, games_howell, holm, tukey_kramer


def test_tukey_kramer_agrees_with_scipy_for_unequal_numbers() -> None:
    from scipy import stats

    rng = np.random.default_rng(13)
    groups = [rng.standard_normal(n) + 0.5 * n for n in (4, 7, 5)]
    library = stats.tukey_hsd(*groups)
    ends = library.confidence_interval(0.9)
    for pair in tukey_kramer(groups, confidence=0.9):
        assert pair.p_value == pytest.approx(library.pvalue[pair.one, pair.other], abs=1e-6)
        assert pair.lower == pytest.approx(ends.low[pair.one, pair.other], abs=1e-5)
        assert pair.upper == pytest.approx(ends.high[pair.one, pair.other], abs=1e-5)


def test_two_groups_have_welchs_interval() -> None:
    from scipy import stats

    rng = np.random.default_rng(14)
    groups = [rng.standard_normal(5), 3.0 * rng.standard_normal(8)]
    (got,) = games_howell(groups, confidence=0.95)
    welch = stats.ttest_ind(*groups, equal_var=False)
    ends = welch.confidence_interval(0.95)
    assert got.p_value == pytest.approx(welch.pvalue, abs=1e-6)
    assert (got.lower, got.upper) == pytest.approx((ends.low, ends.high), rel=1e-5)


def test_holms_steps_never_fall_and_never_pass_one() -> None:
    assert holm([0.01, 0.04, 0.03]) == pytest.approx((0.03, 0.06, 0.06))
    assert holm([0.5, 0.9]) == pytest.approx((1.0, 1.0))


def test_every_pair_is_there_once() -> None:
    assert every_pair(3) == ((0, 1), (0, 2), (1, 2))
