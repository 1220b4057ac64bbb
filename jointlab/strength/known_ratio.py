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

LEAST_SPREAD = 0.05
"""Least sd / mean of the square root of stress with fewer than ten pulls: 10 % on stress (source key judgement)."""

FEW = 10


def batch_sizes(batch: IntArray) -> FloatArray:
    """Pulls in each glue-up."""
    return np.bincount(batch).astype(np.float64)


def weights_of(sizes: FloatArray, ratio: float) -> tuple[FloatArray, float]:
    """Weight of every batch mean, and their sum w = 1' V^-1 1 with V = I + ratio^2 Z Z'."""
    weights = sizes / (1.0 + ratio * ratio * sizes)
    return weights, float(weights.sum())


def centre_and_spread(y: FloatArray, batch: IntArray, *, ratio: float) -> tuple[float, float, float]:
    """Weighted mean m, spread s within batches, and w, for equal correlation within a batch.

    m = 1' V^-1 y / w and s^2 = (y - m)' V^-1 (y - m) / (n - 1), written in batch means and deviations from them.
    """
    sizes = batch_sizes(batch)
    present = sizes > 0
    sizes = np.where(present, sizes, 1.0)
    means = np.bincount(batch, y) / sizes
    weights, total = weights_of(np.where(present, sizes, 0.0), ratio)
    centre = float((weights * means).sum() / total)
    within = float(((y - means[batch]) ** 2).sum())
    between = float((weights * (means - centre) ** 2).sum())
    return centre, math.sqrt((within + between) / (y.size - 1)), total


def ratio_factor(n: int, total: float, *, ratio: float, coverage: float, confidence: float) -> float:
    """Factor k of the bound m - k s: t'(confidence; n - 1, z sqrt((1 + ratio^2) w)) / sqrt w."""
    offset = normal.quantile(coverage) * math.sqrt((1.0 + ratio * ratio) * total)
    return noncentral_t_quantile(confidence, degrees=n - 1, offset=offset) / math.sqrt(total)


def known_ratio_bound(
    strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float, ratio: float = RATIO
) -> float:
    """Lower bound [MPa] of complete strengths, n >= 2, on the square-root scale; 0 where the root would be negative.

    Source key ``judgement`` (ratio and least spread); exact for normal square roots whose ratio is the one assumed.
    """
    m, s, total = centre_and_spread(np.sqrt(strength_mpa), batch, ratio=ratio)
    n = strength_mpa.size
    if n < FEW:
        s = max(s, LEAST_SPREAD * m)
    k = ratio_factor(n, total, ratio=ratio, coverage=coverage, confidence=confidence)
    return max(0.0, m - k * s) ** 2


def known_ratio_upper(
    strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float, ratio: float = RATIO
) -> float:
    """Upper bound [MPa] on the same percentile: the larger of the formula on strength and on its logarithm, n >= 2."""
    m, s, total = centre_and_spread(strength_mpa, batch, ratio=ratio)
    k = ratio_factor(strength_mpa.size, total, ratio=ratio, coverage=coverage, confidence=1.0 - confidence)
    log_m, log_s, _ = centre_and_spread(np.log(strength_mpa), batch, ratio=ratio)
    return max(m - k * s, math.exp(log_m - k * log_s))
