"""Complete strengths, each combination with a spread of its own: Welch's t, its largest value found by simulation."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from jointlab.compare.estimates import Draws, Estimates, Pair
from jointlab.compare.layout import Layout
from jointlab.strength.known_ratio import centre_and_spread
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "krishnamoorthy_lu_mathew"

LOW_Z = -1.6448536269514722
"""Standard normal 5th percentile (source key ``meeker_hahn_escobar``)."""

MOST_WITH_DRAWS = 60
"""Families beyond this size are given without chance to outlast and low percentiles (source key ``judgement``)."""


def estimates_with_own_spreads(
    layout: Layout, *, family: Sequence[Pair], ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Means of ln strength with their own standard errors, and the family's largest t by parametric bootstrap.

    A replicate draws mean and spread of every combination from normal and chi-square laws at the spreads seen
    (``SOURCE``); it repeats nothing but these sufficient statistics, so a thousand combinations take a second. Pulls of
    one glue-up share its shift: V = I + ratio^2 Z Z' within each combination.
    """
    groups = layout.groups
    ratio = ratio if layout.repeated else 0.0
    centre, spread, weight = (np.empty(groups) for _ in range(3))
    for index in range(groups):
        own = layout.group == index
        block = np.unique(layout.block[own], return_inverse=True)[1].astype(np.int64)
        centre[index], spread[index], weight[index] = centre_and_spread(layout.lower[own], block, ratio=ratio)
    degrees = layout.sizes - 1.0
    normals = rng.standard_normal((replicates, groups))
    inflation = np.sqrt(degrees / rng.chisquare(degrees, (replicates, groups)))
    squares = spread**2 / weight
    largest = _largest(normals * np.sqrt(squares), squares / inflation**2, family)
    total = spread * np.sqrt(1.0 + ratio * ratio)
    draws = None
    if len(family) <= MOST_WITH_DRAWS:
        location = centre - normals * np.sqrt(squares) * inflation
        draws = Draws(location, total * inflation, centre, total, Family.LOGNORMAL)
    return Estimates(
        log_median=centre,
        log_sd=total,
        log_low=centre + LOW_Z * total,
        errors=np.sqrt([squares[one] + squares[other] for one, other in family]),
        largest=largest,
        draws=draws,
    )


def _largest(errors: FloatArray, squares: FloatArray, family: Sequence[Pair]) -> FloatArray:
    largest = np.zeros(errors.shape[0])
    for one, other in family:
        t = np.abs(errors[:, one] - errors[:, other]) / np.sqrt(squares[:, one] + squares[:, other])
        np.maximum(largest, t, out=largest)
    return largest
