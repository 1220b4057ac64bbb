"""Normal bound over several glue-ups with the ratio of between-batch to within-batch spread taken as known."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from jointlab.strength import normal
from jointlab.strength.noncentral_t import noncentral_t_quantile
from jointlab.strength.sample import IntArray

FloatArray = npt.NDArray[np.float64]

SOURCE = "judgement"

RATIO = 1.0
"""Between-batch sd / within-batch sd that is assumed: one to three glue-ups cannot show it (source key judgement)."""

LEAST_SPREAD = 0.10
"""Least sd of the logarithm of stress with fewer than ten pulls (source key judgement)."""

FEW = 10


def batch_sizes(batch: IntArray) -> FloatArray:
    """Pulls in each glue-up."""
    return np.bincount(batch).astype(np.float64)


def weights_of(sizes: FloatArray, ratio: float) -> tuple[FloatArray, float]:
    """Weight of every batch mean, and their sum w = 1' V^-1 1 with V = I + ratio^2 Z Z'."""
    weights = sizes / (1.0 + ratio * ratio * sizes)
    return weights, float(weights.sum())


def centre_and_spread(y: FloatArray, batch: IntArray, *, ratio: float) -> tuple[float, float, float]:
    """Weighted mean m, spread s within batches, and w, of one sample; see :func:`centres_and_spreads`."""
    centres, spreads, total = centres_and_spreads(y[None], batch, ratio=ratio)
    return float(centres[0]), float(spreads[0]), total


def centres_and_spreads(y: FloatArray, batch: IntArray, *, ratio: float) -> tuple[FloatArray, FloatArray, float]:
    """Weighted means m and spreads s within batches, and w, of samples of shape (samples, n) correlated in batches.

    m = 1' V^-1 y / w and s^2 = (y - m)' V^-1 (y - m) / (n - 1), written in batch means and deviations from them.
    """
    sizes = batch_sizes(batch)
    weights, total = weights_of(sizes, ratio)
    member = (batch[:, None] == np.arange(sizes.size)) / np.maximum(sizes, 1.0)
    means = y @ member
    centres = (means * weights).sum(axis=1) / total
    within = ((y - means[:, batch]) ** 2).sum(axis=1)
    between = (weights * (means - centres[:, None]) ** 2).sum(axis=1)
    return centres, np.sqrt((within + between) / (batch.size - 1)), total


def ratio_factor(n: int, total: float, *, ratio: float, coverage: float, confidence: float) -> float:
    """Factor k of the bound m - k s: t'(confidence; n - 1, z sqrt((1 + ratio^2) w)) / sqrt w."""
    offset = normal.quantile(coverage) * math.sqrt((1.0 + ratio * ratio) * total)
    return noncentral_t_quantile(confidence, degrees=n - 1, offset=offset) / math.sqrt(total)


def known_ratio_bounds(
    strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float, ratio: float = RATIO
) -> FloatArray:
    """Lower bounds [MPa] of complete samples of shape (samples, n), n >= 2, on the logarithm of strength.

    Exact for lognormal strengths whose ratio is the one assumed. Source key ``judgement`` (ratio and least spread).
    """
    m, s, total = centres_and_spreads(np.log(strength_mpa), batch, ratio=ratio)
    n = batch.size
    if n < FEW:
        s = np.maximum(s, LEAST_SPREAD)
    k = ratio_factor(n, total, ratio=ratio, coverage=coverage, confidence=confidence)
    return np.asarray(np.exp(m - k * s))


def known_ratio_upper(
    strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float, ratio: float = RATIO
) -> float:
    """Upper bound [MPa] on the same percentile: the larger of the formula on strength and on its logarithm, n >= 2."""
    m, s, total = centre_and_spread(strength_mpa, batch, ratio=ratio)
    k = ratio_factor(strength_mpa.size, total, ratio=ratio, coverage=coverage, confidence=1.0 - confidence)
    log_m, log_s, _ = centre_and_spread(np.log(strength_mpa), batch, ratio=ratio)
    return max(m - k * s, math.exp(log_m - k * log_s))
