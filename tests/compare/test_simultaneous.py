"""Simultaneous ends and adjusted p-values from replicates."""

import numpy as np
import pytest

from jointlab.compare.simultaneous import adjusted_p, factor_of, simultaneous_ends


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
