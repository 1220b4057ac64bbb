"""Intervals that hold for a whole family at once, from simulated replicates."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_LEAST_BEYOND = 5.0
"""Replicates that must lie beyond an end for the end to be given."""

_ONE_SD_BELOW = 0.15865525393145707  # standard normal probability below -1


def largest_t(estimates: FloatArray, squares: FloatArray, pairs: IntArray) -> FloatArray:
    """Largest |t| over a family of pairs, one a replicate.

    Parameters
    ----------
    estimates, squares
        Shape (replicates, groups): errors of the estimates and their estimated variances, independent over groups.
    pairs
        Shape (family, 2).
    """
    largest = np.zeros(estimates.shape[0])
    for one, other in pairs:
        t = np.abs(estimates[:, one] - estimates[:, other]) / np.sqrt(squares[:, one] + squares[:, other])
        np.maximum(largest, t, out=largest)
    return largest


def factor_of(largest: FloatArray, *, confidence: float) -> float:
    """The |t| that the whole family stays within with this confidence: the k-th of R, k = ceil(confidence (R + 1))."""
    rank = int(np.ceil(confidence * (largest.size + 1) - 1e-9))
    return float(np.sort(largest)[min(rank, largest.size) - 1])


def adjusted_p(largest: FloatArray, t: float) -> float:
    """Share of replicates whose whole family stays below ``t`` nowhere: the p-value adjusted over the family."""
    return float((1 + np.count_nonzero(largest >= abs(t))) / (largest.size + 1))


def simultaneous_ends(draws: FloatArray, *, confidence: float) -> tuple[FloatArray, FloatArray] | None:
    """Equal-tailed ends of each column that all columns keep at once with this confidence; None with too few draws.

    Every draw is ranked in its column; the family's depth is its most extreme rank, and the level is set so that the
    share ``confidence`` of draws lies within all intervals.
    """
    count, columns = draws.shape
    ordered = np.sort(draws, axis=0)
    depth = np.full(count, np.inf)
    for column in range(columns):
        rank = np.searchsorted(ordered[:, column], draws[:, column]) + 0.5
        np.minimum(depth, np.minimum(rank, count - rank), out=depth)
    beyond = float(np.quantile(depth, 1.0 - confidence))
    if beyond < _LEAST_BEYOND:
        return None
    place = int(beyond)
    return ordered[place], ordered[count - 1 - place]


def simultaneous_band(draws: FloatArray, *, confidence: float) -> tuple[FloatArray, FloatArray]:
    """Ends of each column that all columns keep at once, where draws are too few to rank every column's own ends.

    Each column is measured from its median in its own distances to the 16th and 84th percentile; one factor for all
    is found from the largest distance of every draw. Best on a scale on which the columns are nearly normal.
    """
    low, middle, high = np.quantile(draws, [_ONE_SD_BELOW, 0.5, 1.0 - _ONE_SD_BELOW], axis=0)
    below, above = np.maximum(middle - low, 1e-12), np.maximum(high - middle, 1e-12)
    away = draws - middle
    factor = factor_of(np.maximum(away / above, -away / below).max(axis=1), confidence=confidence)
    return middle - factor * below, middle + factor * above
