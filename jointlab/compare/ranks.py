"""Effects without a family: Hodges and Lehmann's ratio, rank-sum intervals, p-values by Dunn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from jointlab.compare.effects import shown_by
from jointlab.compare.estimates import Pair
from jointlab.compare.pairs import dunn_z, holm
from jointlab.compare.values import Effect, Estimate
from jointlab.record.joint import Combination

FloatArray = npt.NDArray[np.float64]

SOURCE = "hodges_lehmann"


def rank_effects(
    groups: Sequence[FloatArray], *, combinations: Sequence[Combination], family: Sequence[Pair], confidence: float
) -> tuple[Effect, ...]:
    """Ratio of strengths as the median of all pairwise ratios, with exact rank-sum intervals at Bonferroni's level.

    With few pulls no rank-sum interval reaches the level: its ends are then None. P-values: Dunn's z, Holm's steps over
    the family. Source key ``hodges_lehmann``; ``dunn``.

    Parameters
    ----------
    groups
        ln strength by combination, complete.
    """
    from scipy import stats

    z = dunn_z(groups, family)
    adjusted = holm(2.0 * stats.norm.sf(np.abs(z)))
    level = (1.0 - confidence) / len(family)
    found = []
    for (one, other), p in zip(family, adjusted, strict=True):
        ratio = shift_ratio(groups[one], groups[other], doubt=level)
        found.append(Effect(combinations[one], combinations[other], ratio, p, shown_by(ratio)))
    return tuple(found)


def shift_ratio(one: FloatArray, other: FloatArray, *, doubt: float) -> Estimate:
    """Ratio exp(median of all differences) and its rank-sum interval of confidence 1 - ``doubt``."""
    differences = np.sort((one[:, None] - other[None, :]).ravel())
    left_out = _left_out(one.size, other.size, doubt)
    value = math.exp(float(np.median(differences)))
    if left_out is None:
        return Estimate(value, None, None)
    return Estimate(value, math.exp(differences[left_out]), math.exp(differences[-1 - left_out]))


def _left_out(m: int, n: int, doubt: float) -> int | None:
    """Differences left out at each end: the largest k with P(U <= k) <= doubt / 2; None when there is none."""
    counts = _rank_sum_counts(m, n)
    below = np.cumsum(counts) / counts.sum()
    inside = int(np.count_nonzero(below <= 0.5 * doubt + 1e-12))
    return inside if inside else None


@lru_cache(maxsize=512)
def _rank_sum_counts(m: int, n: int) -> FloatArray:
    """Number of arrangements of m and n values with each value 0 .. m n of the rank-sum statistic U."""
    counts = np.zeros(m * n + 1)
    counts[0] = 1.0
    for i in range(1, m + 1):  # the generating function prod (1 - q^(n+i)) / (1 - q^i)
        multiplied = counts.copy()
        if n + i <= m * n:
            multiplied[n + i :] -= counts[: m * n + 1 - (n + i)]
        for place in range(i, m * n + 1):
            multiplied[place] += multiplied[place - i]
        counts = multiplied
    return counts
