import math

import numpy as np
import pytest

from jointlab.strength.known_ratio import centre_and_spread, known_ratio_bounds, known_ratio_upper, ratio_factor
from jointlab.strength.noncentral_t import noncentral_t_quantile, one_sided_factor

Z95 = 1.6448536269514722
BATCH = np.array([0, 0, 0, 1, 1, 2, 2, 2, 2, 2])
STRENGTH = np.array([3.0, 3.5, 4.1, 5.0, 5.2, 3.9, 4.4, 4.0, 4.8, 3.6])


def by_matrices(y: np.ndarray, batch: np.ndarray, ratio: float) -> tuple[float, float, float]:
    """The definition, V written out."""
    z = (batch[:, None] == np.unique(batch)).astype(float)
    inverse = np.linalg.inv(np.eye(y.size) + ratio**2 * z @ z.T)
    w = float(inverse.sum())
    m = float(inverse.sum(axis=0) @ y) / w
    return m, math.sqrt(float((y - m) @ inverse @ (y - m)) / (y.size - 1)), w


@pytest.mark.parametrize("ratio", [0.0, 0.5, 1.0])
def test_batch_means_give_what_the_matrices_give(ratio: float) -> None:
    got = centre_and_spread(STRENGTH, BATCH, ratio=ratio)
    assert got == pytest.approx(by_matrices(STRENGTH, BATCH, ratio), rel=1e-12)


def test_without_batches_between_it_is_the_normal_factor() -> None:
    assert ratio_factor(10, 10.0, ratio=0.0, coverage=0.95, confidence=0.95) == pytest.approx(
        one_sided_factor(10, coverage=0.95, confidence=0.95), rel=1e-12
    )


def test_the_lower_bound_is_the_formula_on_logarithms() -> None:
    m, s, w = by_matrices(np.log(STRENGTH), BATCH, 1.0)
    t = noncentral_t_quantile(0.95, degrees=9, offset=Z95 * math.sqrt(2 * w))
    got = known_ratio_bounds(np.stack([STRENGTH, 2 * STRENGTH]), BATCH, coverage=0.95, confidence=0.95)
    expected = math.exp(m - t * s / math.sqrt(w))
    assert got == pytest.approx([expected, 2 * expected], rel=1e-10)


def test_fewer_than_ten_pulls_have_at_least_a_spread_of_ten_percent() -> None:
    close = np.array([4.0, 4.01, 4.02, 3.99, 4.0])
    batch = np.array([0, 0, 1, 1, 1])
    m, s, w = by_matrices(np.log(close), batch, 1.0)
    assert s < 0.10
    t = noncentral_t_quantile(0.95, degrees=4, offset=Z95 * math.sqrt(2 * w))
    expected = math.exp(m - t * 0.10 / math.sqrt(w))
    assert known_ratio_bounds(close[None], batch, coverage=0.95, confidence=0.95) == pytest.approx(
        [expected], rel=1e-10
    )


def test_the_upper_bound_is_the_larger_of_strength_and_logarithm() -> None:
    t = noncentral_t_quantile(0.05, degrees=9, offset=Z95 * math.sqrt(2 * by_matrices(STRENGTH, BATCH, 1.0)[2]))
    ends = []
    for y, back in ((STRENGTH, float), (np.log(STRENGTH), math.exp)):
        m, s, w = by_matrices(y, BATCH, 1.0)
        ends.append(back(m - t * s / math.sqrt(w)))
    got = known_ratio_upper(STRENGTH, BATCH, coverage=0.95, confidence=0.95)
    assert got == pytest.approx(max(ends), rel=1e-10)


def test_both_bounds_miss_as_seldom_as_they_say_when_the_ratio_is_the_one_taken() -> None:
    rng = np.random.default_rng(8)
    batch = np.array([0, 0, 0, 1, 1, 1])
    true = 1.0 - Z95 * 0.05 * math.sqrt(2.0)  # percentile of the the strengths: sd .05 between and within
    missed = np.zeros(2)
    for _ in range(4000):
        y = 1.0 + 0.05 * (rng.normal(size=2)[batch] + rng.normal(size=6))
        m, s, w = centre_and_spread(y, batch, ratio=1.0)
        lower, upper = (m - s * ratio_factor(6, w, ratio=1.0, coverage=0.95, confidence=c) for c in (0.9, 0.1))
        missed += [lower > true, upper < true]
    assert missed / 4000 == pytest.approx([0.1, 0.1], abs=0.0143)  # three standard errors
