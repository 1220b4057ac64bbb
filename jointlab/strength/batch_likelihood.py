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

_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.hermite_e.hermegauss(5))
_STEPS_TO_MODE = 3


@dataclass(frozen=True, slots=True)
class BatchLikelihood:
    """Normal strengths with a normal shift per batch of ``ratio`` times the spread within, for many samples at once.

    Each batch of each sample is taken at five shifts around its likeliest one (adaptive Gauss-Hermite, exact where all
    strengths are); given the shift its pulls are independent.
    """

    single: Likelihood
    within: Likelihood
    ratio: float
    runs: int
    batches: int

    @classmethod
    def of(cls, samples: Samples, batch: IntArray, *, ratio: float) -> BatchLikelihood:
        """The samples, all with the same pulls in the same batches."""
        batches = int(batch.max(initial=0)) + 1
        member = (batch == np.arange(batches)[:, None]).astype(np.float64)
        single = Likelihood.of(_spread_out(samples, member, 1), STANDARD_NORMAL)
        within = Likelihood.of(_spread_out(samples, member, _NODES.size), STANDARD_NORMAL)
        return cls(single, within, ratio, samples.lower.shape[0], batches)

    def of_rows(self, rows: IntArray) -> Self:
        """The same for these samples only, in this order."""

        def inner(per_sample: int) -> IntArray:
            return np.asarray((rows[:, None] * per_sample + np.arange(per_sample)).ravel())

        single = self.single.of_rows(inner(self.batches))
        within = self.within.of_rows(inner(self.batches * _NODES.size))
        return type(self)(single, within, self.ratio, rows.size, self.batches)

    def sums(self, a: FloatArray, b: FloatArray) -> Sums:
        """Log-likelihood and derivatives at a = 1/spread within and b = location/spread, the shifts integrated out."""
        shape = (self.runs, self.batches, _NODES.size)
        mode, width = self._modes(a, b)
        shift = (mode[:, None] + width[:, None] * _NODES).reshape(shape)
        log_weight = np.log(_WEIGHTS) + 0.5 * _NODES**2 + np.log(width / self.ratio).reshape(shape[:2])[:, :, None]
        log_weight = log_weight - 0.5 * (shift / self.ratio) ** 2 - 0.5 * np.log(2.0 * np.pi)
        at = self.within.sums(np.repeat(a, shape[1] * shape[2]), (b[:, None, None] + shift).ravel())
        log = at.log.reshape(shape) + log_weight
        top = log.max(axis=2, keepdims=True)
        chance = np.exp(log - top)
        total = chance.sum(axis=2, keepdims=True)
        chance /= total
        slope_a, slope_b = at.a.reshape(shape), at.b.reshape(shape)
        mean_a, mean_b = (chance * slope_a).sum(axis=2), (chance * slope_b).sum(axis=2)

        def curve(second: FloatArray, one: FloatArray, other: FloatArray, means: FloatArray) -> FloatArray:
            return np.asarray(((chance * (second.reshape(shape) + one * other)).sum(axis=2) - means).sum(axis=1))

        return Sums(
            log=(top + np.log(total))[:, :, 0].sum(axis=1),
            a=mean_a.sum(axis=1),
            b=mean_b.sum(axis=1),
            aa=curve(at.aa, slope_a, slope_a, mean_a * mean_a),
            ab=curve(at.ab, slope_a, slope_b, mean_a * mean_b),
            bb=curve(at.bb, slope_b, slope_b, mean_b * mean_b),
        )

    def _modes(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Likeliest shift of every batch of every sample, and the width of its peak."""
        wide_a, wide_b = np.repeat(a, self.batches), np.repeat(b, self.batches)
        prior = 1.0 / self.ratio**2
        mode = np.zeros(wide_a.size)
        curvature = np.full(wide_a.size, prior)
        for _ in range(_STEPS_TO_MODE):
            at = self.single.sums(wide_a, wide_b + mode)
            curvature = prior - at.bb
            mode = mode + (at.b - prior * mode) / curvature
        return mode, 1.0 / np.sqrt(curvature)


def _spread_out(samples: Samples, member: FloatArray, nodes: int) -> Samples:
    """One row for each sample, batch and node: the pulls of that batch; the others weigh nothing."""
    runs, n = samples.lower.shape
    shape = (runs, member.shape[0], nodes, n)
    weight = np.broadcast_to((samples.weight[:, None, :] * member)[:, :, None, :], shape)
    lower = np.broadcast_to(samples.lower[:, None, None, :], shape)
    upper = np.broadcast_to(samples.upper[:, None, None, :], shape)
    return Samples(lower.reshape(-1, n), upper.reshape(-1, n), weight.reshape(-1, n))
