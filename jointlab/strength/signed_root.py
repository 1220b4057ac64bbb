"""Signed root of the likelihood ratio at a percentile, of many censored samples at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength import normal
from jointlab.strength.batch_likelihood import NODES, BatchLikelihood
from jointlab.strength.fitting import ON_LOGS, kernel_of
from jointlab.strength.kernels import STANDARD_NORMAL, Kernel
from jointlab.strength.likelihood import Ill, Likelihood, Samples, ill_cases
from jointlab.strength.maximum import Hill, blocks_of, climb, step_in_a
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "lawless"

_SLACK = 2e-3  # noise of the integral over a batch's shift, in the height: less than 1e-3 of a root near 1.6
_SWIFT = 8  # exact strengths that are sorted as quickly as one of the others is worked on
_NEAR = 3e-6  # twice the height still to climb: the last full step leaves about a thousandth of it


@dataclass(frozen=True, slots=True)
class Model:
    """Strength on a scale where it has a location and a spread; with a ``ratio`` the batches' means differ.

    ``power`` 0 is the logarithm, 1 the strength itself, 0.5 its square root (a negative root keeps its sign).
    """

    kernel: Kernel
    power: float
    ratio: float = 0.0

    @classmethod
    def of(cls, family: Family) -> Model:
        """The model of a family, all pulls independent."""
        return cls(kernel_of(family), 0.0 if family in ON_LOGS else 1.0)

    def scaled(self, strength_mpa: FloatArray) -> FloatArray:
        """Strengths on the model's scale; infinite ends stay infinite."""
        with np.errstate(divide="ignore", invalid="ignore"):
            if self.power == 0.0:
                return np.log(np.maximum(strength_mpa, 0.0))
            return np.asarray(np.sign(strength_mpa) * np.abs(strength_mpa) ** self.power)

    def strength(self, scaled: FloatArray) -> FloatArray:
        """Strengths [MPa] from the model's scale."""
        if self.power == 0.0:
            return np.exp(np.minimum(scaled, 690.0))
        return np.asarray(np.sign(scaled) * np.abs(scaled) ** (1.0 / self.power))

    def percentile(self, coverage: float) -> float:
        """The (1 - coverage) percentile in units of the spread within, from the location."""
        if self.kernel is STANDARD_NORMAL:
            return -normal.quantile(coverage) * math.sqrt(1.0 + self.ratio**2)
        return math.log(-math.log(coverage))

    def draws(self, rng: np.random.Generator, batch: IntArray, runs: int) -> FloatArray:
        """Standard strengths of simulated pulls, shape (runs, n)."""
        shape = (runs, batch.size)
        if self.kernel is not STANDARD_NORMAL:
            return np.log(rng.standard_exponential(shape))
        within = rng.standard_normal(shape)
        if self.ratio == 0.0:
            return within
        between = rng.standard_normal((runs, int(batch.max()) + 1))
        return np.asarray(within + self.ratio * between[:, batch])

    def hill(self, samples: Samples, batch: IntArray) -> Hill:
        """The log-likelihood of the samples."""
        if self.ratio == 0.0:
            return Likelihood.of(samples, self.kernel)
        return BatchLikelihood.of(samples, batch, ratio=self.ratio)

    @property
    def slack(self) -> float:
        """Noise of the log-likelihood."""
        return 0.0 if self.ratio == 0.0 else _SLACK

    def entries(self, samples: Samples) -> int:
        """How many strengths a sample puts before the processor: exact normal ones only by their moments."""
        runs, n = len(samples.lower), int(samples.lower.shape[1])
        if self.kernel is STANDARD_NORMAL:
            inexact = int(np.count_nonzero((samples.weight > 0.0) & (samples.lower != samples.upper)))
            n = max(inexact // max(runs, 1), n // _SWIFT, 1)
        return n if self.ratio == 0.0 else NODES * n


@dataclass(frozen=True, slots=True)
class SignedRoots:
    """``root``: positive where a sample puts the percentile above the point; ``a`` = 1/spread under the constraint."""

    root: FloatArray
    a: FloatArray


@dataclass(frozen=True, slots=True)
class Tops:
    """Largest log-likelihood of each sample, or its supremum, and the percentiles where it lies: from low to high."""

    height: FloatArray
    low: FloatArray
    high: FloatArray


def tops_of(samples: Samples, batch: IntArray, model: Model, *, share: float) -> Tops:
    """Tops of samples of location 0 and spread 1, nearly; ``share`` is the percentile of the standard model."""
    ill = ill_cases(samples)
    tops = Tops(*(np.zeros(len(ill)) for _ in range(3)))
    well = np.array([row for row, case in enumerate(ill) if case is None], dtype=np.int64)
    for good in blocks_of(well, model.entries(samples)):
        a, b = np.ones(good.size), np.zeros(good.size)
        a, b, tops.height[good] = climb(model.hill(_rows(samples, good), batch), a, b, near=_NEAR, slack=model.slack)
        tops.low[good] = tops.high[good] = (b + share) / a
    for row, case in enumerate(ill):
        if case is not None:
            tops.height[row], tops.low[row], tops.high[row] = _supremum(_rows(samples, row), case)
    return tops


def coarsened(samples: Samples) -> Samples:
    """The samples, an exact strength taken as the load step around it where all others agree with it.

    Its density would make such a sample endlessly likely, though it shows no spread: for its root it counts as if it
    had been read in steps like the others.
    """
    present = samples.weight > 0.0
    exact = present & (samples.lower == samples.upper)
    between = present & ~exact
    low = np.where(between, samples.lower, -np.inf).max(axis=1, keepdims=True)
    high = np.where(between, samples.upper, np.inf).min(axis=1, keepdims=True)
    inside = ((samples.lower >= low) & (samples.upper <= high) & np.isfinite(high)) | ~exact
    agree = exact.any(axis=1, keepdims=True) & inside.all(axis=1, keepdims=True)
    same = np.where(exact, samples.lower, -np.inf).max(axis=1) == np.where(exact, samples.upper, np.inf).min(axis=1)
    chosen = exact & agree & same[:, None]
    if not chosen.any():
        return samples
    return Samples(np.where(chosen, low, samples.lower), np.where(chosen, high, samples.upper), samples.weight)


def signed_roots(
    samples: Samples, batch: IntArray, model: Model, tops: Tops, *, point: float | FloatArray, share: float
) -> SignedRoots:
    """Signed root of the likelihood ratio at percentile = ``point`` for samples of location 0 and spread 1, nearly.

    ``point`` is one for all samples, or one for each.
    """
    runs = samples.lower.shape[0]
    column = np.reshape(point, (-1, 1))
    moved = Samples(samples.lower - column, samples.upper - column, samples.weight)
    a = np.ones(runs) / np.maximum(1.0, 0.5 * np.abs(point))
    b, constrained = np.full(runs, -share), np.zeros(runs)
    for rows in blocks_of(np.arange(runs), model.entries(samples)):
        hill = model.hill(_rows(moved, rows), batch)
        a[rows], _, constrained[rows] = climb(hill, a[rows], b[rows], near=_NEAR, slack=model.slack, newton=step_in_a)
    gap = np.maximum(tops.height - np.where(np.isnan(constrained), -np.inf, constrained), 0.0)
    sign = np.where(point < tops.low, 1.0, np.where(point > tops.high, -1.0, 0.0))
    return SignedRoots(np.where(sign == 0.0, 0.0, np.copysign(np.sqrt(2.0 * gap), sign)), a)


def _rows(samples: Samples, rows: IntArray | int) -> Samples:
    return Samples(samples.lower[rows], samples.upper[rows], samples.weight[rows])


def _supremum(sample: Samples, case: Ill) -> tuple[float, float, float]:
    """Supremum of the log-likelihood of a sample without maximum, and the percentiles it leaves open."""
    if case is Ill.NO_BREAK:
        return 0.0, math.inf, math.inf
    if case is Ill.ALL_HANDLED:
        return 0.0, -math.inf, -math.inf
    present = sample.weight > 0.0
    lower, upper, weight = sample.lower[present], sample.upper[present], sample.weight[present]
    largest, smallest = float(lower.max()), float(upper.min())
    if case is Ill.IDENTICAL:
        return math.inf, largest, smallest
    if smallest - largest > 1e-9 * (abs(largest) + abs(smallest)):
        return 0.0, largest, smallest
    near = 1e-9 * (abs(largest) + abs(smallest))
    at_end, at_start = float(weight[upper <= smallest + near].sum()), float(weight[lower >= largest - near].sum())
    total = at_end + at_start
    return sum(count * math.log(count / total) for count in (at_end, at_start) if count), largest, smallest
