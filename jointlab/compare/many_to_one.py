"""Dunnett's comparison of many combinations with one control, exact for any numbers of pulls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.group_tests import shifted
from jointlab.compare.pairs import PairDifference

FloatArray = npt.NDArray[np.float64]

SOURCE = "dunnett"

_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.legendre.leggauss(64))
_REACH = 8.0  # standard deviations of the control's mean over which the integral runs


@dataclass(frozen=True, slots=True)
class ManyToOne:
    """The distribution of the largest of many t values that share a control and a spread.

    Parameters
    ----------
    loading
        Shape (k,): square root of the correlation with the control, sqrt(n_i / (n_i + n_0)).
    degrees
        Degrees of freedom of the spread.
    """

    loading: FloatArray
    degrees: int

    @classmethod
    def of_sizes(cls, control: int, others: Sequence[int], *, degrees: int) -> ManyToOne:
        """From the numbers of pulls."""
        sizes = np.asarray(others, dtype=np.float64)
        return cls(np.sqrt(sizes / (sizes + control)), degrees)

    def reached(self, t: float) -> float:
        """Chance that all absolute t values stay at most ``t``.

        P = E over the spread s of the integral over the control's z of the product over i of
        Phi((t s + l_i z) / sqrt(1 - l_i^2)) - Phi((-t s + l_i z) / sqrt(1 - l_i^2)). Source key ``dunnett``, eq. 5.
        """
        from scipy.special import ndtr

        s, weight_s = _spread_nodes(self.degrees)
        z, weight_z = _normal_nodes()
        loading, repeats = np.unique(np.round(self.loading, 12), return_counts=True)
        inside = np.zeros((s.size, z.size))
        for value, count in zip(loading, repeats, strict=True):
            rest = math.sqrt(1.0 - value * value)
            upper = (t * s[:, None] + value * z[None, :]) / rest
            lower = (-t * s[:, None] + value * z[None, :]) / rest
            with np.errstate(divide="ignore"):
                inside += count * np.log(np.maximum(ndtr(upper) - ndtr(lower), 0.0))
        return float(weight_s @ np.exp(inside) @ weight_z)

    def factor(self, confidence: float) -> float:
        """The t value that all stay within with this confidence."""
        from scipy.optimize import brentq

        return float(brentq(lambda t: self.reached(t) - confidence, 0.1, 200.0, xtol=1e-10))


def dunnett(control: FloatArray, others: Sequence[FloatArray], *, confidence: float) -> tuple[PairDifference, ...]:
    """Mean of each group less the control's mean, with two-sided simultaneous intervals; one spread for all.

    Group 0 is the control, the others follow from 1. Source key ``dunnett``.
    """
    groups = shifted([control, *others])
    degrees = sum(group.size for group in groups) - len(groups)
    spread = math.sqrt(sum(float(((group - group.mean()) ** 2).sum()) for group in groups) / degrees)
    family = ManyToOne.of_sizes(groups[0].size, [group.size for group in groups[1:]], degrees=degrees)
    factor = family.factor(confidence)
    found = []
    for index, group in enumerate(groups[1:], start=1):
        unit = spread * math.sqrt(1.0 / group.size + 1.0 / groups[0].size)
        difference = float(group.mean() - groups[0].mean())
        p = max(0.0, 1.0 - family.reached(abs(difference) / unit)) if unit > 0.0 else 0.0
        found.append(PairDifference(index, 0, difference, difference - factor * unit, difference + factor * unit, p))
    return tuple(found)


def _spread_nodes(degrees: int) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights of s = sqrt(chi-square / degrees)."""
    width = 1.0 / math.sqrt(2.0 * degrees)
    start, end = max(0.0, 1.0 - 9.0 * width), 1.0 + 9.0 * width + (2.0 if degrees < 5 else 0.0)
    s, weight = _legendre(start, end)
    log = (degrees - 1.0) * np.log(s) - 0.5 * degrees * s * s
    density = np.exp(log - log.max())
    weight = weight * density
    return s, weight / weight.sum()


def _normal_nodes() -> tuple[FloatArray, FloatArray]:
    z, weight = _legendre(-_REACH, _REACH)
    weight = weight * np.exp(-0.5 * z * z)
    return z, weight / weight.sum()


def _legendre(start: float, end: float) -> tuple[FloatArray, FloatArray]:
    half = 0.5 * (end - start)
    return start + half * (_NODES + 1.0), half * _WEIGHTS
