"""Whether further pulls, recorded by the rig as it records, bring the working bound to what a mount needs."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from jointlab.strength import hanson_koopmans
from jointlab.strength.hanson_koopmans import SECOND
from jointlab.strength.known_ratio import centres_and_spreads, ratio_factor
from jointlab.strength.likelihood import Samples
from jointlab.strength.order_statistic import lower_ends
from jointlab.strength.replay import Replay
from jointlab.strength.sample import FloatArray, IntArray, StrengthSample
from jointlab.strength.signed_root import coarsened, signed_roots, tops_of
from jointlab.strength.working import MOST_HELD, ON_LOGS, stretch_of
from jointlab.verdict.simulated import working_bounds

SOURCE = "judgement"

MOST_ROOTS = 300
"""Futures whose likelihood is looked at for one offer; of the others only what the extremes say (``SOURCE``)."""


def share_settled(
    sample: StrengthSample,
    new_mpa: FloatArray,
    new_batch: IntArray,
    *,
    needed_mpa: float,
    coverage: float,
    confidence: float,
) -> float:
    """Share of futures in which the bound of all pulls together reaches ``needed_mpa``.

    Parameters
    ----------
    sample
        The pulls at hand [MPa]; where some held, or were read in steps, the further ones are recorded likewise.
    new_mpa
        True strengths of further pulls, shape (futures, pulls).
    new_batch
        Their glue-ups, numbered from 0: none of those at hand.
    needed_mpa
        Bound that settles the mount.
    coverage, confidence
        Of the bound.
    """
    batch: IntArray = np.concatenate([sample.batch, sample.batches + new_batch])
    level = {"coverage": coverage, "confidence": confidence}
    if sample.complete:
        seen = np.broadcast_to(sample.lower_mpa, (len(new_mpa), sample.n))
        bounds = working_bounds(np.concatenate([seen, new_mpa], axis=1), batch, **level)
        return float((bounds >= needed_mpa).mean())
    lower, upper, ends = _recorded(sample, new_mpa)
    reaches = _extremes_reach(ends, upper, needed_mpa=needed_mpa, stretch=stretch_of(batch), **level)
    reaches &= np.isinf(upper).sum(axis=1) <= MOST_HELD * batch.size
    chosen = np.flatnonzero(reaches)[:MOST_ROOTS]
    if not chosen.size:
        return 0.0
    likely = _likelihood_reaches(lower[chosen], upper[chosen], batch, needed_mpa=needed_mpa, **level)
    return float(reaches.mean() * likely.mean())


def _recorded(sample: StrengthSample, new_mpa: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Lower and upper ends of all pulls of each future, and what each joint held at least; shape (futures, n).

    Each further pull meets the limit and the steps of one of those at hand, in turn.
    """
    replay = Replay.of(sample)
    turn = np.arange(new_mpa.shape[1]) % sample.n
    later = Replay(
        replay.cap_mpa[turn],
        replay.step_mpa[turn],
        replay.origin_mpa[turn],
        replay.least_mpa[turn],
        turn.astype(np.int64),
    )
    low, high = later.recorded(new_mpa)
    least = np.where(later.step_mpa > 0.0, np.minimum(later.step_mpa, high), 0.0)
    parts = (
        (np.where(sample.lower_mpa == 0.0, -np.inf, sample.lower_mpa), low),
        (sample.upper_mpa, high),
        (lower_ends(sample), np.where(np.isneginf(low), least, low)),
    )
    lower, upper, ends = (
        np.concatenate([np.broadcast_to(seen, (len(new_mpa), sample.n)), new], axis=1) for seen, new in parts
    )
    return lower, upper, ends


def _extremes_reach(
    ends: FloatArray, upper: FloatArray, *, needed_mpa: float, stretch: float, coverage: float, confidence: float
) -> npt.NDArray[np.bool_]:
    """Whether the Hanson-Koopmans part of the rule reaches what is needed, in each future."""
    futures, n = upper.shape
    held = np.isinf(upper)
    lowest_held = np.where(held, ends, np.inf).min(axis=1, keepdims=True)
    breaks = np.sort(np.where(~held & (upper <= lowest_held), upper, np.inf), axis=1)
    j = np.isfinite(breaks).sum(axis=1)
    reaches = np.zeros(futures, bool)
    with np.errstate(divide="ignore"):
        first, needed = np.log(ends.min(axis=1)), math.log(needed_mpa)
    for number in range(2, n + 1):
        rows = np.flatnonzero((j == number) & np.isfinite(first))
        if not rows.size:
            continue

        def on(rank: int, of: IntArray = rows) -> FloatArray:
            k = stretch * hanson_koopmans.factor(n, rank, coverage=coverage, confidence=confidence)
            at = np.log(breaks[of, rank - 1])
            return np.asarray(at + k * (first[of] - at))

        bound = on(number) if number < 3 else (1.0 - SECOND) * on(number) + SECOND * on(number - 1)
        reaches[rows] = bound >= needed
    return reaches


def _likelihood_reaches(
    lower: FloatArray, upper: FloatArray, batch: IntArray, *, needed_mpa: float, coverage: float, confidence: float
) -> npt.NDArray[np.bool_]:
    """Whether the known-ratio part of the rule reaches what is needed, in each future.

    The bound lies above a point where the signed root there is above its own quantile. The quantile taken is that of
    pulls seen exactly, which has a closed form: how a rig censors moves it by a few hundredths.
    """
    share = ON_LOGS.percentile(coverage)
    with np.errstate(divide="ignore"):
        low, high = (np.where(end > 0.0, np.log(np.maximum(end, 1e-300)), -np.inf) for end in (lower, upper))
    seen = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)]])
    centre, spread = float(np.median(seen)), max(float(seen.std()), 1e-3)
    samples = coarsened(Samples((low - centre) / spread, (high - centre) / spread, np.ones_like(low)))
    tops = tops_of(samples, batch, ON_LOGS, share=share)
    point = (math.log(needed_mpa) - centre) / spread
    roots = signed_roots(samples, batch, ON_LOGS, tops, point=point, share=share).root
    return np.asarray(np.nan_to_num(roots, nan=-np.inf) >= _root_asked(batch, coverage, confidence))


def _root_asked(batch: IntArray, coverage: float, confidence: float) -> float:
    """Signed root at the bound of pulls seen exactly: one and the same whatever their strengths."""
    share, ratio = ON_LOGS.percentile(coverage), ON_LOGS.ratio
    any_sample = np.linspace(-1.5, 1.5, batch.size)[None]
    centres, spreads, total = centres_and_spreads(any_sample, batch, ratio=ratio)
    factor = ratio_factor(batch.size, total, ratio=ratio, coverage=coverage, confidence=confidence)
    samples = Samples(any_sample, any_sample, np.ones_like(any_sample))
    tops = tops_of(samples, batch, ON_LOGS, share=share)
    point = float(centres[0] - factor * spreads[0])
    return float(signed_roots(samples, batch, ON_LOGS, tops, point=point, share=share).root[0])
