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
from jointlab.strength.repeats import distinct, tied_within
from jointlab.strength.replay import Replay
from jointlab.strength.sample import StrengthSample
from jointlab.strength.signed_root import Model, Tops, coarsened, signed_roots, tops_of

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "constrained_bootstrap"

REPLICATES = 4_000
"""Most simulated samples of a bound; fewer where the Monte Carlo error is small (source key judgement)."""

PREVIEW_REPLICATES = 200
"""Simulated samples of a quick look, to be marked as one (source key judgement)."""

SEARCH_REPLICATES = 400
"""Simulated samples that find where a bound lies, before more say it more surely (source key judgement)."""

_FEWEST = 3  # pulls; from two, a bound would lie beyond all measure
_MOST_ROUNDS = 6
_SETTLED = 2e-3  # change of the quantile at which the search ends
_OF_SCATTER = 0.4  # and the share of its Monte Carlo scatter at which it ends, too: more rounds would chase noise
_FARTHEST = 1e4  # spreads away from the middle at which the search for a bound ends
_LOOKS, _MOST_LOOKS, _CLOSE = 9, 40, 0.25  # percentiles looked at together; extent of the last look, in spreads
_DRAWS_AT_ONCE, _SURE = 400, 4.0
LUMP = 1e-6
"""Roots nearer than this are of one and the same recorded sample (source key judgement)."""

_LUMPY = 0.005  # share of the simulated samples in one such lump from which its end is looked for
_FIRST_STEP, _MOST_TURNS, _FINE = 0.25, 12, 4e-3  # of that search, in spreads
_AIM = 0.008  # Monte Carlo error, as a share of the bound, at which no more draws are made


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

    def point_of(self, root: float, low: float, high: float) -> _Place | None:
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
    sample: StrengthSample,
    model: Model,
    *,
    coverage: float,
    confidence: float,
    replicates: int = REPLICATES,
    clear_of_mpa: float | None = None,
) -> CalibratedBound | None:
    """Bound on the (1 - coverage) percentile, below it with probability ``confidence``; None where there is none.

    With ``confidence`` below one half it is an upper bound. Source key ``constrained_bootstrap``: the signed root of
    the likelihood ratio at the bound is its own ``confidence`` quantile under the fit with the percentile held there.
    No more than ``replicates`` samples are drawn, fewer where they leave less than 1 % of Monte Carlo error, or where
    the bound is seen to lie above ``clear_of_mpa`` and that is all that matters.
    """
    if sample.n < _FEWEST or sample.held.all():
        return None
    replay = Replay.of(sample)
    observed = _observed(sample, model, coverage)
    if math.isinf(observed.tops.height[0]):
        return None
    seed = np.random.SeedSequence((sample.n, *replay.pattern))
    standard = model.draws(np.random.default_rng(seed), replay.batch, replicates)
    place = observed.point_of(1.645 if confidence > 0.5 else -1.645, -3.0, 0.0)
    if place is None:
        return None
    # A few of the draws find the neighbourhood; as many as the aim needs then say where in it.
    start = _Round(place, math.inf, None)
    bound, near = _answered(observed, replay, standard[:SEARCH_REPLICATES], confidence, start)
    if bound is None or near is None or replicates <= SEARCH_REPLICATES:
        return bound
    more = _needed(bound, min(SEARCH_REPLICATES, replicates), replicates)
    if more is None or (clear_of_mpa is not None and _is_clear(bound, clear_of_mpa)):
        return bound
    return _answered(observed, replay, standard[:more], confidence, near)[0]


def _answered(
    observed: _Observed, replay: Replay, standard: FloatArray, confidence: float, start: _Round
) -> tuple[CalibratedBound | None, _Round | None]:
    near = _settled(observed, replay, standard, confidence, start)
    if near is None or near.quantile is None:
        return None, None
    if near.quantile.lump > _LUMPY:
        bound, place = _outermost(observed, replay, standard, confidence, near.place)
        return bound, _Round(place, near.level, near.quantile)
    return _finished(observed, near.place.point, near.quantile), near


def _needed(bound: CalibratedBound, used: int, most: int) -> int | None:
    """How many draws bring the Monte Carlo error to its aim; None where those used have."""
    error = bound.monte_carlo_sd_mpa / (_AIM * abs(bound.bound_mpa)) if bound.bound_mpa else math.inf
    if error <= 1.0:
        return None
    return most if error > most else min(most, _DRAWS_AT_ONCE * math.ceil(used * error * error / _DRAWS_AT_ONCE))


def _is_clear(bound: CalibratedBound, of_mpa: float) -> bool:
    """Whether more draws cannot bring the bound below this."""
    return bound.bound_mpa - _SURE * bound.monte_carlo_sd_mpa > of_mpa


@dataclass(frozen=True, slots=True)
class _Round:
    """Where the search stands: the percentile, the level it was found from, and how well that is known."""

    place: _Place
    level: float
    quantile: _Quantile | None


def _settled(
    observed: _Observed, replay: Replay, standard: FloatArray, confidence: float, start: _Round
) -> _Round | None:
    """The search carried on with these draws until it changes no more; None where no percentile answers."""
    now = start
    for _ in range(_MOST_ROUNDS):
        quantile = _simulated(observed, replay, standard, now.place, confidence)
        if not math.isfinite(quantile.level):
            return None
        place = observed.point_of(quantile.level, now.place.point - 0.1, now.place.point + 0.1)
        if place is None:
            return None
        change = abs(quantile.level - now.level)
        now = _Round(place, quantile.level, quantile)
        if change < max(_SETTLED, _OF_SCATTER * quantile.scatter):
            break
    return now


def _outermost(
    observed: _Observed, replay: Replay, standard: FloatArray, confidence: float, start: _Place
) -> tuple[CalibratedBound, _Place]:
    """The outermost percentile whose chance of so large a root (for an upper bound: so small a one) is what is asked.

    Few pulls in load steps make few different samples, and the one observed is itself a lump among the simulated ones:
    a whole range of percentiles then has its quantile at the observed root, and the bound is the range's end.
    """
    asked = min(confidence, 1.0 - confidence)

    def short(point: float) -> float:
        """How much is missing of the chance, positive where the percentile lies too far out."""
        root, spread = observed.root_at(point)
        roots = _roots_of(observed, replay, standard, _Place(point, spread))
        beyond = roots >= root - LUMP if confidence > 0.5 else roots <= root + LUMP
        return asked - float(beyond.mean())

    outward = -1.0 if confidence > 0.5 else 1.0
    inside, missing = start.point, short(start.point)
    outside, too_far, step = inside, missing, _FIRST_STEP
    if missing > 0.0:
        outward = -outward
    for _ in range(_MOST_TURNS):
        inside, missing = outside, too_far
        outside, step = outside + outward * step, 2.0 * step
        too_far = short(outside)
        if (too_far > 0.0) != (missing > 0.0):
            break
    slope = abs(too_far - missing) / abs(outside - inside)
    while abs(outside - inside) > _FINE:
        middle = 0.5 * (inside + outside)
        at = short(middle)
        if (at > 0.0) == (missing > 0.0):
            inside = middle
        else:
            outside = middle
    point = max(inside, outside) if confidence < 0.5 else min(inside, outside)
    error = math.sqrt(asked * (1.0 - asked) / len(standard)) / max(slope, asked)
    ends = observed.model.strength(observed.centre + observed.spread * np.array([point, point - error]))
    place = _Place(point, observed.root_at(point)[1])
    return CalibratedBound(float(ends[0]), abs(float(ends[1] - ends[0]))), place


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
    tops = tops_of(framed, batch, model, share=share)
    return _Observed(model, framed, batch, centre, spread, share, tops)


@dataclass(frozen=True, slots=True)
class _Quantile:
    """Quantile of the simulated signed roots, its Monte Carlo standard deviation, and the share of them equal to it."""

    level: float
    scatter: float
    lump: float


def _simulated(
    observed: _Observed, replay: Replay, standard: FloatArray, place: _Place, confidence: float
) -> _Quantile:
    """The quantile of the signed roots of samples whose percentile is at ``place``, censored as the rig would."""
    roots = _roots_of(observed, replay, standard, place)
    known = _complete_covers(observed.model, standard, replay.batch, observed.share, confidence)
    return _quantile_of(np.nan_to_num(roots, nan=against(confidence)), known, confidence)


def against(confidence: float) -> float:
    """The root that speaks most against a bound: what a simulated sample counts as whose search did not end."""
    return math.inf if confidence > 0.5 else -math.inf


def _roots_of(observed: _Observed, replay: Replay, standard: FloatArray, place: _Place) -> FloatArray:
    """Signed roots, at their own true percentile, of samples whose percentile is at ``place``."""
    spread, model = place.spread, observed.model
    location = place.point - observed.share * spread

    def to_scale(standardised: FloatArray) -> FloatArray:
        return observed.centre + observed.spread * (location + spread * standardised)

    def to_standard(scaled: FloatArray) -> FloatArray:
        return ((scaled - observed.centre) / observed.spread - location) / spread

    lower, upper = replay.recorded(model.strength(to_scale(standard)))
    ends = to_standard(model.scaled(lower)), to_standard(model.scaled(upper))
    samples = coarsened(Samples(*ends, np.ones_like(lower)))
    if model.ratio == 0.0:
        samples, which = distinct(samples)
    else:
        samples, which = tied_within(samples, replay.batch), np.arange(len(lower))
    tops = tops_of(samples, replay.batch, model, share=observed.share)
    return signed_roots(samples, replay.batch, model, tops, point=observed.share, share=observed.share).root[which]


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
    # The quantile is known as far as its order is: two standard errors of a share to either side. Load steps make the
    # roots lumpy, so that nearer neighbours would often be the same.
    error = max(math.sqrt(confidence * (1.0 - confidence) * left_over / roots.size), 1.0 / roots.size)
    away = min(2.0 * error, 0.9 * confidence, 0.9 * (1.0 - confidence))
    low, level, high = np.quantile(roots, [max(chance - away, 0.0), chance, min(chance + away, 1.0)], method="higher")
    lump = float((np.abs(roots - level) < LUMP).mean())
    return _Quantile(float(level), error * float(high - low) / (2.0 * away), lump if lump * roots.size > 1.5 else 0.0)


def _highest(confidence: float) -> float:
    return 0.5 * (1.0 + confidence)


def _finished(observed: _Observed, point: float, quantile: _Quantile) -> CalibratedBound:
    """The bound, and what the scatter of the quantile moves it by."""
    step = 0.02
    before, after = observed.roots_at(np.array([point - step, point + step]))[0]
    slope = float(after - before) / (2.0 * step)
    ends = np.array([point, point + quantile.scatter / slope if slope else point])
    bound, moved = observed.model.strength(observed.centre + observed.spread * ends)
    return CalibratedBound(float(bound), abs(float(moved - bound)))
