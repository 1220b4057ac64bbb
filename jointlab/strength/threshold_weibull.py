"""Weibull with a threshold below which no joint breaks: for description only, never for a bound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import maximum_of
from jointlab.strength.sample import FloatArray, StrengthSample

SOURCE = "judgement"

FEWEST = 20
"""Fewer pulls often have no interior maximum, and then overstate low percentiles (source key judgement)."""

_LOOKS, _ROUNDS = 65, 6

TOO_FEW = f"a threshold is described from {FEWEST} complete pulls on"
AT_ZERO = "the likeliest threshold is zero: two parameters describe these pulls"
NO_MAXIMUM = "the likelihood has no largest value with a shape above 1: a threshold cannot be told from these pulls"


@dataclass(frozen=True, slots=True)
class ThresholdWeibull:
    """Threshold and scale [MPa], shape, and log-likelihood (densities in 1/MPa)."""

    threshold_mpa: float
    shape: float
    scale_mpa: float
    log_likelihood: float


def threshold_weibull_of(sample: StrengthSample) -> ThresholdWeibull | str:
    """The likeliest Weibull with a threshold between zero and the smallest strength, or why there is none.

    It describes the pulls; no bound is taken from it, since a free threshold overstates low percentiles. Source key
    ``judgement`` (at least 20 complete pulls, shape above 1).
    """
    if not sample.complete or sample.n < FEWEST or np.ptp(sample.lower_mpa) == 0.0:
        return TOO_FEW
    x = np.sort(sample.lower_mpa)
    low, high = 0.0, float(x[0]) * (1.0 - 1e-9)
    for _ in range(_ROUNDS):
        thresholds = np.linspace(low, high, _LOOKS)
        shape, scale, height = _fits(x, thresholds)
        height = np.where(shape > 1.0, height, -np.inf)
        best = int(np.argmax(height))
        if not math.isfinite(height[best]):
            return NO_MAXIMUM
        low, high = float(thresholds[max(best - 1, 0)]), float(thresholds[min(best + 1, _LOOKS - 1)])
    threshold = float(thresholds[best])
    if threshold <= 1e-6 * float(x[0]):
        return AT_ZERO
    if best == _LOOKS - 1 or shape[min(best + 1, _LOOKS - 1)] <= 1.0:
        return NO_MAXIMUM
    return ThresholdWeibull(threshold, float(shape[best]), float(scale[best]), float(height[best]))


def _fits(x: FloatArray, thresholds: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Shape, scale and log-likelihood at each threshold."""
    logs = np.log(x - thresholds[:, None])
    best = maximum_of(Samples(logs, logs, np.ones_like(logs)), SMALLEST_EXTREME_VALUE)
    return 1.0 / best.scale, np.exp(best.location), best.log_likelihood - logs.sum(axis=1)
