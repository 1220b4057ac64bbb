"""Simultaneous ends and adjusted p-values from replicates."""

import numpy as np
import pytest

from jointlab.compare.simultaneous import adjusted_p, factor_of, simultaneous_band, simultaneous_ends


def test_the_factor_is_the_replicate_of_that_rank() -> None:
    largest = np.arange(1.0, 200.0)[::-1]
    assert factor_of(largest, confidence=0.95) == 190.0
    assert factor_of(largest, confidence=0.9999) == 199.0


def test_a_p_value_counts_the_replicates_at_least_as_large_and_itself() -> None:
    assert adjusted_p(np.arange(1.0, 100.0), 95.0) == pytest.approx(6 / 100)
    assert adjusted_p(np.arange(1.0, 100.0), -1000.0) == pytest.approx(1 / 100)


def test_the_stated_share_of_draws_lies_within_all_ends_at_once() -> None:
    rng = np.random.default_rng(10)
    draws = np.exp(rng.standard_normal((20_000, 6)) * [1, 2, 3, 1, 1, 1])
    lower, upper = simultaneous_ends(draws, confidence=0.95)
    inside = ((draws >= lower) & (draws <= upper)).all(axis=1).mean()
    assert inside == pytest.approx(0.95, abs=0.005)
    single = np.quantile(draws, [0.025, 0.975], axis=0)
    assert (lower < single[0]).all()
    assert (upper > single[1]).all()


def test_too_few_draws_give_no_ends() -> None:
    assert simultaneous_ends(np.random.default_rng(11).standard_normal((100, 20)), confidence=0.95) is None


def test_a_band_of_few_draws_holds_the_stated_share_and_follows_skew() -> None:
    rng = np.random.default_rng(12)
    draws = np.column_stack([rng.standard_normal(1_999), 3.0 * rng.standard_normal(1_999), rng.gamma(4.0, size=1_999)])
    lower, upper = simultaneous_band(draws, confidence=0.95)
    assert ((draws >= lower) & (draws <= upper)).all(axis=1).mean() == pytest.approx(0.95, abs=0.001)
    # Of two independent normal columns the largest distance is 2.39 of .95; a third takes it a little further.
    assert 2.3 < upper[0] < 2.9
    assert upper[1] / upper[0] == pytest.approx(3.0, rel=0.08)
    middle = np.median(draws[:, 2])
    assert upper[2] - middle > 1.2 * (middle - lower[2])
