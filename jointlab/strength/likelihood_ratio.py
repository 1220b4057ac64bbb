"""Calibrated bounds of censored samples: likelihood ratio, with its distribution simulated as the rig would censor.

The samples are drawn from the fit that has the percentile at the point in question, so that the answer is right where
it is asked. Points are taken where the signed root has certain values, rung by rung: the chance of a rung depends on
neither the confidence asked nor the bound found, so that one and the same ladder serves every confidence, and more of
it never raises a lower bound. Seeds come from n and the kinds of censoring, never from the strengths.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from jointlab.strength import normal
from jointlab.strength.fitting import intervals
from jointlab.strength.guessed_root import features_of, guessed_roots
from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.likelihood import Samples
from jointlab.strength.repeats import distinct, tied_within
from jointlab.strength.replay import Replay
from jointlab.strength.sample import StrengthSample
from jointlab.strength.signed_root import Model, Tops, coarsened, signed_roots, tops_of
from jointlab.strength.tilted import draws_towards

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "constrained_bootstrap"

REPLICATES = 8_000
"""Most simulated samples of a rung; fewer where the Monte Carlo error is small (source key judgement)."""

PREVIEW_REPLICATES = 800
"""The same of a quick look, to be marked as one (source key judgement)."""

SEARCH_REPLICATES = 500
"""Simulated samples of a rung that tell how many it takes (source key judgement)."""

_FEWEST = 3  # pulls; from two, a bound would lie beyond all measure
_FARTHEST = 1e4  # spreads away from the middle at which the search for a bound ends
_LOOKS, _MOST_LOOKS, _CLOSE = 9, 40, 0.25  # percentiles looked at together; extent of the last look, in spreads
_DRAWS_AT_ONCE = 200
_QUICK_SEARCH = 200
_MANY, _FEW_DRAWS = 60, 100  # pulls from which a bound is so near its limit that few samples tell how many it takes
LUMP = 1e-6
"""Roots nearer than this are of one and the same recorded sample (source key judgement)."""

_SPACING = 0.5  # of the rungs, in roots
_GUESSED, _GUESSED_BATCHES = 6, 24  # samples guessed for each one solved; those of several glue-ups take longer
_HANDFUL = 5  # pulls below which every sample is solved: they differ too much to be guessed
_MOST_DRAWN = 2_000_000  # strengths drawn at once
_BESIDE = (-0.15, 0.0, 0.15)  # roots beside the one asked about at which guesses are taken
_HIGHEST, _LOWEST = 20, -8  # rungs
_USUAL = 0.95  # confidence whose error says how many samples are drawn, whatever is asked
_AIM, _QUICK_AIM = 0.008, 0.024  # Monte Carlo error, as a share of the bound, at which no more draws are made


@dataclass(frozen=True, slots=True)
class CalibratedBound:
    """A bound [MPa] and the standard deviation that the simulation leaves in it [MPa]."""

    bound_mpa: float
    monte_carlo_sd_mpa: float

    @property
    def monte_carlo_error(self) -> float | None:
        """That standard deviation as a share of the bound; None for a bound of zero."""
        return self.monte_carlo_sd_mpa / abs(self.bound_mpa) if self.bound_mpa else None


@dataclass(frozen=True, slots=True)
class _Place:
    """A percentile, and the spread of the fit that has it there."""

    point: float
    spread: float


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

    def roots_at(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Signed root at each percentile, and the spread that belongs to it."""
        same = np.zeros(points.size, np.int64)
        samples = Samples(self.samples.lower[same], self.samples.upper[same], self.samples.weight[same])
        tops = Tops(self.tops.height[same], self.tops.low[same], self.tops.high[same])
        at = signed_roots(samples, self.batch, self.model, tops, point=points, share=self.share)
        return at.root, 1.0 / at.a

    def root_at(self, point: float) -> tuple[float, float]:
        """Signed root at a percentile, and the spread that belongs to it."""
        root, spread = self.roots_at(np.array([point]))
        return float(root[0]), float(spread[0])

    def point_of(self, root: float, low: float = -3.0, high: float = 0.0) -> _Place | None:
        """Percentile whose signed root is ``root``, between these or beyond; None where it lies beyond all measure."""
        for _ in range(_MOST_LOOKS):
            points = np.linspace(low, high, _LOOKS)
            roots, spreads = self.roots_at(points)
            if roots[0] < root:
                low, high = low - 4.0 * (high - low), float(points[1])
            elif roots[-1] > root:
                low, high = float(points[-2]), high + 4.0 * (high - low)
            elif high - low < _CLOSE:
                found = _crossing(points, roots, root)
                return _Place(found, float(np.interp(found, points, spreads)))
            else:
                place = min(max(int(np.argmax(roots < root)), 1), _LOOKS - 1)
                low, high = float(points[place - 1]), float(points[place])
            if max(-low, high) > _FARTHEST:
                return None
        return None


def _crossing(points: FloatArray, roots: FloatArray, root: float) -> float:
    """Where falling roots pass ``root``: a parabola through the three nearest, or a straight line where they stand."""
    place = min(max(int(np.argmax(roots < root)), 1), points.size - 1)
    near = slice(max(place - 2, 0), max(place - 2, 0) + 3)
    x, y = points[near], roots[near]
    if np.isfinite(y).all() and (np.diff(y) < 0.0).all():
        others = [[(root - y[j]) / (y[i] - y[j]) for j in range(3) if j != i] for i in range(3)]
        found = float(sum(x[i] * others[i][0] * others[i][1] for i in range(3)))
        if points[place - 1] <= found <= points[place]:
            return found
    before, after = roots[place - 1], roots[place]
    share = (before - root) / (before - after) if before > after else 0.5
    return float(points[place - 1] + share * (points[place] - points[place - 1]))


def calibrated_bound(
    sample: StrengthSample, model: Model, *, coverage: float, confidence: float, replicates: int = REPLICATES
) -> CalibratedBound | None:
    """Bound on the (1 - coverage) percentile, below it with probability ``confidence``; None where there is none.

    With ``confidence`` below one half it is an upper bound. Source key ``constrained_bootstrap``: the signed root of
    the likelihood ratio at the bound is its own ``confidence`` quantile under the fit with the percentile held there.
    No more than ``replicates`` samples are drawn at a point, fewer where a 95 % bound then has less than 1 % of Monte
    Carlo error (3 % in a quick look).
    """
    if sample.n < _FEWEST or sample.held.all():
        return None
    replay, observed = Replay.of(sample), _observed(sample, model, coverage)
    if math.isinf(observed.tops.height[0]):
        return None
    side = 1.0 if confidence >= 0.5 else -1.0
    search = SEARCH_REPLICATES if replicates > PREVIEW_REPLICATES else _QUICK_SEARCH
    first = min(search if sample.n < _MANY else _FEW_DRAWS, replicates)
    ladder = _Ladder(observed, replay, side, first)
    usual = ladder.bound_at(_USUAL)
    if usual is None:
        return ladder.bound_at(max(confidence, 1.0 - confidence))
    runs = first
    while (more := _needed(usual, runs, replicates)) > runs:
        runs, ladder = more, _Ladder(observed, replay, side, more)
        usual = ladder.bound_at(_USUAL) or usual
    return ladder.bound_at(max(confidence, 1.0 - confidence))


def _needed(bound: CalibratedBound, used: int, most: int) -> int:
    """How many samples bring the Monte Carlo error to its aim."""
    aim = (_AIM if most > PREVIEW_REPLICATES else _QUICK_AIM) * abs(bound.bound_mpa)
    error = bound.monte_carlo_sd_mpa / aim if aim else math.inf
    if error <= 1.0:
        return used
    return most if error > most else min(most, _DRAWS_AT_ONCE * math.ceil(used * error * error / _DRAWS_AT_ONCE))


@dataclass(frozen=True, slots=True)
class _Rung:
    """Chance, as a normal quantile, of a root as far out as the observed one at this rung's point, and its error."""

    level: float
    error: float


@dataclass(frozen=True, slots=True)
class _Ladder:
    """Points where the observed root is a multiple of the spacing, outward on one side, each simulated when asked."""

    observed: _Observed
    replay: Replay
    side: float
    runs: int
    known: dict[int, _Rung | None] = field(default_factory=dict)

    def bound_at(self, confidence: float) -> CalibratedBound | None:
        """The bound whose chance of so far a root is 1 - ``confidence``, between the rungs on either side of it."""
        target = -normal.quantile(confidence)
        step = min(math.floor(-target / _SPACING), _HIGHEST - 1)
        inner, outer = self.rung(step), self.rung(step + 1)
        while inner is not None and inner.level <= target and step > _LOWEST:
            step, inner, outer = step - 1, self.rung(step - 1), inner
        while inner is not None and outer is not None and outer.level > target:
            step, inner, outer = step + 1, outer, self.rung(step + 2)
        if inner is None or outer is None or inner.level <= target:
            return None
        gap = inner.level - outer.level
        share = (inner.level - target) / gap
        error = _SPACING * math.hypot((1.0 - share) * inner.error, share * outer.error) / gap
        return self._bound(self.side * _SPACING * (step + share), error)

    def rung(self, step: int) -> _Rung | None:
        """That rung; None where no percentile has such a root, or it lies beyond all measure."""
        if step not in self.known:
            self.known[step] = self._simulated(step) if step <= _HIGHEST else None
        return self.known[step]

    def _simulated(self, step: int) -> _Rung | None:
        observed, batch = self.observed, self.replay.batch
        root = self.side * _SPACING * step
        place = observed.point_of(root)
        if place is None:
            return None
        rng = np.random.default_rng((batch.size, *self.replay.pattern, step - _LOWEST))
        times = _GUESSED_BATCHES if observed.model.ratio and batch.size < _MANY else _GUESSED
        times = 1 if batch.size < _HANDFUL else times
        many = max(min(times * self.runs, _MOST_DRAWN // batch.size), self.runs)
        towards = root if step > 0 else 0.0
        draws = draws_towards(observed.model, rng, batch, runs=many, share=observed.share, root=towards)
        samples = _recorded(observed, self.replay, draws.standard, place)
        roots = _roots_of(observed.model, batch, _first(samples, self.runs), observed.share)
        features = features_of(samples, batch, observed.model, share=observed.share)
        guessed = self.side * (guessed_roots(features, roots, draws.weight, root=root) - root)
        # A search that did not end speaks against the bound.
        event = (self.side * (roots - root) >= -LUMP) | np.isnan(roots)
        chance, error = draws.chance_of(np.asarray(event), np.asarray(guessed[:, None] >= np.array(_BESIDE)))
        least = 1.0 / self.runs
        chance = min(max(chance, 0.01 * least), 1.0 - 0.01 * least)
        level = normal.quantile(chance)
        return _Rung(level, max(error, 0.1 * least) / math.exp(-0.5 * level * level - normal.LOG_ROOT_TWO_PI))

    def _bound(self, root: float, error: float) -> CalibratedBound | None:
        """The bound where the observed root is this, and what an error of the root moves it by."""
        observed = self.observed
        place = observed.point_of(root)
        if place is None:
            return None
        step = 0.02
        before, after = observed.roots_at(np.array([place.point - step, place.point + step]))[0]
        slope = float(after - before) / (2.0 * step)
        ends = np.array([place.point, place.point + error / slope if slope else place.point])
        bound, moved = observed.model.strength(observed.centre + observed.spread * ends)
        return CalibratedBound(float(bound), abs(float(moved - bound)))


def _observed(sample: StrengthSample, model: Model, coverage: float) -> _Observed:
    lower, upper = intervals(sample)
    order = np.lexsort((sample.batch, upper, lower))
    with np.errstate(divide="ignore"):
        low = model.scaled(np.where((lower == 0.0) & (upper > 0.0), -np.inf, lower)[order])
    high = model.scaled(upper[order])
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)]])
    centre, spread = float(np.median(ends)), float(np.ptp(ends)) / 3.0 or 1e-3 * abs(float(ends[0])) or 1.0
    weight = np.ones((1, sample.n))
    framed = coarsened(Samples(((low - centre) / spread)[None], ((high - centre) / spread)[None], weight))
    share, batch = model.percentile(coverage), sample.batch[order]
    framed = tied_within(framed, batch) if model.kernel is STANDARD_NORMAL else framed
    tops = tops_of(framed, batch, model, share=share)
    return _Observed(model, framed, batch, centre, spread, share, tops)


def _recorded(observed: _Observed, replay: Replay, standard: FloatArray, place: _Place) -> Samples:
    """Samples whose percentile is at ``place``, as the rig would record them, with location 0 and spread 1."""
    spread, model = place.spread, observed.model
    location = place.point - observed.share * spread
    lower, upper = replay.recorded(model.strength(observed.centre + observed.spread * (location + spread * standard)))

    def to_standard(strength: FloatArray) -> FloatArray:
        return np.asarray(((model.scaled(strength) - observed.centre) / observed.spread - location) / spread)

    return Samples(to_standard(lower), to_standard(upper), np.ones_like(lower))


def _first(samples: Samples, number: int) -> Samples:
    return Samples(samples.lower[:number], samples.upper[:number], samples.weight[:number])


def _roots_of(model: Model, batch: IntArray, samples: Samples, share: float) -> FloatArray:
    """Signed roots of samples of location 0 and spread 1 at their own true percentile ``share``."""
    samples = coarsened(samples)
    if model.ratio == 0.0:
        samples, which = distinct(samples)
    else:
        which = np.arange(len(samples.lower))
    if model.kernel is STANDARD_NORMAL and len(which) == len(samples.lower):
        samples = tied_within(samples, batch)
    tops = tops_of(samples, batch, model, share=share)
    return signed_roots(samples, batch, model, tops, point=share, share=share).root[which]
