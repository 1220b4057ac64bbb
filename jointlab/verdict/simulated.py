"""Working bounds of many simulated complete samples at once: the same rule, one call."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from jointlab.strength import hanson_koopmans
from jointlab.strength.known_ratio import FEW, LEAST_SPREAD, RATIO, ratio_factor, weights_of

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def working_bounds(strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float) -> FloatArray:
    """Lower working bound [MPa] of each row of complete strengths.

    The rule of ``strength.working``: the lesser of the Hanson-Koopmans bound on logarithms and the known-ratio bound on
    square roots; a test holds the two together.

    Parameters
    ----------
    strength_mpa
        Shape (samples, n), all above 0.
    batch
        Shape (n,): glue-up of each column, the same in every sample.
    """
    return np.minimum(
        _hanson_koopmans(strength_mpa, coverage, confidence),
        _known_ratio(np.sqrt(strength_mpa), batch, coverage, confidence),
    )


def _hanson_koopmans(strength_mpa: FloatArray, coverage: float, confidence: float) -> FloatArray:
    n = strength_mpa.shape[1]
    k = hanson_koopmans.factor(n, n, coverage=coverage, confidence=confidence)
    first, last = np.log(strength_mpa.min(axis=1)), np.log(strength_mpa.max(axis=1))
    return np.asarray(np.exp(last + k * (first - last)), dtype=np.float64)


def _known_ratio(y: FloatArray, batch: IntArray, coverage: float, confidence: float) -> FloatArray:
    n = y.shape[1]
    member = np.equal(batch[:, np.newaxis], np.unique(batch)[np.newaxis, :]).astype(np.float64)
    sizes = member.sum(axis=0)
    means = y @ member / sizes
    weights, total = weights_of(sizes, RATIO)
    centre = means @ weights / total
    within = ((y - means @ member.T) ** 2).sum(axis=1)
    between = (weights * (means - centre[:, np.newaxis]) ** 2).sum(axis=1)
    spread = np.sqrt((within + between) / (n - 1))
    if n < FEW:
        spread = np.maximum(spread, LEAST_SPREAD * centre)
    k = ratio_factor(n, total, ratio=RATIO, coverage=coverage, confidence=confidence)
    return np.asarray(np.maximum(0.0, centre - k * spread) ** 2, dtype=np.float64)
