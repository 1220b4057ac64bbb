import math

import numpy as np
import pytest

from jointlab.strength import StrengthSample
from jointlab.strength.outlier import critical_residual, outlier_of


def test_a_strength_far_from_the_others_is_named() -> None:
    got = outlier_of(StrengthSample.of_values([4.0, 4.2, 3.9, 4.1, 4.3, 0.9]))
    assert got is not None
    assert got.strength_mpa == 0.9
    assert got.residual > got.limit == pytest.approx(critical_residual(6))


def test_one_sample_in_twenty_without_a_stranger_is_flagged() -> None:
    rng = np.random.default_rng(2)
    named = [outlier_of(StrengthSample.of_values(np.exp(0.3 * rng.normal(size=8)))) is not None for _ in range(1500)]
    assert np.mean(named) == pytest.approx(0.05, abs=0.017)  # three standard errors


def test_pulls_that_held_and_equal_strengths_name_none() -> None:
    assert outlier_of(StrengthSample.of_intervals([4.0, 4.1, 4.2, 40.0], [4.0, 4.1, 4.2, math.inf])) is None
    assert outlier_of(StrengthSample.of_values([3.0, 3.0, 3.0])) is None
    assert outlier_of(StrengthSample.of_values([3.0, 9.0])) is None


def test_a_joint_of_no_strength_is_passed_over() -> None:
    # it has no place on the scale of ln strength
    assert outlier_of(StrengthSample.of_values([0.0, 4.0, 4.2, 3.9, 4.1])) is None
    got = outlier_of(StrengthSample.of_values([0.0, 4.0, 4.2, 3.9, 4.1, 4.3, 0.9]))
    assert got is not None
    assert (got.strength_mpa, got.limit) == (0.9, critical_residual(6))
