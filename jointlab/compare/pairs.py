"""Every pair of combinations: Tukey-Kramer, Games-Howell and Dunn, each over the whole family of pairs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from jointlab.compare.group_tests import shifted

FloatArray = npt.NDArray[np.float64]
Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class PairDifference:
    """Mean of group ``one`` less mean of group ``other``, with its simultaneous interval and adjusted p-value."""

    one: int
    other: int
    difference: float
    lower: float
    upper: float
    p_value: float


@dataclass(frozen=True, slots=True)
class PairRank:
    """Dunn's z of mean ranks, and its p-value adjusted by Holm's steps."""

    one: int
    other: int
    z: float
    p_value: float


def every_pair(count: int) -> tuple[Pair, ...]:
    """Index pairs of ``count`` groups, the first index the smaller."""
    return tuple(combinations(range(count), 2))


def tukey_kramer(groups: Sequence[FloatArray], *, confidence: float) -> tuple[PairDifference, ...]:
    """Differences of means, one spread for all; exact for equal numbers, a little wide otherwise.

    Source key ``nist_handbook`` (7.4.7.1), Kramer's form for unequal numbers.
    """
    moved = shifted(groups)
    degrees = sum(group.size for group in moved) - len(moved)
    spread = math.sqrt(sum(float(((group - group.mean()) ** 2).sum()) for group in moved) / degrees)

    def error(i: int, j: int) -> tuple[float, float]:
        return spread * math.sqrt(0.5 * (1.0 / moved[i].size + 1.0 / moved[j].size)), degrees

    return _by_studentised_range(moved, error, confidence)


def games_howell(groups: Sequence[FloatArray], *, confidence: float) -> tuple[PairDifference, ...]:
    """Differences of means, each group with its own spread, degrees of freedom by Welch.

    Source key ``games_howell``.
    """
    moved = shifted(groups)
    squares = [float(group.var(ddof=1)) / group.size for group in moved]

    def error(i: int, j: int) -> tuple[float, float]:
        total = squares[i] + squares[j]
        slack = squares[i] ** 2 / (moved[i].size - 1) + squares[j] ** 2 / (moved[j].size - 1)
        return math.sqrt(0.5 * total), total**2 / slack

    return _by_studentised_range(moved, error, confidence)


def _by_studentised_range(
    groups: Sequence[FloatArray], error: Callable[[int, int], tuple[float, float]], confidence: float
) -> tuple[PairDifference, ...]:
    """Intervals from each pair's unit of the studentised range and its degrees of freedom."""
    from scipy.stats import studentized_range

    k = len(groups)
    found = []
    for i, j in every_pair(k):
        unit, degrees = error(i, j)
        difference = float(groups[i].mean() - groups[j].mean())
        half = float(studentized_range.ppf(confidence, k, degrees)) * unit
        p = float(studentized_range.sf(abs(difference) / unit, k, degrees))
        found.append(PairDifference(i, j, difference, difference - half, difference + half, p))
    return tuple(found)


def dunn(groups: Sequence[FloatArray]) -> tuple[PairRank, ...]:
    """Differences of mean ranks in units of their spread, ties counted; Holm over all pairs. Source key ``dunn``."""
    from scipy import stats

    family = every_pair(len(groups))
    z = dunn_z(groups, family)
    adjusted = holm(2.0 * stats.norm.sf(np.abs(z)))
    return tuple(PairRank(i, j, value, p) for (i, j), value, p in zip(family, z, adjusted, strict=True))


def dunn_z(groups: Sequence[FloatArray], family: Sequence[Pair]) -> tuple[float, ...]:
    """Dunn's z of each pair: ranks are taken over all groups at once. Source key ``dunn``."""
    from scipy import stats

    pooled = np.concatenate(groups)
    n = pooled.size
    ranks = stats.rankdata(pooled)
    ends = np.cumsum([group.size for group in groups])
    means = [float(part.mean()) for part in np.split(ranks, ends[:-1])]
    _, ties = np.unique(pooled, return_counts=True)
    variance = n * (n + 1) / 12.0 - float((ties**3 - ties).sum()) / (12.0 * (n - 1))
    return tuple(
        (means[i] - means[j]) / math.sqrt(variance * (1.0 / groups[i].size + 1.0 / groups[j].size)) for i, j in family
    )


def holm(p_values: Sequence[float] | FloatArray) -> tuple[float, ...]:
    """p-values adjusted by Holm's steps: the family-wise error is controlled whatever the dependence."""
    p = np.asarray(p_values, dtype=np.float64)
    order = np.argsort(p)
    steps = np.minimum(1.0, np.maximum.accumulate(p[order] * (p.size - np.arange(p.size))))
    adjusted = np.empty_like(p)
    adjusted[order] = steps
    return tuple(float(value) for value in adjusted)
