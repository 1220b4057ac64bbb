"""Estimates said as effects: ratios with intervals that hold at once, chance to outlast, ratio of low percentiles."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from jointlab.compare.estimates import Draws, Estimates, Pair
from jointlab.compare.simultaneous import adjusted_p, factor_of, simultaneous_band, simultaneous_ends
from jointlab.compare.values import Difference, Effect, Estimate
from jointlab.record.joint import Combination
from jointlab.strength.normal import cdf, quantile
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "interference"

_LOW = 0.05
_TIMES = 2.0
_SURE = 1e-15  # chances nearer to none or to certainty than this are taken as this
_NODES, _WEIGHTS = (np.asarray(part) for part in np.polynomial.legendre.leggauss(48))


def effects_of(
    estimates: Estimates, *, combinations: Sequence[Combination], family: Sequence[Pair], confidence: float
) -> tuple[Effect, ...]:
    """One effect a pair of the family."""
    factor = factor_of(estimates.largest, confidence=confidence)
    chances = _outlasting(estimates.draws, family, confidence)
    lows = _low_ratios(estimates.draws, estimates, family, confidence)
    found = []
    for place, (one, other) in enumerate(family):
        difference = float(estimates.log_median[one] - estimates.log_median[other])
        half = factor * float(estimates.errors[place])
        ratio = Estimate(math.exp(difference), math.exp(difference - half), math.exp(difference + half))
        found.append(
            Effect(
                combination=combinations[one],
                against=combinations[other],
                ratio=ratio,
                p_value=adjusted_p(estimates.largest, difference / float(estimates.errors[place])),
                shown=shown_by(ratio),
                chance_outlasts=chances[place],
                low_ratio=lows[place],
            )
        )
    return tuple(found)


def shown_by(ratio: Estimate) -> Difference:
    """What an interval of a ratio shows."""
    if ratio.lower is not None and ratio.lower > 1.0:
        return Difference.STRONGER
    if ratio.upper is not None and ratio.upper < 1.0:
        return Difference.WEAKER
    return Difference.NOT_SHOWN


def stronger_first(effect: Effect) -> Effect:
    """The same effect, said of the stronger of the two."""
    if effect.ratio.value >= 1.0:
        return effect
    shown = {Difference.WEAKER: Difference.STRONGER}.get(effect.shown, effect.shown)
    chance, low = effect.chance_outlasts, effect.low_ratio
    return replace(
        effect,
        combination=effect.against,
        against=effect.combination,
        ratio=_turned(effect.ratio, lambda ratio: 1.0 / ratio),
        shown=shown,
        chance_outlasts=None if chance is None else _turned(chance, lambda share: 1.0 - share),
        low_ratio=None if low is None else _turned(low, lambda ratio: 1.0 / ratio),
    )


def _turned(estimate: Estimate, turn: Callable[[float], float]) -> Estimate:
    lower, upper = estimate.lower, estimate.upper
    return Estimate(
        turn(estimate.value), None if upper is None else turn(upper), None if lower is None else turn(lower)
    )


def said(effect: Effect) -> str:
    """The effect as a sentence: which is stronger, by how much, and what the pulls leave open."""
    ratio = effect.ratio
    if effect.shown is Difference.STRONGER:
        return f"{effect.combination} is {_stronger(ratio).format(f' {effect.against}')}."
    if effect.shown is Difference.WEAKER:
        turned = _turned(ratio, lambda value: 1.0 / value)
        return f"{effect.against} is {_stronger(turned).format(f' {effect.combination}')}."
    lower = "any" if ratio.lower is None else f"{ratio.lower:.2f}"
    upper = "any" if ratio.upper is None else f"{ratio.upper:.2f}"
    return (
        f"No difference is shown between {effect.combination} and {effect.against}: their ratio may be anything from "
        f"{lower} to {upper}. That does not make them alike."
    )


def _stronger(ratio: Estimate) -> str:
    """By how much: in percent below twice, in times from there on."""
    lower, upper = ratio.lower, ratio.upper
    if ratio.value < _TIMES:
        between = "" if lower is None or upper is None else f" ({_percent(lower)} to {_percent(upper)} %)"
        return f"{_percent(ratio.value)} % stronger than{{}}{between}"
    between = "" if lower is None or upper is None else f" ({lower:.3g} to {upper:.3g})"
    return f"{ratio.value:.3g} times as strong as{{}}{between}"


def _percent(ratio: float) -> str:
    return f"{100.0 * (ratio - 1.0):.0f}"


def _outlasting(draws: Draws | None, family: Sequence[Pair], confidence: float) -> list[Estimate | None]:
    if draws is None:
        return [None] * len(family)

    def of(location: FloatArray, scale: FloatArray) -> FloatArray:
        pairs = [
            stronger_chance(location[:, i], scale[:, i], location[:, j], scale[:, j], draws.family) for i, j in family
        ]
        return np.column_stack(pairs)

    from scipy.special import ndtr, ndtri

    seen = of(draws.seen_location[None], draws.seen_scale[None])[0]
    chances = np.clip(of(draws.location, draws.scale), _SURE, 1.0 - _SURE)
    return _estimates(seen, ndtri(chances), confidence, back=ndtr)


def _low_ratios(
    draws: Draws | None, estimates: Estimates, family: Sequence[Pair], confidence: float
) -> list[Estimate | None]:
    if draws is None:
        return [None] * len(family)
    at = math.log(-math.log1p(-_LOW)) if draws.family is Family.WEIBULL else quantile(_LOW)
    low = draws.location + at * draws.scale
    columns = np.column_stack([low[:, i] - low[:, j] for i, j in family])
    value = np.exp([float(estimates.log_low[i] - estimates.log_low[j]) for i, j in family])
    return _estimates(value, columns, confidence, back=np.exp)


def _estimates(
    value: FloatArray, columns: FloatArray, confidence: float, *, back: Callable[[FloatArray], FloatArray]
) -> list[Estimate | None]:
    """Values with the ends of their columns, taken ``back`` from the scale on which the columns are nearly normal."""
    ends = simultaneous_ends(columns, confidence=confidence)
    if ends is None:
        ends = simultaneous_band(columns, confidence=confidence)
    lower, upper = (back(end) for end in ends)
    return [Estimate(float(v), float(low), float(high)) for v, low, high in zip(value, lower, upper, strict=True)]


def stronger_chance(
    location: FloatArray, scale: FloatArray, other_location: FloatArray, other_scale: FloatArray, family: Family
) -> FloatArray:
    """Chance that a joint of the first is stronger than one of the other, elementwise.

    Lognormal: Phi of the difference over the joint spread. Weibull: by quadrature over the other's strength, which is
    exact for one shape too. Source key ``interference``.
    """
    if family is Family.LOGNORMAL:
        return cdf((location - other_location) / np.hypot(scale, other_scale))
    share = 0.5 * (_NODES + 1.0)
    total = np.zeros_like(location)
    for place, weight in zip(share, 0.5 * _WEIGHTS, strict=True):
        z = (other_location + other_scale * np.log(-np.log1p(-place)) - location) / scale
        total += weight * np.exp(-np.exp(np.minimum(z, 50.0)))
    return total
