from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE, STANDARD_NORMAL, Kernel
from jointlab.strength.likelihood import Likelihood, Samples, Sums
from jointlab.strength.maximum import climb, maximum_of

KERNELS = {"smallest extreme value": SMALLEST_EXTREME_VALUE, "normal": STANDARD_NORMAL}


def censored(rng: np.random.Generator, *, rows: int, n: int) -> Samples:
    """Random strengths, each seen exactly, in a step, up to a load it held, or below one it was handled at."""
    x = rng.normal(10.0, 2.0, size=(rows, n))
    kind = rng.integers(0, 4, size=(rows, n))
    load = rng.normal(10.0, 2.0, size=(rows, n))
    step = 0.8
    lower = np.select([kind == 0, kind == 1, kind == 2], [x, np.floor(x / step) * step, np.minimum(x, load)], x)
    upper = np.select([kind == 0, kind == 1], [x, np.floor(x / step) * step + step], x)
    upper = np.where((kind == 2) & (x > load), np.inf, upper)
    left = (kind == 3) & (x < load)
    return Samples(np.where(left, -np.inf, lower), np.where(left, load, upper), np.ones((rows, n)))


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_the_slope_vanishes_at_a_thousand_maxima(kernel: Kernel) -> None:
    samples = censored(np.random.default_rng(1), rows=1000, n=6)
    best = maximum_of(samples, kernel)
    good = np.array([case is None for case in best.ill])
    assert good.sum() > 900
    kept = Samples(samples.lower[good], samples.upper[good], samples.weight[good])
    a, b = 1.0 / best.scale[good], best.location[good] / best.scale[good]
    at = Likelihood.of(kept, kernel).sums(a, b)
    assert at.log == pytest.approx(best.log_likelihood[good], abs=1e-9)
    determinant = at.aa * at.bb - at.ab**2
    climb = -(at.bb * at.a**2 - 2 * at.ab * at.a * at.b + at.aa * at.b**2) / determinant
    assert np.abs(climb).max() < 1e-15  # twice the height still to climb
    assert (at.aa < 0).all()
    assert (determinant > 0).all()


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_slopes_and_curvatures_are_those_of_the_logarithm(kernel: Kernel) -> None:
    samples = censored(np.random.default_rng(2), rows=40, n=8)
    likelihood = Likelihood.of(samples, kernel)
    a, b, h = np.full(40, 0.4), np.full(40, 4.3), 1e-5
    at = likelihood.sums(a, b)
    ahead, behind = likelihood.sums(a + h, b), likelihood.sums(a - h, b)
    above, below = likelihood.sums(a, b + h), likelihood.sums(a, b - h)
    assert at.a == pytest.approx((ahead.log - behind.log) / (2 * h), rel=1e-6, abs=1e-6)
    assert at.b == pytest.approx((above.log - below.log) / (2 * h), rel=1e-6, abs=1e-6)
    assert at.aa == pytest.approx((ahead.a - behind.a) / (2 * h), rel=1e-6, abs=1e-5)
    assert at.ab == pytest.approx((ahead.b - behind.b) / (2 * h), rel=1e-6, abs=1e-5)
    assert at.bb == pytest.approx((above.b - below.b) / (2 * h), rel=1e-6, abs=1e-5)


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_samples_side_by_side_give_what_each_gives_alone(kernel: Kernel) -> None:
    samples = censored(np.random.default_rng(3), rows=30, n=5)
    together = maximum_of(samples, kernel)
    for row in range(30):
        one = Samples(samples.lower[[row]], samples.upper[[row]], samples.weight[[row]])
        alone = maximum_of(one, kernel)
        assert alone.ill[0] == together.ill[row]
        assert alone.scale[0] == pytest.approx(together.scale[row], rel=1e-9, nan_ok=True)
        assert alone.location[0] == pytest.approx(together.location[row], rel=1e-9, nan_ok=True)


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_a_weight_counts_like_repeated_pulls_and_none_like_absence(kernel: Kernel) -> None:
    lower, upper = np.array([[1.0, 2.0, 2.0, 4.0]]), np.array([[1.0, 2.0, 3.0, np.inf]])
    weighted = maximum_of(Samples(lower, upper, np.array([[2.0, 1.0, 3.0, 0.0]])), kernel)
    order = [0, 0, 1, 2, 2, 2]
    repeated = maximum_of(Samples(lower[:, order], upper[:, order], np.ones((1, 6))), kernel)
    assert weighted.location[0] == pytest.approx(repeated.location[0], rel=1e-12)
    assert weighted.scale[0] == pytest.approx(repeated.scale[0], rel=1e-12)
    assert weighted.log_likelihood[0] == pytest.approx(repeated.log_likelihood[0], rel=1e-12)


class Slope:
    """One sample whose height is what is given, and whose slope in a is that of a parabola about a = 1."""

    def __init__(self, height: Callable[[np.ndarray], np.ndarray]) -> None:
        self.height = height

    def sums(self, a: np.ndarray, b: np.ndarray) -> Sums:
        return Sums(self.height(a), 1.0 - a, 0.0 * b, np.full_like(a, -1.0), 0.0 * a, np.full_like(a, -1.0))

    def of_rows(self, _rows: np.ndarray) -> Slope:
        return self


def climbed(hill: Slope, *, longer: float, slack: float = 0.0) -> tuple[float, float]:
    """Where the search from a = 0.5 ends with steps so many times Newton's, and the height there."""

    def newton(now: Sums, a: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return longer * now.a, np.zeros_like(a), longer * now.a**2

    a, _b, height = climb(hill, np.array([0.5]), np.array([0.0]), near=1e-9, slack=slack, newton=newton)
    return float(a[0]), float(height[0])


def test_a_step_too_long_is_halved_until_it_climbs() -> None:
    # eight times Newton's step: 4.5, 2.5 and 1.5 are no higher than 0.5 is, an eighth of it is the top itself
    assert climbed(Slope(lambda a: -0.5 * (a - 1.0) ** 2), longer=8.0) == (1.0, 0.0)


def test_a_search_that_noise_keeps_from_climbing_ends_where_it_is() -> None:
    assert climbed(Slope(lambda a: np.where(a == 0.5, 7.0, 6.0)), longer=1.0, slack=1e-3) == (0.5, 7.0)
