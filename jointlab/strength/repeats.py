"""Samples that repeat each other, and strengths that do within a sample, counted once: load steps make many of them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from jointlab.strength.likelihood import Samples

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "mechanics"

_WORTH_IT = 0.9  # share of different samples above which the rest are as quickly solved again
_MANY_HELD = 0.1  # share of held pulls from which it pays to count those at one load as one
_MIX = (0.7548776662466927, 0.5698402909980532)  # two numbers without a simple ratio: different ends, different keys


def distinct(samples: Samples) -> tuple[Samples, IntArray]:
    """The different ones among the samples, whatever the order of their strengths, and which of them each one is.

    Equal strengths are one with their weights added. Only load steps repeat; samples without any come back as they are.
    """
    if not _stepped(samples):
        return samples, np.arange(len(samples.lower))
    key = _keys(samples)
    order = np.argsort(key, axis=1)
    weight = np.take_along_axis(samples.weight, order, axis=1)
    marks = _marks(np.take_along_axis(key, order, axis=1) * weight)
    _, first, which = np.unique(marks, return_index=True, return_inverse=True)
    if first.size > _WORTH_IT * marks.size:
        return samples, np.arange(marks.size)
    lower, upper = (np.take_along_axis(part, order, axis=1) for part in (samples.lower, samples.upper))
    ordered = Samples(lower, upper, weight)
    same = all(
        np.array_equal(part[first][which], part) for part in (ordered.lower, ordered.upper, ordered.weight)
    )  # two samples of one mark by chance: then nothing is gained
    return (_merged(_rows(ordered, first)), which.astype(np.int64)) if same else (samples, np.arange(marks.size))


def tied_within(samples: Samples, batch: IntArray) -> Samples:
    """The samples with equal strengths of one glue-up as one of their weights; the others of them weigh nothing.

    Load steps make strengths equal, and a rig that holds them all at one load.
    """
    if not _stepped(samples) and np.count_nonzero(np.isposinf(samples.upper)) < _MANY_HELD * samples.upper.size:
        return samples
    lower, upper, weight = samples.lower.copy(), samples.upper.copy(), samples.weight.copy()
    key = _keys(samples)
    for number in np.unique(batch):
        own = np.flatnonzero(batch == number)
        order = own[np.argsort(key[:, own], axis=1)]
        low, high, heavy = (np.take_along_axis(part, order, axis=1) for part in (lower, upper, weight))
        merged = _merged(Samples(low, high, heavy))
        lower[:, own], upper[:, own], weight[:, own] = merged.lower, merged.upper, merged.weight
    return Samples(lower, upper, weight)


def _stepped(samples: Samples) -> bool:
    """Whether half of the strengths or more are intervals."""
    between = np.isfinite(samples.upper) & (samples.lower < samples.upper)
    return bool(2 * np.count_nonzero(between) >= between.size)


def _keys(samples: Samples) -> FloatArray:
    lower = np.where(np.isfinite(samples.lower), samples.lower, -1e6)
    upper = np.where(np.isfinite(samples.upper), samples.upper, 1e6)
    return np.asarray(_MIX[0] * lower + _MIX[1] * upper)


def _rows(samples: Samples, rows: IntArray) -> Samples:
    return Samples(samples.lower[rows], samples.upper[rows], samples.weight[rows])


def _marks(key: FloatArray) -> npt.NDArray[np.uint64]:
    """One whole number a row, the same for equal rows: sums of floats would differ in their last digits."""
    odd = np.random.default_rng(key.shape[1]).integers(1, 2**63, key.shape[1], dtype=np.uint64) * np.uint64(2)
    return np.asarray((np.ascontiguousarray(key).view(np.uint64) * (odd + np.uint64(1))).sum(axis=1))


def _merged(ordered: Samples) -> Samples:
    """Equal neighbours as one."""
    other = np.ones(ordered.lower.shape, np.bool_)
    for column in range(1, ordered.lower.shape[1]):
        other[:, column] = (ordered.lower[:, column] != ordered.lower[:, column - 1]) | (
            ordered.upper[:, column] != ordered.upper[:, column - 1]
        )
    starts = np.flatnonzero(other)
    weight = np.zeros(other.size)
    weight[starts] = np.add.reduceat(ordered.weight.ravel(), starts)
    return Samples(ordered.lower, ordered.upper, weight.reshape(other.shape))
