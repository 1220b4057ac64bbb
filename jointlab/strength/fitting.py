"""A family fitted to the strengths of one combination by maximum likelihood."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE, STANDARD_NORMAL, Kernel
from jointlab.strength.likelihood import NARROWEST, Ill, Samples
from jointlab.strength.maximum import Maximum, maximum_of
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family, StrengthFit

FloatArray = npt.NDArray[np.float64]

SOURCE = "lawless"

_PARAMETERS = 2

_KERNELS: dict[Family, Kernel] = {
    Family.NORMAL: STANDARD_NORMAL,
    Family.LOGNORMAL: STANDARD_NORMAL,
    Family.WEIBULL: SMALLEST_EXTREME_VALUE,
    Family.GUMBEL_MIN: SMALLEST_EXTREME_VALUE,
}
ON_LOGS = frozenset({Family.LOGNORMAL, Family.WEIBULL})
"""Families whose kernel stands on the logarithm of strength."""


def kernel_of(family: Family) -> Kernel:
    """The kernel a family stands on."""
    return _KERNELS[family]


def fit(sample: StrengthSample, *, family: Family) -> StrengthFit:
    """The distribution of this family that makes the pulls most likely, or why there is none.

    Parameters
    ----------
    sample
        Usable strengths [MPa] with their censoring, shape (n,).
    family
        The distribution.

    Returns
    -------
    StrengthFit
        Parameters as in the JSON contract (MPa, or logs of MPa), log-likelihood (densities in 1/MPa; the probability of
        an interval), AICc (None when n <= 3). Where no maximum exists the parameters are empty and ``ill`` says why.
        Source key ``lawless`` (likelihood of censored data); ``aicc``.

    Examples
    --------
    >>> strengths = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2])
    >>> fit(strengths, family=Family.NORMAL).parameters[0]
    ('mean_mpa', 4.175)
    """
    if not sample.n:
        return _ill(family, Ill.NO_BREAK)
    lower, upper, weight, jacobian = collapsed(sample, family)
    if family in ON_LOGS and not (upper > -np.inf).all():
        return _ill(family, Ill.ZERO_STRENGTH)
    if family in (Family.NORMAL, Family.LOGNORMAL) and np.array_equal(lower, upper) and lower.size > 1:
        return fitted(family, *_closed_form(lower, weight), jacobian, sample.n)
    best = maximum_of(Samples(lower[None], upper[None], weight[None]), kernel_of(family))
    ill = best.ill[0]
    if ill is not None:
        return _ill(family, ill)
    return fitted(family, *_only(best), jacobian, sample.n)


def intervals(sample: StrengthSample) -> tuple[FloatArray, FloatArray]:
    """Ends of the strengths [MPa] as they enter a likelihood.

    An interval narrower than a float can tell is exact; a strength of zero is only known to lie below the rig's step.
    """
    lower, upper = np.array(sample.lower_mpa), np.array(sample.upper_mpa)
    narrow = (upper - lower) < NARROWEST * upper
    middle = 0.5 * (lower + upper)
    lower, upper = np.where(narrow, middle, lower), np.where(narrow, middle, upper)
    upper = np.where((upper == 0.0) & (sample.load_step_mpa > 0.0), sample.load_step_mpa, upper)
    return lower, upper


def collapsed(sample: StrengthSample, family: Family) -> tuple[FloatArray, FloatArray, FloatArray, float]:
    """Ends on the family's scale with ties collapsed to weights, and the sum of -ln x over exact strengths.

    Sorting makes the order of the pulls irrelevant to the last digit. A lower end of zero is no lower end.
    """
    lower, upper = intervals(sample)
    pairs, counts = np.unique(np.column_stack([lower, upper]), axis=0, return_counts=True)
    low, high, weight = pairs[:, 0], pairs[:, 1], counts.astype(np.float64)
    exact = low == high
    with np.errstate(divide="ignore"):
        if family in ON_LOGS:
            jacobian = -float((weight[exact] * np.log(high[exact])).sum()) if (high > 0.0).all() else 0.0
            return np.log(low), np.log(high), weight, jacobian
    return np.where((low == 0.0) & ~exact, -np.inf, low), high, weight, 0.0


def _closed_form(x: FloatArray, weight: FloatArray) -> tuple[float, float, float]:
    total = weight.sum()
    mean = float((weight * x).sum() / total)
    scale = math.sqrt(float((weight * (x - mean) ** 2).sum() / total))
    return mean, scale, -0.5 * float(total) * (1.0 + math.log(2.0 * math.pi * scale * scale))


def _only(best: Maximum) -> tuple[float, float, float]:
    return float(best.location[0]), float(best.scale[0]), float(best.log_likelihood[0])


def _ill(family: Family, why: Ill) -> StrengthFit:
    return StrengthFit(family=family, parameters=(), log_likelihood=None, aicc=None, ill=str(why))


def fitted(family: Family, location: float, scale: float, log: float, jacobian: float, n: int) -> StrengthFit:
    """The fit with this place and scale of the kernel; ``jacobian`` turns its densities into those of 1/MPa."""
    log_likelihood = log + jacobian
    k = _PARAMETERS
    aicc = None if n <= k + 1 else 2.0 * k - 2.0 * log_likelihood + 2.0 * k * (k + 1) / (n - k - 1)
    return StrengthFit(family, named_parameters(family, location, scale), log_likelihood, aicc)


def named_parameters(family: Family, location: float, scale: float) -> tuple[tuple[str, float], ...]:
    """Location and scale of the kernel as the family's own parameters."""
    match family:
        case Family.NORMAL:
            return (("mean_mpa", location), ("sd_mpa", scale))
        case Family.LOGNORMAL:
            return (("log_mean", location), ("log_sd", scale))
        case Family.WEIBULL:
            return (("shape", 1.0 / scale), ("scale_mpa", math.exp(location)))
        case Family.GUMBEL_MIN:
            return (("location_mpa", location), ("scale_mpa", scale))
