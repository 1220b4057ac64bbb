"""What an analysis estimates of every combination, before it is said as effects."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]
Pair = tuple[int, int]

BATCH_RATIO = 1.0
"""Between-glue-up sd / within-glue-up sd that is assumed, as for the working bound (source key ``judgement``)."""


@dataclass(frozen=True, slots=True)
class Draws:
    """Values of each combination's ln median and scale that agree with the pulls, as often as they do.

    Parameters
    ----------
    location, scale
        Shape (draws, groups): of ln strength on the family's kernel, for a joint of a glue-up still to come.
    seen_location, seen_scale
        Shape (groups,): the same, as estimated.
    family
        Lognormal or Weibull.
    """

    location: FloatArray
    scale: FloatArray
    seen_location: FloatArray
    seen_scale: FloatArray
    family: Family


@dataclass(frozen=True, slots=True)
class Estimates:
    """Every combination's estimates, and how far the largest t of the family strays by chance.

    Parameters
    ----------
    log_median, log_sd, log_low
        Shape (groups,): median, standard deviation and lower 5th percentile of ln strength.
    errors
        Shape (family,): standard error of each difference of ln medians.
    largest
        Shape (replicates,): largest |t| of the family when no estimate is off but by chance.
    draws
        For the chance to outlast and the ratio of low percentiles; None where the family is too large for them.
    """

    log_median: FloatArray
    log_sd: FloatArray
    log_low: FloatArray
    errors: FloatArray
    largest: FloatArray
    draws: Draws | None


def largest_of(location: FloatArray, error: Sequence[FloatArray], family: Sequence[Pair]) -> FloatArray:
    """Largest |t| over the family, one a replicate; ``location`` of shape (replicates, groups), an error a pair."""
    largest = np.zeros(location.shape[0])
    for (one, other), unit in zip(family, error, strict=True):
        np.maximum(largest, np.abs(location[:, one] - location[:, other]) / unit, out=largest)
    return largest
