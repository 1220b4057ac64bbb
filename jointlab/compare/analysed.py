"""One analysis carried out: a summary of every combination and an effect for every pair of the family."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from jointlab.compare.blocks import estimates_in_blocks
from jointlab.compare.censored import estimates_of_censored
from jointlab.compare.effects import effects_of, shown_by
from jointlab.compare.estimates import Estimates, Pair
from jointlab.compare.layout import Layout
from jointlab.compare.many_to_one import dunnett
from jointlab.compare.own_spreads import LOW_Z, estimates_with_own_spreads
from jointlab.compare.pairs import PairDifference, games_howell, tukey_kramer
from jointlab.compare.ranks import rank_effects
from jointlab.compare.values import Analysis, CombinationSummary, Effect, Estimate
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

REPLICATES = 10_000
FEWER_REPLICATES = 2_000
CENSORED_REPLICATES = 2_000
"""Replicates of a calibration: their chance moves a 95 % factor by 1 %, with 2,000 by 2 % (computed)."""

MANY = 100
"""Beyond this many combinations fewer replicates serve (judgement)."""

Analysed = tuple[tuple[CombinationSummary, ...], tuple[Effect, ...]]


def analysed(
    layout: Layout, *, analysis: Analysis, family: Sequence[Pair], confidence: float, batch_ratio: float
) -> Analysed:
    """Summaries by combination and effects by pair, in the order of the layout and of the family."""
    match analysis:
        case Analysis.RANKS:
            effects = rank_effects(
                layout.values(), combinations=layout.combinations, family=family, confidence=confidence
            )
            return _plain_summaries(layout), effects
        case Analysis.GAMES_HOWELL:
            found = games_howell(layout.values(), confidence=confidence)
            return _plain_summaries(layout), _of_differences(layout, found, family)
        case Analysis.ONE_SPREAD:
            return _plain_summaries(layout), _with_one_spread(layout, family, confidence)
        case _:
            estimates = _estimated(layout, analysis, family, batch_ratio)
            effects = effects_of(estimates, combinations=layout.combinations, family=family, confidence=confidence)
            return _summaries(layout, estimates.log_median, estimates.log_sd, estimates.log_low), effects


def _estimated(layout: Layout, analysis: Analysis, family: Sequence[Pair], batch_ratio: float) -> Estimates:
    rng = np.random.default_rng(layout.seed())
    replicates = REPLICATES if layout.groups <= MANY else FEWER_REPLICATES
    match analysis:
        case Analysis.BLOCKS:
            return estimates_in_blocks(layout, family=family, ratio=batch_ratio, replicates=replicates, rng=rng)
        case Analysis.CENSORED_LOGNORMAL | Analysis.CENSORED_WEIBULL:
            model = Family.LOGNORMAL if analysis is Analysis.CENSORED_LOGNORMAL else Family.WEIBULL
            return estimates_of_censored(
                layout, model=model, family=family, ratio=batch_ratio, replicates=CENSORED_REPLICATES, rng=rng
            )
        case _:
            return estimates_with_own_spreads(layout, family=family, ratio=batch_ratio, replicates=replicates, rng=rng)


def _with_one_spread(layout: Layout, family: Sequence[Pair], confidence: float) -> tuple[Effect, ...]:
    values = layout.values()
    against = {other for _, other in family}
    if len(against) > 1 or len(family) == 1:
        return _of_differences(layout, tukey_kramer(values, confidence=confidence), family)
    (control,) = against
    others = [one for one, _ in family]
    found = dunnett(values[control], [values[one] for one in others], confidence=confidence)
    places = [control, *others]
    renamed = [PairDifference(places[d.one], control, d.difference, d.lower, d.upper, d.p_value) for d in found]
    return _of_differences(layout, renamed, family)


def _of_differences(layout: Layout, found: Sequence[PairDifference], family: Sequence[Pair]) -> tuple[Effect, ...]:
    by_pair = {(d.one, d.other): (d.difference, d.lower, d.upper, d.p_value) for d in found}
    by_pair |= {(d.other, d.one): (-d.difference, -d.upper, -d.lower, d.p_value) for d in found}
    effects = []
    for one, other in family:
        difference, lower, upper, p = by_pair[one, other]
        ratio = Estimate(math.exp(difference), math.exp(lower), math.exp(upper))
        effects.append(Effect(layout.combinations[one], layout.combinations[other], ratio, p, shown_by(ratio)))
    return tuple(effects)


def _plain_summaries(layout: Layout) -> tuple[CombinationSummary, ...]:
    values = layout.values()
    median = np.array([group.mean() for group in values])
    spread = np.array([group.std(ddof=1) for group in values])
    return _summaries(layout, median, spread, median + LOW_Z * spread)


def _summaries(
    layout: Layout, log_median: FloatArray, log_sd: FloatArray, log_low: FloatArray
) -> tuple[CombinationSummary, ...]:
    glue_ups, held = layout.glue_ups, np.bincount(layout.group, layout.held, layout.groups)
    return tuple(
        CombinationSummary(
            combination=combination,
            n=int(layout.sizes[index]),
            n_held=int(held[index]),
            batches=int(glue_ups[index]),
            median_mpa=math.exp(log_median[index]),
            log_sd=float(log_sd[index]),
            low_mpa=math.exp(log_low[index]),
            letters="",
        )
        for index, combination in enumerate(layout.combinations)
    )
