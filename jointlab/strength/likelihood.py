"""Log-likelihood of many censored samples at once, with its slopes in a = 1/scale and b = location/scale.

In these parameters it is concave for every mixture of exact, right-, left- and interval-censored strengths.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import DensityTerms, Kernel

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

NARROWEST = 1e-9
"""An interval narrower than this share of the scale is exact: the digits of a float end there (judgement)."""


class Ill(StrEnum):
    """Why a sample has no maximum of the likelihood; the value is the sentence for the user."""

    NO_BREAK = "no pull broke: the spread cannot be estimated, only a success run says something"
    ALL_HANDLED = "every joint broke when handled: nothing says how strong the strongest are"
    IDENTICAL = "all breaks are at one and the same strength: the reading's resolution hides the spread"
    ONE_STEP = "all breaks lie in one load step: the likelihood is largest at zero spread"
    TWO_STEPS = "the breaks lie in two adjacent load steps: the likelihood is largest at zero spread"
    NO_SPREAD = "one strength agrees with every pull: the likelihood is largest at zero spread"
    ENDLESS_SPREAD = "breaks and held pulls contradict each other so far that the spread has no limit"
    ZERO_STRENGTH = "a strength of zero has no logarithm; give the rig's resolution as its load step"
    NOT_FOUND = "the search for the maximum did not end"


@dataclass(frozen=True, slots=True)
class Samples:
    """Samples side by side: ``lower``, ``upper`` and ``weight`` of shape (samples, n), on the kernel's scale.

    Equal ends: exact; ``upper`` infinite: held; ``lower`` minus infinite: left-censored; otherwise an interval.
    """

    lower: FloatArray
    upper: FloatArray
    weight: FloatArray


@dataclass(frozen=True, slots=True)
class Sums:
    """Log-likelihood, gradient and Hessian in (a, b), one entry a sample."""

    log: FloatArray
    a: FloatArray
    b: FloatArray
    aa: FloatArray
    ab: FloatArray
    bb: FloatArray

    def replaced(self, rows: IntArray, newer: Sums) -> None:
        """Write the entries of ``newer`` over those of ``rows``."""
        for name in Sums.__slots__:
            getattr(self, name)[rows] = getattr(newer, name)


@dataclass(frozen=True, slots=True)
class _Part:
    """Pulls of one kind of censoring: sample number, place, width, weight."""

    row: IntArray
    x: FloatArray
    width: FloatArray
    weight: FloatArray

    def of_rows(self, place: IntArray) -> _Part:
        """Only the pulls of samples whose new ``place`` is not negative."""
        row = place[self.row]
        kept = row >= 0
        return _Part(row[kept], self.x[kept], self.width[kept], self.weight[kept])

    def repeated(self, times: int, size: int) -> _Part:
        """The same so many times over, each time for the next ``size`` samples."""
        row = (self.row + size * np.arange(times)[:, None]).ravel()
        return _Part(row, np.tile(self.x, times), np.tile(self.width, times), np.tile(self.weight, times))


@dataclass(frozen=True, slots=True)
class _Moments:
    """Number, sum and sum of squares of the exact strengths of each sample, weighted."""

    number: FloatArray
    total: FloatArray
    square: FloatArray

    @classmethod
    def of(cls, exact: BoolArray, samples: Samples) -> _Moments:
        """Of the strengths chosen."""
        weight, x = np.where(exact, samples.weight, 0.0), np.where(exact, samples.lower, 0.0)
        weighted = weight * x
        return cls(weight.sum(axis=1), weighted.sum(axis=1), (weighted * x).sum(axis=1))

    def of_rows(self, rows: IntArray) -> _Moments:
        """Only of these samples."""
        return _Moments(self.number[rows], self.total[rows], self.square[rows])

    def repeated(self, times: int) -> _Moments:
        """The same so many times over."""
        return _Moments(np.tile(self.number, times), np.tile(self.total, times), np.tile(self.square, times))

    def sums(self, terms: DensityTerms, a: FloatArray, b: FloatArray) -> Sums:
        """What the polynomial part of the log densities adds, with ln a for each of them."""
        number, total, square = self.number, self.total, self.square
        mean_a, mean_b = a * square - b * total, a * total - b * number  # sums of z x and of z
        quadratic = a * mean_a - b * mean_b
        log = number * (np.log(a) + terms.constant) + terms.first * mean_b + 0.5 * terms.second * quadratic
        return Sums(
            log=log,
            a=number / a + terms.first * total + terms.second * mean_a,
            b=-terms.first * number - terms.second * mean_b,
            aa=terms.second * square - number / (a * a),
            ab=-terms.second * total,
            bb=terms.second * number,
        )


@dataclass(frozen=True, slots=True)
class Likelihood:
    """The samples sorted by kind of censoring, ready to be summed; exact strengths by their moments where that is all.

    ``right`` holds the exact strengths too where their density is a polynomial times the right tail.
    """

    kernel: Kernel
    size: int
    exact: _Moments
    right: _Part
    left: _Part
    interval: _Part

    @classmethod
    def of(cls, samples: Samples, kernel: Kernel) -> Likelihood:
        """Sort the pulls of all samples by kind of censoring."""
        lower, upper = samples.lower, samples.upper
        exact = lower == upper
        right = np.isposinf(upper) & ~np.isneginf(lower)
        left = np.isneginf(lower) & ~np.isposinf(upper)
        interval = ~(exact | left | np.isposinf(upper))

        def part(chosen: BoolArray, ends: FloatArray) -> _Part:
            row, column = np.nonzero(chosen & (samples.weight > 0.0))
            x = ends[row, column]
            width = upper[row, column] - x if chosen is interval else np.zeros(x.size)
            return _Part(row.astype(np.int64), x, width, samples.weight[row, column])

        return cls(
            kernel=kernel,
            size=lower.shape[0],
            exact=_Moments.of(exact, samples),
            right=part(right | exact if kernel.density.holds else right, lower),
            left=part(left, upper),
            interval=part(interval, lower),
        )

    def of_rows(self, rows: IntArray) -> Likelihood:
        """The same for these samples only, in this order."""
        place = np.full(self.size, -1, dtype=np.int64)
        place[rows] = np.arange(rows.size)
        parts = {name: getattr(self, name).of_rows(place) for name in ("right", "left", "interval")}
        return Likelihood(kernel=self.kernel, size=rows.size, exact=self.exact.of_rows(rows), **parts)

    def repeated(self, times: int) -> Likelihood:
        """All samples so many times over, one whole set after the other."""
        parts = {name: getattr(self, name).repeated(times, self.size) for name in ("right", "left", "interval")}
        return Likelihood(kernel=self.kernel, size=times * self.size, exact=self.exact.repeated(times), **parts)

    def sums(self, a: FloatArray, b: FloatArray) -> Sums:
        """Log-likelihood and derivatives at a = 1/scale > 0 and b = location/scale, one of each a sample."""
        total = self.exact.sums(self.kernel.density, a, b)
        with np.errstate(over="ignore", under="ignore", divide="ignore", invalid="ignore"):
            for part, kind in ((self.right, self.kernel.right), (self.left, self.kernel.left)):
                if part.x.size:
                    slopes = kind(a[part.row] * part.x - b[part.row])
                    _add(total, part, slopes.log, slopes.slope, slopes.curve)
            if self.interval.x.size:
                self._add_intervals(total, a, b)
        return total

    def _add_intervals(self, total: Sums, a: FloatArray, b: FloatArray) -> None:
        part = self.interval
        x, width, scale = part.x, part.width, a[part.row]
        at = self.kernel.interval(scale * x - b[part.row], scale * width)
        cross = at.zz * x + at.zw * width
        _accumulate(total.log, part, at.log)
        _accumulate(total.a, part, at.z * x + at.w * width)
        _accumulate(total.b, part, -at.z)
        _accumulate(total.aa, part, cross * x + (at.zw * x + at.ww * width) * width)
        _accumulate(total.ab, part, -cross)
        _accumulate(total.bb, part, at.zz)


def _add(total: Sums, part: _Part, log: FloatArray, slope: FloatArray, curve: FloatArray) -> None:
    bent = curve * part.x
    _accumulate(total.log, part, log)
    _accumulate(total.a, part, slope * part.x)
    _accumulate(total.b, part, -slope)
    _accumulate(total.aa, part, bent * part.x)
    _accumulate(total.ab, part, -bent)
    _accumulate(total.bb, part, curve)


def _accumulate(total: FloatArray, part: _Part, term: FloatArray) -> None:
    total += np.bincount(part.row, part.weight * term, total.size)


def ill_cases(samples: Samples) -> list[Ill | None]:
    """Why each sample has no maximum; None where it has one.

    A maximum exists unless one strength m agrees with every pull (largest lower end <= m <= smallest upper end), or no
    pull broke, or every joint broke when handled.
    """
    present = samples.weight > 0.0
    lower = np.where(present, samples.lower, -np.inf)
    upper = np.where(present, samples.upper, np.inf)
    largest, smallest = lower.max(axis=1), upper.min(axis=1)
    with np.errstate(invalid="ignore"):
        slack = NARROWEST * (np.abs(largest) + np.abs(smallest))  # steps that meet, but for the last digits of a float
    agree = (largest <= smallest) | (largest - smallest <= np.where(np.isfinite(slack), slack, 0.0))
    no_break, no_lower = np.isposinf(smallest), np.isneginf(largest)
    cases: list[Ill | None] = [None] * lower.shape[0]
    for row in np.flatnonzero(agree | no_break | no_lower):
        if no_break[row]:
            cases[row] = Ill.NO_BREAK
        elif no_lower[row]:
            cases[row] = Ill.ALL_HANDLED
        else:
            seen = np.flatnonzero(np.isfinite(upper[row]))
            cases[row] = _agreeing_case(lower[row, seen], upper[row, seen])
    return cases


def _agreeing_case(lower: FloatArray, upper: FloatArray) -> Ill:
    if (lower == upper).all() and (lower == lower[0]).all():
        return Ill.IDENTICAL
    if (lower == lower[0]).all() and (upper == upper[0]).all():
        return Ill.ONE_STEP
    largest, smallest = float(lower.max()), float(upper.min())
    meet = math.isclose(largest, smallest, rel_tol=NARROWEST, abs_tol=1e-8)
    two_steps = meet and (lower < upper).all()
    return Ill.TWO_STEPS if two_steps else Ill.NO_SPREAD
