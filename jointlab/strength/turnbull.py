"""Strengths without a family: Turnbull's estimate, which is Kaplan and Meier's where nothing broke in between.

Sources: "turnbull_1974" and "kaplan_meier_1958".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jointlab.strength.sample import FloatArray, StrengthSample

TOLERANCE = 1e-12
MOST_STEPS = 100_000

# An end of an interval sorts by its place, then by whether it lies just before, at, or just after that place.
_BEFORE, _AT, _AFTER = 0, 1, 2


@dataclass(frozen=True, slots=True)
class StepDistribution:
    """Where the probability of breaking lies, and how much: mass on (lower, upper], or at one stress.

    Parameters
    ----------
    lower_mpa, upper_mpa
        Shape (m,), in ascending order; equal for a mass at one stress; an infinite upper end where the strongest held.
    mass
        Shape (m,), summing to 1.
    """

    lower_mpa: FloatArray
    upper_mpa: FloatArray
    mass: FloatArray


def step_distribution_of(sample: StrengthSample) -> StepDistribution:
    """Nonparametric maximum likelihood of a sample with any censoring.

    Mass can lie only on the innermost intervals, each from some pull's lower end to the next upper end; it is found by
    self-consistency (Turnbull 1974, eq. 2.2).
    """
    lower_key = np.stack([sample.lower_mpa, np.where(sample.exact, _BEFORE, _AFTER)], axis=1)
    upper_key = np.stack([sample.upper_mpa, np.full(sample.n, _AT)], axis=1)
    starts, ends = _innermost(lower_key, upper_key)
    holds = _not_after(lower_key[:, None, :], starts[None, :, :]) & _not_after(ends[None, :, :], upper_key[:, None, :])
    mass = _self_consistent(holds.astype(np.float64))
    lower = np.where(starts[:, 1] == _BEFORE, ends[:, 0], starts[:, 0])
    return StepDistribution(lower_mpa=lower, upper_mpa=ends[:, 0], mass=mass)


def _not_after(one: FloatArray, other: FloatArray) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    earlier = np.less(one[..., 0], other[..., 0])
    level = np.equal(one[..., 0], other[..., 0]) & np.less_equal(one[..., 1], other[..., 1])
    return np.asarray(earlier | level, dtype=np.bool_)


def _innermost(lower_key: FloatArray, upper_key: FloatArray) -> tuple[FloatArray, FloatArray]:
    keys = np.concatenate([lower_key, upper_key])
    is_upper = np.repeat([False, True], [len(lower_key), len(upper_key)])
    order = np.lexsort((is_upper, keys[:, 1], keys[:, 0]))
    keys, is_upper = keys[order], is_upper[order]
    closes = np.flatnonzero(~is_upper[:-1] & is_upper[1:])
    return keys[closes], keys[closes + 1]


def _self_consistent(holds: FloatArray) -> FloatArray:
    mass = np.full(holds.shape[1], 1.0 / holds.shape[1])
    for _ in range(MOST_STEPS):
        share = holds * mass
        updated = (share / share.sum(axis=1, keepdims=True)).mean(axis=0)
        if np.abs(updated - mass).max() < TOLERANCE:
            return np.asarray(updated)
        mass = updated
    return mass


def plotting_positions(sample: StrengthSample) -> tuple[float | None, ...]:
    """Estimated share of joints weaker than each pull, for its place on a probability plot; None for one that held.

    The middle of the estimate's step at that pull: (i - 1/2)/n for a complete sample without ties (Hazen).
    """
    steps = step_distribution_of(sample)
    total = np.cumsum(steps.mass)
    positions: list[float | None] = []
    for lower, upper, held in zip(sample.lower_mpa, sample.upper_mpa, sample.held, strict=True):
        if held:
            positions.append(None)
            continue
        exact = lower == upper
        before = steps.upper_mpa < lower if exact else steps.upper_mpa <= lower
        below = float(steps.mass[before].sum())
        within = float(total[steps.upper_mpa <= upper].max(initial=0.0))
        positions.append((below + within) / 2.0)
    return tuple(positions)
