import math

import pytest

from jointlab.strength import StrengthSample
from jointlab.strength.order_statistic import order_statistic_bound, rank_of_bound, success_run_bound


def test_the_rank_of_the_bound_is_a_binomial_chance() -> None:
    # P(at least r of 10 below the median) >= 0.9: P(>= 3) = 1 - 56/1024 = 0.945, P(>= 4) = 1 - 176/1024 = 0.828.
    assert rank_of_bound(10, coverage=0.5, confidence=0.9) == 3
    assert rank_of_bound(3, coverage=0.5, confidence=0.9) is None
    assert rank_of_bound(0, coverage=0.5, confidence=0.9) is None


def test_the_bound_is_a_strength_of_that_rank_whatever_the_order() -> None:
    sample = StrengthSample.of_values([9.0, 2.0, 5.0, 1.0, 7.0, 3.0, 8.0, 4.0, 6.0, 10.0])
    assert order_statistic_bound(sample, coverage=0.5, confidence=0.9) == 3.0


def test_a_held_pull_counts_as_if_it_had_broken_there_and_a_handled_one_as_nothing() -> None:
    lower = [9.0, 2.0, 5.0, 0.0, 7.0, 3.0, 8.0, 4.0, 6.0, 10.0]
    upper = [math.inf, 2.0, 5.0, 1.0, 7.0, math.inf, 8.0, 4.0, 6.0, 10.0]
    assert order_statistic_bound(StrengthSample.of_intervals(lower, upper), coverage=0.5, confidence=0.9) == 3.0
    assert order_statistic_bound(StrengthSample.of_intervals(lower, upper), coverage=0.9, confidence=0.6) == 0.0


@pytest.mark.parametrize(("n", "confidence"), [(28, 0.75), (59, 0.95)])
def test_a_success_run_needs_every_joint_to_hold(n: int, confidence: float) -> None:
    # 1 - 0.95^28 = 0.762, 1 - 0.95^59 = 0.9515: the smallest runs at 95/75 and 95/95.
    held = StrengthSample.of_intervals([5.0] * (n - 1) + [4.0], [math.inf] * n)
    assert success_run_bound(held, coverage=0.95, confidence=confidence) == 4.0
    short = StrengthSample.of_intervals([5.0] * (n - 1), [math.inf] * (n - 1))
    assert success_run_bound(short, coverage=0.95, confidence=confidence) is None
    broke = StrengthSample.of_intervals([5.0] * n, [math.inf] * (n - 1) + [5.0])
    assert success_run_bound(broke, coverage=0.95, confidence=confidence) is None
