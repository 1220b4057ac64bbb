"""Rank effects: exact rank-sum intervals, families too large for few pulls."""

import math

import numpy as np
import pytest

from jointlab.compare.ranks import rank_effects, shift_ratio
from jointlab.compare.values import Difference
from jointlab.record.joint import Combination


def test_the_interval_is_the_exact_one_of_the_rank_sum() -> None:
    # m = n = 5: P(U <= 2) = 4/252 = .0159 and P(U <= 3) = 7/252 = .0278, two-sided .0556 (tables of Mann and Whitney):
    # a 95 % interval leaves out the three smallest and the three largest of the 25 differences.
    one, other = np.array([1.1, 2.3, 3.2, 4.8, 5.4]), np.array([0.2, 0.9, 1.7, 2.6, 3.9])
    differences = np.sort((one[:, None] - other[None, :]).ravel())
    got = shift_ratio(one, other, doubt=0.05)
    assert math.log(got.lower) == pytest.approx(differences[3])
    assert math.log(got.upper) == pytest.approx(differences[-4])
    assert math.log(got.value) == pytest.approx(np.median(differences))


def test_the_level_is_kept_by_simulation() -> None:
    rng = np.random.default_rng(12)
    covered = 0
    for _ in range(2000):
        got = shift_ratio(rng.standard_normal(6), rng.standard_normal(7), doubt=0.05)
        covered += got.lower <= 1.0 <= got.upper
    assert 0.945 <= covered / 2000 <= 0.975  # discrete: at least 95 %


def test_few_pulls_in_a_large_family_give_a_ratio_without_interval() -> None:
    groups = [np.log([1.0, 1.1, 1.2]), np.log([3.0, 3.1, 3.3]), np.log([1.0, 1.3, 1.4])]
    combinations = [Combination("yellow", str(place)) for place in range(3)]
    got = rank_effects(groups, combinations=combinations, family=[(0, 1), (0, 2), (1, 2)], confidence=0.95)
    assert all(effect.ratio.lower is None and effect.shown is Difference.NOT_SHOWN for effect in got)
    assert got[0].ratio.value == pytest.approx(1.1 / 3.1, rel=0.05)
    assert got[0].p_value < got[1].p_value
