"""Integrals over panels of Gauss-Legendre nodes, and the root of a monotone function."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.legendre.leggauss(40))


def panels(edges: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights of forty points on each panel between consecutive edges."""
    ends = np.unique(np.asarray(edges, dtype=np.float64))
    slack = 1e-9 * (ends[-1] - ends[0])  # a panel without width would put its nodes on the ends themselves
    ends = np.concatenate(
        [ends[:1], ends[1:-1][(np.diff(ends[:-1]) > slack) & (ends[-1] - ends[1:-1] > slack)], ends[-1:]]
    )
    half = 0.5 * np.diff(ends)[:, None]
    middle = 0.5 * (ends[1:] + ends[:-1])[:, None]
    return (middle + half * _NODES).ravel(), (half * _WEIGHTS).ravel()


def rising_root(function: Callable[[float], float], low: float, high: float, *, near: float = 1e-14) -> float:
    """Where a rising function of one number crosses zero; ``high`` is moved out until it has crossed.

    Bisection with the Illinois rule of false position: certain, and to the share ``near`` of the root or of one.
    """
    at_low, at_high = function(low), function(high)
    while at_high < 0.0:
        low, at_low, high = high, at_high, high + 2.0 * (high - low)
        at_high = function(high)
    while at_low > 0.0:
        high, at_high, low = low, at_low, low - 2.0 * (high - low)
        at_low = function(low)
    side = 0
    for _ in range(200):
        if at_high == at_low or high - low <= near * max(abs(low) + abs(high), 1e-2):
            break
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        at_middle = function(middle)
        if at_middle == 0.0:
            return middle
        if at_middle > 0.0:
            high, at_high = middle, at_middle
            at_low = 0.5 * at_low if side > 0 else at_low
            side = 1
        else:
            low, at_low = middle, at_middle
            at_high = 0.5 * at_high if side < 0 else at_high
            side = -1
    return 0.5 * (low + high)
