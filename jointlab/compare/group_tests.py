"""Tests over all combinations at once, complete strengths: whether they come from one population.

Each takes the values as they are to be compared, usually ln strength, one array a combination.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from jointlab.compare.values import GroupTest

FloatArray = npt.NDArray[np.float64]
Groups = Sequence[FloatArray]


def shifted(groups: Groups) -> list[FloatArray]:
    """The groups measured from one of their values: digits that all share would cost digits of a variance."""
    origin = groups[0][0]
    return [group - origin for group in groups]


def one_way_f(groups: Groups) -> GroupTest:
    """One-way analysis of variance: equal means, if spreads are equal. Source key ``searle_unbalanced``."""
    from scipy import stats

    moved = shifted(groups)
    pooled = np.concatenate(moved)
    means = [float(group.mean()) for group in moved]
    grand = float(pooled.mean())
    between = sum(group.size * (mean - grand) ** 2 for group, mean in zip(moved, means, strict=True))
    within = sum(float(((group - mean) ** 2).sum()) for group, mean in zip(moved, means, strict=True))
    above, below = len(moved) - 1, pooled.size - len(moved)
    f = between / above / (within / below)
    return GroupTest(
        "one-way F",
        "Do means differ, if spreads do not?",
        f,
        (above, below),
        float(stats.f.sf(f, above, below)),
        "searle_unbalanced",
    )


def welch_f(groups: Groups) -> GroupTest:
    """Welch's test of equal means whatever the spreads. Source key ``welch_1951``."""
    from scipy import stats

    moved = shifted(groups)
    k = len(moved)
    weight = np.array([group.size / group.var(ddof=1) for group in moved])
    mean = np.array([group.mean() for group in moved])
    total = weight.sum()
    grand = (weight * mean).sum() / total
    slack = sum((1.0 - w / total) ** 2 / (group.size - 1) for w, group in zip(weight, moved, strict=True))
    f = float((weight * (mean - grand) ** 2).sum() / (k - 1) / (1.0 + 2.0 * (k - 2) * slack / (k * k - 1)))
    below = (k * k - 1) / (3.0 * float(slack))
    return GroupTest(
        "Welch F",
        "Do means differ, whatever the spreads?",
        f,
        (k - 1, below),
        float(stats.f.sf(f, k - 1, below)),
        "welch_1951",
    )


def kruskal_wallis(groups: Groups) -> GroupTest:
    """Kruskal-Wallis test on ranks. Source key ``kruskal_wallis``."""
    from scipy import stats

    h, p = stats.kruskal(*groups)
    return GroupTest(
        "Kruskal-Wallis",
        "Do ranks differ, whatever the family?",
        float(h),
        (len(groups) - 1,),
        float(p),
        "kruskal_wallis",
    )


def levene(groups: Groups) -> GroupTest:
    """Levene's test of equal spreads around medians (Brown and Forsythe). Source key ``nist_handbook``."""
    from scipy import stats

    w, p = stats.levene(*shifted(groups), center="median")
    degrees = (len(groups) - 1, sum(group.size for group in groups) - len(groups))
    return GroupTest("Levene (median)", "Do spreads differ?", float(w), degrees, float(p), "nist_handbook")


def bartlett(groups: Groups) -> GroupTest:
    """Bartlett's test of equal spreads of normal values. Source key ``nist_handbook``."""
    from scipy import stats

    t, p = stats.bartlett(*shifted(groups))
    return GroupTest(
        "Bartlett",
        "Do spreads differ, if the family is right?",
        float(t),
        (len(groups) - 1,),
        float(p),
        "nist_handbook",
    )
