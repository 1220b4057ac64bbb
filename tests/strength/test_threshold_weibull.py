import numpy as np
import pytest
from scipy import stats

from jointlab.strength import StrengthSample
from jointlab.strength.threshold_weibull import (
    AT_ZERO,
    NO_MAXIMUM,
    TOO_FEW,
    ThresholdWeibull,
    threshold_weibull_of,
)


def drawn(threshold_mpa: float, *, n: int = 60, shape: float = 2.0) -> np.ndarray:
    return threshold_mpa + 2.0 * np.random.default_rng(3).weibull(shape, n)


def test_it_has_the_log_likelihood_of_a_general_library_and_none_near_it_has_more() -> None:
    x = drawn(3.0)
    got = threshold_weibull_of(StrengthSample.of_values(x))
    assert isinstance(got, ThresholdWeibull)

    def height(threshold: float, shape: float, scale: float) -> float:
        return float(stats.weibull_min.logpdf(x, shape, threshold, scale).sum())

    best = height(got.threshold_mpa, got.shape, got.scale_mpa)
    assert got.log_likelihood == pytest.approx(best, abs=1e-9)
    for a, b, c in ((0.01, 0, 0), (-0.01, 0, 0), (0, 0.02, 0), (0, -0.02, 0), (0, 0, 0.02), (0, 0, -0.02)):
        assert height(got.threshold_mpa + a, got.shape + b, got.scale_mpa + c) < best
    assert got.threshold_mpa == pytest.approx(3.0, abs=0.25)


def test_few_or_censored_pulls_and_shapes_below_one_are_refused_by_name() -> None:
    assert threshold_weibull_of(StrengthSample.of_values(drawn(3.0, n=19))) == TOO_FEW
    held = StrengthSample.of_intervals(drawn(3.0), np.append(drawn(3.0)[:-1], np.inf))
    assert threshold_weibull_of(held) == TOO_FEW
    assert threshold_weibull_of(StrengthSample.of_values(drawn(3.0, shape=0.7))) == NO_MAXIMUM


def test_a_threshold_at_zero_is_said_to_be_none() -> None:
    left_skewed = 9.0 + 0.5 * np.log(np.random.default_rng(5).standard_exponential(40))
    assert threshold_weibull_of(StrengthSample.of_values(left_skewed)) == AT_ZERO
