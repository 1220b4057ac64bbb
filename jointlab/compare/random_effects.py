"""A random-effects mean: how studies that each estimate the same thing differ, by three estimators."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from jointlab.errors import AnalysisError

FloatArray = npt.NDArray[np.float64]

SOURCE_DL = "dersimonian_laird"
SOURCE_PM = "paule_mandel"
SOURCE_REML = "reml"
SOURCE_HK = "hartung_knapp"
SOURCE_I2 = "higgins_i2"


class Between(StrEnum):
    """How the variance between studies is estimated."""

    DERSIMONIAN_LAIRD = "dersimonian_laird"
    PAULE_MANDEL = "paule_mandel"
    REML = "reml"


@dataclass(frozen=True, slots=True)
class RandomEffects:
    """The mean of studies and its interval by one estimator of the variance between them.

    Parameters
    ----------
    between
        The estimator.
    mean, standard_error
        Of the studies' effects, weighted by 1 / (variance + tau2).
    tau2
        Variance between studies.
    lower, upper
        Interval after Hartung and Knapp: t with one degree less than there are studies, never narrower than the normal
        one would be.
    """

    between: Between
    mean: float
    standard_error: float
    tau2: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class Heterogeneity:
    """Whether studies differ by more than their own errors: Cochran's Q, its p-value, and I2, the share of it."""

    fixed_mean: float
    q: float
    p_value: float
    i2: float


def heterogeneity_of(effect: FloatArray, variance: FloatArray) -> Heterogeneity:
    """Cochran's Q about the fixed-effect mean. Source keys ``dersimonian_laird``, ``higgins_i2``.

    Parameters
    ----------
    effect, variance
        Shape (k,): each study's estimate and the variance of its error, above 0.
    """
    from scipy import special

    _check(effect, variance)
    weight = 1.0 / variance
    fixed = float((weight * effect).sum() / weight.sum())
    q, freedom = float((weight * (effect - fixed) ** 2).sum()), effect.size - 1
    return Heterogeneity(fixed, q, float(special.chdtrc(freedom, q)), max(0.0, (q - freedom) / q) if q > 0 else 0.0)


def random_effects(
    effect: FloatArray, variance: FloatArray, *, between: Between, confidence: float = 0.95
) -> RandomEffects:
    """The mean of studies that differ, with its interval.

    Parameters
    ----------
    effect, variance
        Shape (k,): each study's estimate and the variance of its error, above 0.
    between
        Estimator of the variance between studies: DerSimonian and Laird (moments), Paule and Mandel (moments iterated),
        or restricted maximum likelihood. Source keys ``dersimonian_laird``, ``paule_mandel``, ``reml``.
    confidence
        Two-sided. The interval is that of Hartung and Knapp (source key ``hartung_knapp``).

    Raises
    ------
    AnalysisError
        There are fewer than two studies, or a variance is not above 0.

    Examples
    --------
    >>> random_effects(np.array([1.0, 2.0, 3.0]), np.full(3, 0.1), between=Between.PAULE_MANDEL).mean
    2.0
    """
    from scipy import special

    _check(effect, variance)
    if between is Between.REML:
        tau2 = _reml_tau2(effect, variance)
    elif heterogeneity_of(effect, variance).q <= effect.size - 1:
        tau2 = 0.0  # both moment equations put it at or below 0
    else:
        tau2 = _moments_tau2(effect, variance, between)
    weight = 1.0 / (variance + tau2)
    mean = float((weight * effect).sum() / weight.sum())
    freedom = effect.size - 1
    spread2 = float((weight * (effect - mean) ** 2).sum()) / freedom
    error = math.sqrt(max(spread2, 1.0) / weight.sum())
    half = float(special.stdtrit(freedom, 0.5 + confidence / 2.0)) * error
    return RandomEffects(between, mean, 1.0 / math.sqrt(weight.sum()), tau2, mean - half, mean + half)


def _check(effect: FloatArray, variance: FloatArray) -> None:
    if effect.size < 2:
        raise AnalysisError("Fewer than two studies: nothing is pooled.")
    if not (np.isfinite(effect).all() and np.isfinite(variance).all() and (variance > 0).all()):
        raise AnalysisError("A study has no error of its own: its variance must be above 0.")


def _moments_tau2(effect: FloatArray, variance: FloatArray, between: Between) -> float:
    from statsmodels.stats.meta_analysis import combine_effects

    method = {Between.DERSIMONIAN_LAIRD: "dl", Between.PAULE_MANDEL: "iterated"}[between]
    return max(0.0, float(combine_effects(effect, variance, method_re=method).tau2))


def _reml_tau2(effect: FloatArray, variance: FloatArray) -> float:
    """Where the restricted likelihood is largest, at 0 or above it. Source key ``reml``."""
    from scipy import optimize

    def deviance(tau2: float) -> float:
        total = variance + tau2
        weight = 1.0 / total
        mean = (weight * effect).sum() / weight.sum()
        return float(np.log(total).sum() + math.log(weight.sum()) + (weight * (effect - mean) ** 2).sum())

    # the likelihood may have two hills: the best of a grid in the logarithm is refined, and 0 stands against it
    scale = float(np.ptp(effect)) ** 2 + float(variance.max())
    grid = scale * np.logspace(-9.0, 1.0, 121)
    total = variance[:, None] + grid
    weight = 1.0 / total
    sums = weight.sum(axis=0)
    off = effect[:, None] - (weight * effect[:, None]).sum(axis=0) / sums
    heights = np.log(total).sum(axis=0) + np.log(sums) + (weight * off**2).sum(axis=0)
    best = int(np.argmin(heights))
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, grid.size - 1)]
    found = optimize.minimize_scalar(deviance, bounds=(low, high), method="bounded", options={"xatol": 1e-12 * scale})
    return float(found.x) if found.fun < deviance(0.0) else 0.0
