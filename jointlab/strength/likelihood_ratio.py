"""Calibrated bounds of censored samples: likelihood ratio, with its distribution simulated as the rig would censor.

The samples are drawn from the fit that has the percentile at the bound in question, so that the answer is right where
it is asked. Seeds come from n and the kinds of censoring, never from the strengths.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength.fitting import intervals
from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.known_ratio import centres_and_spreads
from jointlab.strength.likelihood import Samples
from jointlab.strength.noncentral_t import noncentral_t_quantile
from jointlab.strength.quadrature import rising_root
from jointlab.strength.replay import Replay
from jointlab.strength.sample import StrengthSample
from jointlab.strength.signed_root import Model, Tops, signed_roots, tops_of

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "constrained_bootstrap"

REPLICATES = 2_000
"""Simulated samples of a bound (source key judgement)."""

PREVIEW_REPLICATES = 400
"""Simulated samples of a quick look, to be marked as one (source key judgement)."""

_FEWEST = 3  # pulls; from two, a bound would lie beyond all measure
_MOST_ROUNDS = 6
_SETTLED = 2e-3  # change of the quantile at which the search ends
_OF_SCATTER = 0.4  # and the share of its Monte Carlo scatter at which it ends, too: more rounds would chase noise
_FARTHEST = 1e4  # spreads away from the middle at which the search for a bound ends
_NEIGHBOURHOOD = 0.01


@dataclass(frozen=True, slots=True)
class CalibratedBound:
    """A bound [MPa] and the standard deviation that the simulation leaves in it [MPa]."""

    bound_mpa: float
    monte_carlo_sd_mpa: float


@dataclass(frozen=True, slots=True)
class _Observed:
    """The sample on the model's scale, moved and shrunk to location 0 and spread 1, nearly."""

    model: Model
    samples: Samples
    batch: IntArray
    centre: float
    spread: float
    share: float
    tops: Tops

    def root_at(self, point: float) -> tuple[float, float]:
        """Signed root at a percentile, and the spread that belongs to it."""
        at = signed_roots(self.samples, self.batch, self.model, self.tops, point=point, share=self.share)
        return float(at.root[0]), 1.0 / float(at.a[0])

    def point_near(self, root: float, point: float) -> float:
        """Percentile whose signed root is ``root``, looked for around ``point`` first."""
        return rising_root(lambda there: root - self.root_at(there)[0], point - 0.1, point + 0.1, near=1e-7)

    def point_of(self, root: float) -> float | None:
        """Percentile whose signed root is ``root``; None when it lies beyond all measure."""
        if not self.reaches(root):
            return None
        return rising_root(lambda point: root - self.root_at(point)[0], -3.0, 0.0, near=1e-4)

    def reaches(self, root: float) -> bool:
        """Whether some percentile within all measure has this signed root."""
        return self.root_at(-_FARTHEST)[0] > root > self.root_at(_FARTHEST)[0]


def calibrated_bound(
    sample: StrengthSample, model: Model, *, coverage: float, confidence: float, replicates: int = REPLICATES
) -> CalibratedBound | None:
    """Bound on the (1 - coverage) percentile, below it with probability ``confidence``; None where there is none.

    With ``confidence`` below one half it is an upper bound. Source key ``constrained_bootstrap``: the signed root of
    the likelihood ratio at the bound is its own ``confidence`` quantile under the fit with the percentile held there.
    """
    if sample.n < _FEWEST or sample.held.all():
        return None
    replay = Replay.of(sample)
    observed = _observed(sample, model, coverage)
    if math.isinf(observed.tops.height[0]):
        return None
    seed = np.random.SeedSequence((sample.n, *replay.pattern))
    standard = model.draws(np.random.default_rng(seed), replay.batch, replicates)
    point = observed.point_of(1.645 if confidence > 0.5 else -1.645)
    if point is None:
        return None
    # A few of the draws find the neighbourhood; all of them then say where in it.
    near = _settled(observed, replay, standard[:PREVIEW_REPLICATES], confidence, _Round(point, math.inf, None))
    if near is not None and replicates > PREVIEW_REPLICATES:
        near = _settled(observed, replay, standard, confidence, near)
    if near is None or near.quantile is None:
        return None
    return _finished(observed, near.point, near.quantile)


@dataclass(frozen=True, slots=True)
class _Round:
    """Where the search stands: the percentile, the level it was found from, and how well that is known."""

    point: float
    level: float
    quantile: _Quantile | None


def _settled(
    observed: _Observed, replay: Replay, standard: FloatArray, confidence: float, start: _Round
) -> _Round | None:
    """The search carried on with these draws until it changes no more; None where no percentile answers."""
    now = start
    for _ in range(_MOST_ROUNDS):
        quantile = _simulated(observed, replay, standard, now.point, confidence)
        if not math.isfinite(quantile.level) or not observed.reaches(quantile.level):
            return None
        change = abs(quantile.level - now.level)
        now = _Round(observed.point_near(quantile.level, now.point), quantile.level, quantile)
        if change < max(_SETTLED, _OF_SCATTER * quantile.scatter):
            break
    return now


def _observed(sample: StrengthSample, model: Model, coverage: float) -> _Observed:
    lower, upper = intervals(sample)
    order = np.lexsort((sample.batch, upper, lower))
    with np.errstate(divide="ignore"):
        low = model.scaled(np.where((lower == 0.0) & (upper > 0.0), -np.inf, lower)[order])
    high = model.scaled(upper[order])
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)]])
    centre, spread = float(np.median(ends)), float(np.ptp(ends)) / 3.0 or 1e-3 * abs(float(ends[0])) or 1.0
    weight = np.ones((1, sample.n))
    framed = Samples(((low - centre) / spread)[None], ((high - centre) / spread)[None], weight)
    share, batch = model.percentile(coverage), sample.batch[order]
    tops = tops_of(framed, batch, model, share=share)
    return _Observed(model, framed, batch, centre, spread, share, tops)


@dataclass(frozen=True, slots=True)
class _Quantile:
    """Quantile of the simulated signed roots, and its Monte Carlo standard deviation."""

    level: float
    scatter: float


def _simulated(observed: _Observed, replay: Replay, standard: FloatArray, point: float, confidence: float) -> _Quantile:
    """The quantile of the signed roots of samples whose percentile is ``point``, censored as the rig would."""
    spread = observed.root_at(point)[1]
    location = point - observed.share * spread
    model = observed.model

    def to_scale(standardised: FloatArray) -> FloatArray:
        return observed.centre + observed.spread * (location + spread * standardised)

    def to_standard(scaled: FloatArray) -> FloatArray:
        return ((scaled - observed.centre) / observed.spread - location) / spread

    lower, upper = replay.recorded(model.strength(to_scale(standard)))
    samples = Samples(to_standard(model.scaled(lower)), to_standard(model.scaled(upper)), np.ones_like(lower))
    tops = tops_of(samples, replay.batch, model, share=observed.share)
    roots = signed_roots(samples, replay.batch, model, tops, point=observed.share, share=observed.share).root
    return _quantile_of(roots, _complete_covers(model, standard, replay.batch, observed.share, confidence), confidence)


def _complete_covers(
    model: Model, standard: FloatArray, batch: IntArray, share: float, confidence: float
) -> npt.NDArray[np.bool_] | None:
    """Whether each simulated sample, seen complete, would be covered: its chance is exactly ``confidence``.

    What censoring leaves of this known chance steadies the simulated quantile; None where no closed form is known.
    """
    if model.kernel is not STANDARD_NORMAL:
        return None
    centres, spreads, total = centres_and_spreads(standard, batch, ratio=model.ratio)
    z = -share / math.sqrt(1.0 + model.ratio**2)
    offset = z * math.sqrt((1.0 + model.ratio**2) * total)
    k = noncentral_t_quantile(confidence, degrees=batch.size - 1, offset=offset) / math.sqrt(total)
    return np.asarray(centres - k * spreads <= share)


def _quantile_of(roots: FloatArray, known: npt.NDArray[np.bool_] | None, confidence: float) -> _Quantile:
    """The quantile of the roots, by the regression of their coverage on the coverage that is known exactly."""
    crude = np.quantile(roots, confidence, method="higher")
    chance, left_over = confidence, 1.0
    if known is not None and 0.0 < known.mean() < 1.0:
        below = roots <= crude
        slope = float(((below - below.mean()) * (known - known.mean())).mean() / known.var())
        chance = min(
            max(confidence + slope * (float(known.mean()) - confidence), 0.5 * confidence), _highest(confidence)
        )
        left_over = max(1.0 - slope * slope * float(known.var()) / max(float(below.var()), 1e-12), 0.0)
    away = min(_NEIGHBOURHOOD, 0.5 * confidence, 0.5 * (1.0 - confidence))
    low, level, high = np.quantile(roots, [max(chance - away, 0.0), chance, min(chance + away, 1.0)], method="higher")
    # A quantile at probability p scatters by sqrt(p (1 - p) / replicates) over the density there.
    scatter = math.sqrt(confidence * (1.0 - confidence) * left_over / roots.size) * float(high - low) / (2.0 * away)
    return _Quantile(float(level), scatter)


def _highest(confidence: float) -> float:
    return 0.5 * (1.0 + confidence)


def _finished(observed: _Observed, point: float, quantile: _Quantile) -> CalibratedBound:
    """The bound, and what the scatter of the quantile moves it by."""
    step = 0.02
    slope = (observed.root_at(point + step)[0] - observed.root_at(point - step)[0]) / (2.0 * step)
    ends = np.array([point, point + quantile.scatter / slope if slope else point])
    bound, moved = observed.model.strength(observed.centre + observed.spread * ends)
    return CalibratedBound(float(bound), abs(float(moved - bound)))
