"""Two kernels of strength, smallest extreme value and normal: what one pull adds to a log-likelihood.

Every function takes standardised strengths ``z`` (and the width ``w`` of an interval that starts at ``z``) and gives
the logarithm with its first and second derivatives. All four logarithms are concave, for both kernels.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from jointlab.strength.normal import LOG_ROOT_TWO_PI, log_cdf, log_density, scaled_tail

FloatArray = npt.NDArray[np.float64]

_LARGEST_EXPONENT = 690.0  # exp of it is still a float
_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.legendre.leggauss(8))
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


class Kernel(Protocol):
    """A standard distribution of location 0 and scale 1."""

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
        u, v = _exp(z), _exp(z + w)
        gap = u * _expm1(w)
        rate = 1.0 / _expm1(gap)
        rate_gap, rate_v, bend = rate * gap, rate * v, _bend(gap, rate)
        return IntervalSlopes(
            log=np.log(-np.expm1(-gap)) - u,
            z=rate_gap - u,
            w=rate_v,
            zz=rate_gap * bend - u,
            zw=rate_v * bend,
            ww=rate_v - rate_v * (rate_v + v),
        )


def _bend(gap: FloatArray, rate: FloatArray) -> FloatArray:
    """Value of 1 - gap / (1 - e^-gap), by its series where the difference would lose its digits."""
    square = gap * gap
    series = -gap * (0.5 + gap * (1.0 - square * (1.0 / 60.0 - square / 2520.0)) / 12.0)
    return np.where(gap < 0.05, series, 1.0 - (1.0 + rate) * gap)


def _expm1(x: FloatArray) -> FloatArray:
    return np.asarray(np.expm1(np.minimum(x, 0.5 * _LARGEST_EXPONENT)))


class StandardNormal:
    """Kernel of the normal (on x) and of the lognormal distribution (on ln x)."""

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
        narrow = w * (1.0 + np.abs(z + 0.5 * w)) < 1.0
        if narrow.all():
            return _narrow_interval(z, w)
        if not narrow.any():
            return _wide_interval(z, w)
        parts = [np.empty_like(z) for _ in range(6)]
        for chosen, branch in ((narrow, _narrow_interval), (~narrow, _wide_interval)):
            given = branch(z[chosen], w[chosen])
            for part, name in zip(parts, IntervalSlopes.__slots__, strict=True):
                part[chosen] = getattr(given, name)
        return IntervalSlopes(*parts)


def _wide_interval(z: FloatArray, w: FloatArray) -> IntervalSlopes:
    end = z + w
    mirrored = z + end > 0.0  # measured from the nearer tail, so that no digits are lost
    inner = log_cdf(np.where(mirrored, -z, end))
    outer = log_cdf(np.where(mirrored, -end, z))
    log = inner + np.log1p(-np.exp(outer - inner))
    at_z, at_end = np.exp(log_density(z) - log), np.exp(log_density(end) - log)
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
    """Eight-point Gauss-Legendre over the interval; derivatives are moments of the strength within it."""
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
