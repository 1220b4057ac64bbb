"""Likelihood of strengths in glue-ups whose means differ: each batch's shift is integrated out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.likelihood import Likelihood, Samples, Sums

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "lawless"

NODES = 4
"""Shifts at which each batch is taken (source key judgement)."""

_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.hermite_e.hermegauss(NODES))
_BEYOND = 0.7  # how far, in spreads, a strength that held is taken to lie beyond its load where the search starts


@dataclass(frozen=True, slots=True)
class BatchLikelihood:
    """Normal strengths with a normal shift per batch of ``ratio`` times the spread within, for many samples at once.

    Each batch of each sample is taken at four shifts around its likeliest one (adaptive Gauss-Hermite, exact where all
    strengths are); given the shift its pulls are independent. ``single`` has one row for each batch of each sample.
    """

    single: Likelihood
    places: Places
    ratio: float
    runs: int
    batches: int

    @classmethod
    def of(cls, samples: Samples, batch: IntArray, *, ratio: float) -> BatchLikelihood:
        """The samples, all with the same pulls in the same batches."""
        batches = int(batch.max(initial=0)) + 1
        member = (batch == np.arange(batches)[:, None]).astype(np.float64)
        apart = _apart(samples, member)
        single = Likelihood.of(apart, STANDARD_NORMAL)
        return cls(single, Places.of(apart), ratio, samples.lower.shape[0], batches)

    def of_rows(self, rows: IntArray) -> Self:
        """The same for these samples only, in this order."""
        inner = np.asarray((rows[:, None] * self.batches + np.arange(self.batches)).ravel())
        return type(self)(self.single.of_rows(inner), self.places.of_rows(inner), self.ratio, rows.size, self.batches)

    def sums(self, a: FloatArray, b: FloatArray) -> Sums:
        """Log-likelihood and derivatives at a = 1/spread within and b = location/spread, the shifts integrated out."""
        nodes, shape = _NODES[:, None], (_NODES.size, self.runs, self.batches)
        wide_a, wide_b = np.repeat(a, self.batches), np.repeat(b, self.batches)
        mode, width = self._modes(wide_a, wide_b)
        shift = mode + width * nodes
        log_weight = np.log(_WEIGHTS)[:, None] + 0.5 * nodes * nodes + np.log(width / self.ratio)
        log_weight = log_weight - 0.5 * (shift / self.ratio) ** 2 - 0.5 * np.log(2.0 * np.pi)
        at = self.single.repeated(_NODES.size).sums(np.tile(wide_a, _NODES.size), (wide_b + shift).ravel())
        log = (at.log + log_weight.ravel()).reshape(shape)
        top = log.max(axis=0)
        chance = np.exp(log - top)
        total = chance.sum(axis=0)
        chance /= total
        slope_a, slope_b = at.a.reshape(shape), at.b.reshape(shape)
        mean_a, mean_b = (chance * slope_a).sum(axis=0), (chance * slope_b).sum(axis=0)

        def curve(second: FloatArray, one: FloatArray, other: FloatArray, means: FloatArray) -> FloatArray:
            return np.asarray(((chance * (second.reshape(shape) + one * other)).sum(axis=0) - means).sum(axis=1))

        return Sums(
            log=(top + np.log(total)).sum(axis=1),
            a=mean_a.sum(axis=1),
            b=mean_b.sum(axis=1),
            aa=curve(at.aa, slope_a, slope_a, mean_a * mean_a),
            ab=curve(at.ab, slope_a, slope_b, mean_a * mean_b),
            bb=curve(at.bb, slope_b, slope_b, mean_b * mean_b),
        )

    def _modes(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Likeliest shift of every batch of every sample, nearly, and the width of its peak.

        The start is exact where all strengths are; one step mends what intervals change, two what held pulls do.
        """
        prior = 1.0 / self.ratio**2
        mode = self.places.shifts(a, b, prior)
        curvature = np.full(a.size, prior)
        for _ in range(2 if self.single.right.x.size or self.single.left.x.size else 1):
            at = self.single.sums(a, b + mode)
            curvature = prior - at.bb
            mode = mode + (at.b - prior * mode) / curvature
        return mode, 1.0 / np.sqrt(curvature)


@dataclass(frozen=True, slots=True)
class Places:
    """Where the strengths of each batch lie, roughly: their number, the sum of their places, and how many held."""

    number: FloatArray
    total: FloatArray
    held: FloatArray

    @classmethod
    def of(cls, samples: Samples) -> Places:
        """The middles of intervals, the loads of pulls that held."""
        seen_low, seen_high = np.isfinite(samples.lower), np.isfinite(samples.upper)
        low, high = np.where(seen_low, samples.lower, 0.0), np.where(seen_high, samples.upper, 0.0)
        ends = seen_low.astype(np.float64) + seen_high
        place = (low + high) / np.maximum(ends, 1.0)
        weight = samples.weight * (ends > 0.0)
        held = (weight * (~seen_high * 1.0 - ~seen_low * 1.0)).sum(axis=1)
        return cls(weight.sum(axis=1), (weight * place).sum(axis=1), held)

    def of_rows(self, rows: IntArray) -> Places:
        """Only of these batches."""
        return Places(self.number[rows], self.total[rows], self.held[rows])

    def shifts(self, a: FloatArray, b: FloatArray, prior: float) -> FloatArray:
        """Likeliest shift if the strengths were exact at these places."""
        return np.asarray((a * self.total + _BEYOND * self.held - b * self.number) / (prior + self.number))


def _apart(samples: Samples, member: FloatArray) -> Samples:
    """One row for each sample and batch: the pulls of that batch; the others weigh nothing."""
    runs, n = samples.lower.shape
    shape = (runs, member.shape[0], n)
    weight = samples.weight[:, None, :] * member
    lower = np.broadcast_to(samples.lower[:, None, :], shape)
    upper = np.broadcast_to(samples.upper[:, None, :], shape)
    return Samples(lower.reshape(-1, n), upper.reshape(-1, n), weight.reshape(-1, n))
