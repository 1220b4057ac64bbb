"""The log-rank test by hand, and its symmetry."""

import numpy as np
import pytest

from jointlab.compare.log_rank import log_rank


def test_two_groups_by_hand() -> None:
    # Breaks at 1 (A), 2 (B), 3 (A), 4 (B); A: 1 3 5+, B: 2 4. Expected breaks of A: 3/5 + 2/4 + 2/3 + 1/2; variances
    # 6/25 + 1/4 + 2/9 + 1/4.
    strength, held = np.array([1.0, 3.0, 5.0, 2.0, 4.0]), np.array([False, False, True, False, False])
    group = np.array([0, 0, 0, 1, 1])
    got = log_rank(strength, held, group)
    excess = 2 - (3 / 5 + 2 / 4 + 2 / 3 + 1 / 2)
    assert got.statistic == pytest.approx(excess**2 / (6 / 25 + 1 / 4 + 2 / 9 + 1 / 4), rel=1e-12)
    assert got.degrees == (1,)
    turned = log_rank(strength, held, 1 - group)
    assert turned.statistic == pytest.approx(got.statistic, rel=1e-12)


def test_groups_alike_are_not_told_apart_and_groups_apart_are() -> None:
    rng = np.random.default_rng(20)
    strength, group = rng.random(60), np.repeat([0, 1, 2], 20)
    held = rng.random(60) < 0.2
    assert log_rank(strength, held, group).p_value > 0.05
    assert log_rank(strength + group, held, group).p_value < 1e-6
