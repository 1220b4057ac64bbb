"""A thousand random censored problems against a general optimiser, and some of them against fifty digits."""

import math

import mpmath
import numpy as np
import pytest
from scipy import optimize, special

from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE, STANDARD_NORMAL, Kernel
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import Maximum, maximum_of

KERNELS = {"smallest extreme value": SMALLEST_EXTREME_VALUE, "normal": STANDARD_NORMAL}
N = 8


def problems(kernel: Kernel, rows: int) -> Samples:
    """Exact, held, handled and stepped strengths side by side, in units from thousandths to thousands."""
    rng = np.random.default_rng(20)
    z = np.log(rng.standard_exponential((rows, N))) if kernel is SMALLEST_EXTREME_VALUE else rng.normal(size=(rows, N))
    kind, load = rng.integers(0, 4, (rows, N)), rng.normal(0.3, 1.0, (rows, N))
    step = rng.uniform(0.1, 1.5, (rows, 1))
    floor = np.floor(z / step) * step
    lower, upper = np.where(kind == 1, floor, z), np.where(kind == 1, floor + step, z)
    held, handled = (kind == 2) & (z > load), (kind == 3) & (z < load - 1.0)
    lower, upper = np.where(held, load, lower), np.where(held, np.inf, upper)
    lower, upper = np.where(handled, -np.inf, lower), np.where(handled, load - 1.0, upper)
    unit = 10.0 ** rng.uniform(-3.0, 3.0, (rows, 1))
    return Samples(unit * (5.0 + lower), unit * (5.0 + upper), np.ones((rows, N)))


def height(kernel: Kernel, lower: np.ndarray, upper: np.ndarray, location: float, scale: float) -> float:
    """Log-likelihood by functions of a general library alone."""
    u, v = (lower - location) / scale, (upper - location) / scale
    exact = lower == upper
    if kernel is STANDARD_NORMAL:
        density = -0.5 * u**2 - 0.5 * math.log(2 * math.pi)
        log_low, log_high = special.log_ndtr(-u), special.log_ndtr(-v)
    else:
        density = u - np.exp(np.minimum(u, 600.0))
        log_low, log_high = -np.exp(np.minimum(u, 600.0)), -np.exp(np.minimum(v, 600.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        between = log_low + np.log(-np.expm1(log_high - log_low))
    return float(np.where(exact, density - math.log(scale), between).sum())


def best_of(kernel: Kernel, rows: int) -> tuple[Samples, Maximum, np.ndarray]:
    samples = problems(kernel, rows)
    best = maximum_of(samples, kernel)
    return samples, best, np.flatnonzero([case is None for case in best.ill])


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_a_general_optimiser_climbs_no_higher_on_five_hundred_problems(kernel: Kernel) -> None:
    samples, best, good = best_of(kernel, 500)
    assert good.size > 450
    for row in good:
        lower, upper = samples.lower[row], samples.upper[row]
        at, spread = best.location[row], best.scale[row]

        def negative(free: np.ndarray, lower=lower, upper=upper, at=at, spread=spread) -> float:
            found = height(kernel, lower, upper, at + spread * free[0], spread * math.exp(min(free[1], 50.0)))
            return -found if math.isfinite(found) else 1e300

        ours = -negative(np.zeros(2))
        assert ours == pytest.approx(best.log_likelihood[row], abs=1e-9)
        theirs = optimize.minimize(negative, [0.3, -0.3], method="BFGS", options={"maxiter": 60})
        assert -theirs.fun <= ours + 1e-9
        assert -theirs.fun >= ours - 1e-3 or not theirs.success


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=KERNELS)
def test_the_maximum_is_that_of_fifty_digits(kernel: Kernel) -> None:
    samples, best, good = best_of(kernel, 40)
    with mpmath.workdps(50):
        for row in good[:12]:
            below = (
                (lambda z: mpmath.ncdf(z)) if kernel is STANDARD_NORMAL else (lambda z: 1 - mpmath.exp(-mpmath.exp(z)))
            )
            density = mpmath.npdf if kernel is STANDARD_NORMAL else (lambda z: mpmath.exp(z - mpmath.exp(z)))
            ends = list(zip(samples.lower[row].tolist(), samples.upper[row].tolist(), strict=True))

            def log_likelihood(location, scale, ends=ends, below=below, density=density):
                total = mpmath.mpf(0)
                for lower, upper in ends:
                    if lower == upper:
                        total += mpmath.log(density((lower - location) / scale) / scale)
                        continue
                    high = mpmath.mpf(1) if math.isinf(upper) else below((upper - location) / scale)
                    low = mpmath.mpf(0) if math.isinf(lower) else below((lower - location) / scale)
                    total += mpmath.log(high - low)
                return total

            at = (mpmath.mpf(float(best.location[row])), mpmath.mpf(float(best.scale[row])))
            assert abs(log_likelihood(*at) - mpmath.mpf(float(best.log_likelihood[row]))) < 1e-10
            slopes = [mpmath.diff(log_likelihood, at, order) * at[1] for order in ((1, 0), (0, 1))]
            assert max(abs(slope) for slope in slopes) < 1e-6  # in units of the scale: height left below 1e-12
