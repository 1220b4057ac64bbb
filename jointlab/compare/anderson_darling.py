"""The k-sample Anderson-Darling test: whether all combinations share one distribution, in place, spread and shape."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from jointlab.compare.values import GroupTest

FloatArray = npt.NDArray[np.float64]

SOURCE = "scholz_stephens"

# Table 2 of the source, continued to 0.5 and 0.1 %: critical values are b0 + b1 / sqrt m + b2 / m, m = k - 1.
_SHARES = np.array([0.25, 0.1, 0.05, 0.025, 0.01, 0.005, 0.001])
_B0 = np.array([0.675, 1.281, 1.645, 1.960, 2.326, 2.573, 3.085])
_B1 = np.array([-0.245, 0.250, 0.678, 1.149, 1.822, 2.364, 3.615])
_B2 = np.array([-0.105, -0.305, -0.362, -0.391, -0.396, -0.345, -0.154])


def k_sample_statistic(groups: Sequence[FloatArray]) -> float:
    """A squared of the source, version for tied values with right-continuous steps (eq. 6): A2akN with mid-ranks."""
    pooled = np.sort(np.concatenate(groups))
    n = pooled.size
    values, ties = np.unique(pooled, return_counts=True)
    below = np.searchsorted(pooled, values, side="left") + 0.5 * ties
    bottom = below * (n - below) - 0.25 * n * ties
    total = 0.0
    for group in groups:
        ordered = np.sort(group)
        at_most = np.searchsorted(ordered, values, side="right")
        own = at_most - 0.5 * (at_most - np.searchsorted(ordered, values, side="left"))
        total += float((ties / n * (n * own - below * group.size) ** 2 / bottom).sum()) / group.size
    return total * (n - 1) / n


def statistic_spread(sizes: Sequence[int]) -> float:
    """Standard deviation of the statistic when all share one distribution (eq. 4 of the source)."""
    n, k = sum(sizes), len(sizes)
    inverse = sum(1.0 / size for size in sizes)
    steps = np.arange(1, n)
    h = float((1.0 / steps).sum())
    tail = np.cumsum(1.0 / steps[::-1])[::-1]  # sum of 1/j for j = i .. n - 1
    g = float(sum(tail[i] / (n - i) for i in range(1, n - 1)))
    a = (4 * g - 6) * (k - 1) + (10 - 6 * g) * inverse
    b = (2 * g - 4) * k**2 + 8 * h * k + (2 * g - 14 * h - 4) * inverse - 8 * h + 4 * g - 6
    c = (6 * h + 2 * g - 2) * k**2 + (4 * h - 4 * g + 6) * k + (2 * h - 6) * inverse + 4 * h
    d = (2 * h + 6) * k**2 - 4 * h * k
    return float(np.sqrt((a * n**3 + b * n**2 + c * n + d) / ((n - 1.0) * (n - 2.0) * (n - 3.0))))


def k_sample_anderson_darling(groups: Sequence[FloatArray]) -> GroupTest:
    """The test with its standardised statistic; the p-value is interpolated in the source's table.

    Logs of the tabled shares are quadratic in the critical value; beyond the table (below 0.1 % and above 25 %) the
    p-value is extrapolated, and kept between 0.0001 and 1. Source key ``scholz_stephens``.
    """
    k = len(groups)
    standard = (k_sample_statistic(groups) - (k - 1)) / statistic_spread([group.size for group in groups])
    m = k - 1
    critical = _B0 + _B1 / np.sqrt(m) + _B2 / m
    curve = np.polyfit(critical, np.log(_SHARES), 2)
    p = np.exp(min(float(np.polyval(curve, max(standard, float(critical[0]) - 2.0))), 0.0))
    return GroupTest(
        "k-sample Anderson-Darling",
        "Do distributions differ in any way?",
        standard,
        (),
        float(np.clip(p, 1e-4, 1.0)),
        SOURCE,
    )
