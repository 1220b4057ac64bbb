"""Two kernels of strength, smallest extreme value and normal: what one pull adds to a log-likelihood.

Every function takes standardised strengths ``z`` (and the width ``w`` of an interval that starts at ``z``) and gives
the logarithm with its first and second derivatives. All four logarithms are concave, for both kernels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from jointlab.strength.normal import LOG_ROOT_TWO_PI, log_density, scaled_tail

FloatArray = npt.NDArray[np.float64]

_LARGEST_EXPONENT = 690.0  # exp of it is still a float
_NARROW = 0.25  # width times distance from the middle below which four nodes give twelve digits
_ROOT_HALF, _BELL = math.sqrt(0.5), math.exp(-LOG_ROOT_TWO_PI)
_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.legendre.leggauss(4))
_UNIT_NODES, _UNIT_WEIGHTS = 0.5 * (_NODES + 1.0), 0.5 * _WEIGHTS


@dataclass(frozen=True, slots=True)
class Slopes:
    """A logarithm, its slope and its curvature in ``z``."""

    log: FloatArray
    slope: FloatArray
    curve: FloatArray


@dataclass(frozen=True, slots=True)
class IntervalSlopes:
    """A logarithm and its derivatives in ``z`` and in the width ``w``."""

    log: FloatArray
    z: FloatArray
    w: FloatArray
    zz: FloatArray
    zw: FloatArray
    ww: FloatArray


@dataclass(frozen=True, slots=True)
class DensityTerms:
    """How a log density is made: ``constant`` + ``first`` z + ``second`` z^2 / 2, and the right tail if it ``holds``.

    What is a polynomial of z needs only the moments of the strengths, however many they are.
    """

    constant: float
    first: float
    second: float
    holds: bool


class Kernel(Protocol):
    """A standard distribution of location 0 and scale 1."""

    @property
    def density(self) -> DensityTerms:
        """The terms of the log density."""

    def exact(self, z: FloatArray) -> Slopes:
        """Log density."""

    def right(self, z: FloatArray) -> Slopes:
        """Log probability of more than ``z``."""

    def left(self, z: FloatArray) -> Slopes:
        """Log probability of at most ``z``."""

    def interval(self, z: FloatArray, w: FloatArray) -> IntervalSlopes:
        """Log probability of more than ``z`` and at most ``z + w``."""


def _exp(x: FloatArray) -> FloatArray:
    return np.asarray(np.exp(np.minimum(x, _LARGEST_EXPONENT)))


class SmallestExtremeValue:
    """Kernel of the Weibull (on ln x) and of the smallest extreme value distribution (on x)."""

    density = DensityTerms(constant=0.0, first=1.0, second=0.0, holds=True)

    def exact(self, z: FloatArray) -> Slopes:
        """Log density z - e^z."""
        u = _exp(z)
        return Slopes(z - u, 1.0 - u, -u)

    def right(self, z: FloatArray) -> Slopes:
        """Log probability of more than ``z``: -e^z."""
        u = -_exp(z)
        return Slopes(u, u, u)

    def left(self, z: FloatArray) -> Slopes:
        """Log probability of at most ``z``: log(1 - exp(-e^z))."""
        u = _exp(z)
        rate = 1.0 / _expm1(u)
        slope = rate * u
        return Slopes(np.log(-np.expm1(-u)), slope, slope * _bend(u, rate))

    def interval(self, z: FloatArray, w: FloatArray) -> IntervalSlopes:
        """Log probability of more than ``z`` and at most ``z + w``."""
        u = _exp(z)
        v = _exp(z + w)
        gap = -v * np.expm1(-w)
        rate = 1.0 / _expm1(gap)
        rate_gap, rate_v, bend = rate * gap, rate * v, _bend(gap, rate)
        return IntervalSlopes(
            log=-np.log1p(rate) - u,  # log(1 - e^-gap), as 1 + rate = 1 / (1 - e^-gap)
            z=rate_gap - u,
            w=rate_v,
            zz=rate_gap * bend - u,
            zw=rate_v * bend,
            ww=rate_v - rate_v * (rate_v + v),
        )


def _bend(gap: FloatArray, rate: FloatArray) -> FloatArray:
    """Value of 1 - gap / (1 - e^-gap), by its series where the difference would lose its digits."""
    bend = 1.0 - (1.0 + rate) * gap
    small = np.flatnonzero(gap < 0.02)
    if small.size:
        little = gap[small]
        bend[small] = -little * (0.5 + little * (1.0 - little * little / 60.0) / 12.0)
    return bend


def _expm1(x: FloatArray) -> FloatArray:
    """Endless where e^x is: its inverse must be nought there, or it would win against the square of a large float."""
    with np.errstate(over="ignore"):
        return np.asarray(np.expm1(x))


class StandardNormal:
    """Kernel of the normal (on x) and of the lognormal distribution (on ln x)."""

    density = DensityTerms(constant=-LOG_ROOT_TWO_PI, first=0.0, second=-1.0, holds=False)

    def exact(self, z: FloatArray) -> Slopes:
        """Log density."""
        return Slopes(log_density(z), -z, np.full_like(z, -1.0))

    def right(self, z: FloatArray) -> Slopes:
        """Log probability of more than ``z``: the lower tail of -z."""
        mirrored = self.left(-z)
        return Slopes(mirrored.log, -mirrored.slope, mirrored.curve)

    def left(self, z: FloatArray) -> Slopes:
        """Log probability of at most ``z``; one series gives the logarithm and its slope."""
        tail = 0.5 * scaled_tail(np.abs(z) / np.sqrt(2.0))
        half_square = 0.5 * z * z
        bell = np.exp(-half_square)
        below = z <= 0.0
        share = np.where(below, tail, 1.0 - tail * bell)
        log = np.where(below, np.log(tail) - half_square, np.log1p(-tail * bell))
        slope = np.where(below, 1.0, bell) * np.exp(-LOG_ROOT_TWO_PI) / share
        return Slopes(log, slope, -slope * (slope + z))

    def interval(self, z: FloatArray, w: FloatArray) -> IntervalSlopes:
        """Log probability of more than ``z`` and at most ``z + w``: narrow ones by quadrature."""
        narrow = w * (1.0 + np.abs(z + 0.5 * w)) < _NARROW
        if narrow.all():
            return _narrow_interval(z, w)
        wide = _wide_interval(z, w)
        if narrow.any():
            chosen = np.flatnonzero(narrow)
            given = _narrow_interval(z[chosen], w[chosen])
            for name in IntervalSlopes.__slots__:
                getattr(wide, name)[chosen] = getattr(given, name)
        return wide


def _wide_interval(z: FloatArray, w: FloatArray) -> IntervalSlopes:
    """Both tails measured from the nearer side, and in units of the larger, so that no digits are lost."""
    end = z + w
    mirrored = z + end > 0.0
    outer, inner = np.where(mirrored, -end, z), np.where(mirrored, -z, end)
    half_outer, half_inner = 0.5 * outer * outer, 0.5 * inner * inner
    tails = 0.5 * scaled_tail(_ROOT_HALF * np.abs(np.concatenate([outer, inner])))
    beyond = inner > 0.0
    unit = np.where(beyond, 0.0, half_inner)
    bell_outer, bell_inner = np.exp(unit - half_outer), np.exp(unit - half_inner)
    part = np.where(beyond, 1.0 - tails[z.size :] * bell_inner, tails[z.size :]) - tails[: z.size] * bell_outer
    log = np.log(part) - unit
    per = _BELL / part
    at_outer, at_inner = per * bell_outer, per * bell_inner
    at_z, at_end = np.where(mirrored, at_inner, at_outer), np.where(mirrored, at_outer, at_inner)
    slope = at_end - at_z
    return IntervalSlopes(
        log=log,
        z=slope,
        w=at_end,
        zz=z * at_z - end * at_end - slope * slope,
        zw=-at_end * (end + slope),
        ww=-at_end * (end + at_end),
    )


def _narrow_interval(z: FloatArray, w: FloatArray) -> IntervalSlopes:
    """Four-point Gauss-Legendre over the interval; derivatives are moments of the strength within it."""
    t = _UNIT_NODES[:, None]
    y = z + w * t
    middle = z + 0.5 * w
    mass = _UNIT_WEIGHTS[:, None] * np.exp(0.5 * (middle - y) * (middle + y))
    total = mass.sum(axis=0)
    mass /= total
    mean_y, mean_t, mean_yt = (mass * y).sum(axis=0), (mass * t).sum(axis=0), (mass * y * t).sum(axis=0)
    away, away_t = y - mean_y, y * t - mean_yt
    return IntervalSlopes(
        log=log_density(middle) + np.log(w * total),
        z=-mean_y,
        w=1.0 / w - mean_yt,
        zz=(mass * away * away).sum(axis=0) - 1.0,
        zw=(mass * away * away_t).sum(axis=0) - mean_t,
        ww=(mass * away_t * away_t).sum(axis=0) - (mass * t * t).sum(axis=0) - 1.0 / (w * w),
    )


SMALLEST_EXTREME_VALUE: Kernel = SmallestExtremeValue()
STANDARD_NORMAL: Kernel = StandardNormal()
