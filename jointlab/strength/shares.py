"""How much of the spread lies between glue-ups, how well a sample shows it, and what one more glue-up would buy."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from jointlab.strength.batch_likelihood import BatchLikelihood
from jointlab.strength.known_ratio import RATIO, batch_sizes, centre_and_spread, ratio_factor, weights_of
from jointlab.strength.likelihood import Samples
from jointlab.strength.likelihood_ratio import SEARCH_REPLICATES, calibrated_bound
from jointlab.strength.maximum import climb
from jointlab.strength.prediction import framed_logs
from jointlab.strength.quadrature import rising_root
from jointlab.strength.sample import StrengthSample
from jointlab.strength.working import ON_LOGS

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "lawless"

_RATIOS = np.concatenate([[0.02], np.geomspace(0.1, 30.0, 49)])
"""Between-batch over within-batch spread looked at; the first stands for none."""

_HALF_CHI_SQUARE = {0.90: 1.352771727, 0.95: 1.920729410}  # half the quantile with one degree of freedom


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value, and where it may lie; an end is None where the pulls set no limit there."""

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class GlueUps:
    """Spread of ln strength within and between glue-ups, and the worth of another.

    Parameters
    ----------
    within, between
        Standard deviations of ln strength at the likeliest ratio.
    ratio
        Between / within, with its profile likelihood interval at ``confidence``.
    bound_now_mpa, bound_with_one_more_mpa
        The known-ratio bound [MPa] now, and with one more glue-up of the usual size if centre and spread stay: what it
        would buy. For censored pulls the first is simulated and the factor of the second shortened in proportion, as if
        the new pulls were censored like those there are; None where there is no bound.
    """

    within: float
    between: float
    ratio: Estimate
    confidence: float
    bound_now_mpa: float | None
    bound_with_one_more_mpa: float | None


def glue_ups_of(sample: StrengthSample, *, confidence: float = 0.95) -> GlueUps | None:
    """Components of the spread by maximum likelihood, glue-ups of any size, pulls censored in any way.

    None with a single glue-up, no glue-up of two pulls, or breaks that show no spread. The interval is exact for
    complete pulls (:func:`exact_ratio_interval`); for censored ones it is of the likelihood with location and spread
    integrated out nearly (source key ``lawless``). With two or three glue-ups it is wide, its upper end often open.
    """
    sizes = np.bincount(sample.batch) if sample.n else np.zeros(1)
    framed = framed_logs(sample)
    if sample.batches < 2 or sizes.max() < 2 or framed is None:
        return None
    samples, _, extent = framed
    profile = _profile(samples, sample.batch)
    if not np.isfinite(profile.height).any():
        return None
    top = int(np.nanargmax(profile.height))
    value, place = _likeliest(profile.height, top)
    within = float(np.interp(place, np.arange(_RATIOS.size), profile.spread)) * extent
    if sample.complete:
        low, high = exact_ratio_interval(np.log(sample.lower_mpa), sample.batch, confidence=confidence)
    else:
        low, high = _interval(profile.marginal, confidence)
    now, more = _worth(sample)
    return GlueUps(within, value * within, Estimate(value, low, high), confidence, now, more)


def exact_ratio_interval(logs: FloatArray, batch: IntArray, *, confidence: float) -> tuple[float | None, float | None]:
    """Exact interval of between / within for complete normal values in glue-ups of any size; None: no limit there.

    Sum of n_i / (1 + r^2 n_i) (mean_i - weighted mean)^2, over batches - 1 and the mean square within, follows F at the
    true r and falls as r rises. Source key ``wald_1940``.
    """
    from scipy import special

    sizes = np.bincount(batch).astype(np.float64)
    means = np.bincount(batch, logs) / sizes
    free, left = sizes.size - 1, logs.size - sizes.size
    square_within = float(((logs - means[batch]) ** 2).sum()) / left

    def ratio_of_squares(ratio: float) -> float:
        weight = sizes / (1.0 + ratio * ratio * sizes)
        centre = (weight * means).sum() / weight.sum()
        return float((weight * (means - centre) ** 2).sum()) / free / square_within

    def short_of(level: float, ratio: float) -> float:
        return level - ratio_of_squares(ratio)

    ends: list[float | None] = []
    for tail in (0.5 * (1.0 + confidence), 0.5 * (1.0 - confidence)):
        level = float(special.fdtri(free, left, tail))
        if ratio_of_squares(0.0) <= level:
            ends.append(None if tail > 0.5 else 0.0)
        else:
            ends.append(rising_root(partial(short_of, level), 0.0, 1.0, near=1e-9))
    return ends[0], ends[1]


@dataclass(frozen=True, slots=True)
class _Profile:
    """At each ratio: largest log-likelihood, the same with location and ln spread integrated out, spread within."""

    height: FloatArray
    marginal: FloatArray
    spread: FloatArray


def _profile(samples: Samples, batch: IntArray) -> _Profile:
    found = _Profile(*(np.full(_RATIOS.size, np.nan) for _ in range(3)))
    a, b = np.array([3.0]), np.array([0.0])
    for place, ratio in enumerate(_RATIOS):
        hill = BatchLikelihood.of(samples, batch, ratio=float(ratio))
        a, b, top = climb(hill, a, b, near=1e-6, slack=1e-3)
        if not math.isfinite(float(top[0])):
            a, b = np.array([3.0]), np.array([0.0])
            continue
        at = hill.sums(a, b)
        # Laplace: d(a, b) / d(location, ln a) has the determinant a^2.
        curvature = float((at.aa * at.bb - at.ab * at.ab)[0])
        found.height[place], found.spread[place] = float(top[0]), 1.0 / float(a[0])
        if curvature > 0.0:
            found.marginal[place] = float(top[0]) - 0.5 * math.log(curvature) - 2.0 * math.log(float(a[0]))
    return found


def _interval(height: FloatArray, confidence: float) -> tuple[float | None, float | None]:
    """Ratios whose log-likelihood lies within the limit of the largest; None where no end is seen."""
    level = float(np.nanmax(height)) - _HALF_CHI_SQUARE[confidence]
    close = np.flatnonzero(height >= level)
    low = None if close[0] == 0 else _edge(height, int(close[0]) - 1, level)
    high = None if close[-1] == _RATIOS.size - 1 else _edge(height, int(close[-1]), level)
    return low, high


def _likeliest(height: FloatArray, top: int) -> tuple[float, float]:
    """Ratio at the top of a parabola through the highest three, and its place among those looked at; 0 at the edge."""
    if top < 2 or top == _RATIOS.size - 1:
        return (0.0 if top < 2 else float(_RATIOS[top])), float(top)
    before, at, after = height[top - 1 : top + 2]
    bend = before - 2.0 * at + after
    place = top + (0.5 * float(before - after) / float(bend) if bend < 0.0 else 0.0)
    return float(np.exp(np.interp(place, np.arange(_RATIOS.size), np.log(_RATIOS)))), place


def _edge(height: FloatArray, before: int, level: float) -> float:
    """Ratio at which the profile crosses a level between two of those looked at."""
    first, second = height[before], height[before + 1]
    share = (level - first) / (second - first) if second != first else 0.5
    return float(_RATIOS[before] + share * (_RATIOS[before + 1] - _RATIOS[before]))


def _worth(
    sample: StrengthSample, *, coverage: float = 0.95, confidence: float = 0.95
) -> tuple[float | None, float | None]:
    """Known-ratio bound now and with one more glue-up, centre and spread as they are [MPa]."""
    sizes = batch_sizes(sample.batch)
    usual = max(round(sample.n / sample.batches), 1)
    k_now, k_more = (
        ratio_factor(int(each.sum()), weights_of(each, RATIO)[1], ratio=RATIO, coverage=coverage, confidence=confidence)
        for each in (sizes, np.append(sizes, float(usual)))
    )
    if sample.complete:
        if sample.lower_mpa.min() <= 0.0:
            return None, None
        centre, spread, _ = centre_and_spread(np.log(sample.lower_mpa), sample.batch, ratio=RATIO)
        return math.exp(centre - k_now * spread), math.exp(centre - k_more * spread)
    found = calibrated_bound(sample, ON_LOGS, coverage=coverage, confidence=confidence, replicates=SEARCH_REPLICATES)
    likeliest = _likeliest_centre(sample)
    if found is None or likeliest is None:
        return None, None
    return found.bound_mpa, math.exp(likeliest + (math.log(found.bound_mpa) - likeliest) * k_more / k_now)


def _likeliest_centre(sample: StrengthSample) -> float | None:
    """Middle of ln strength over glue-ups at the ratio that is assumed."""
    framed = framed_logs(sample)
    if framed is None:
        return None
    samples, centre, extent = framed
    hill = BatchLikelihood.of(samples, sample.batch, ratio=RATIO)
    a, b, top = climb(hill, np.array([3.0]), np.array([0.0]), near=1e-6, slack=1e-3)
    return centre + extent * float(b[0] / a[0]) if math.isfinite(float(top[0])) else None
