"""Glue x substrate: which combinations are shown to differ, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from jointlab.compare.analysed import analysed
from jointlab.compare.effects import stronger_first
from jointlab.compare.estimates import BATCH_RATIO, Pair
from jointlab.compare.grouping import letters_of
from jointlab.compare.layout import Layout
from jointlab.compare.layout_findings import findings_of
from jointlab.compare.overall import factorial_table, overall_tests
from jointlab.compare.pairs import every_pair
from jointlab.compare.recommended import Recommendation, applicable_to, recommended_for
from jointlab.compare.values import (
    Analysis,
    CombinationSample,
    CombinationSummary,
    Comparison,
    Difference,
    Effect,
)
from jointlab.errors import AnalysisError
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination

LEAST_PULLS = 2
"""Fewer usable pulls than this show no spread (source key ``judgement``)."""


def compare_combinations(
    samples: Sequence[CombinationSample],
    *,
    control: Combination | None = None,
    confidence: float = 0.95,
    analysis: Analysis | None = None,
    batch_ratio: float = BATCH_RATIO,
) -> Comparison:
    """Which combinations are shown to differ in strength, by what ratio, all intervals holding at once.

    Parameters
    ----------
    samples
        Usable strengths of each combination under one action. Glue-ups of one name are one block wherever they stand.
    control
        Compare all others with this one; None: every pair.
    confidence
        With which all intervals hold at once, between 0 and 1.
    analysis
        The analysis to use; None: the recommended one, chosen by the rules of ``recommended``.
    batch_ratio
        Spread between glue-ups / spread within one, taken as known: two glue-ups cannot show it.

    Returns
    -------
    Comparison
        Effects as ratios of median strengths, strongest combinations first; the analysis and why; the table of
        variance; tests over all combinations. Replicates are seeded from the numbers of pulls and their censoring,
        never from the strengths.

    Raises
    ------
    AnalysisError
        Fewer than two combinations with two usable pulls, an unknown control, an analysis that does not apply to
        censored strengths, or no fit of these.

    Examples
    --------
    >>> from jointlab.strength import StrengthSample
    >>> strong = StrengthSample.of_values([4.1, 4.6, 5.0], batch=[1, 2, 3])
    >>> weak = StrengthSample.of_values([1.1, 0.9, 1.0], batch=[1, 2, 3])
    >>> maple = CombinationSample(Combination("pva", "maple"), strong)
    >>> mdf = CombinationSample(Combination("pva", "mdf"), weak)
    >>> compare_combinations([maple, mdf]).effects[0].shown
    <Difference.STRONGER: 'shown stronger'>
    """
    used, left_out = _comparable(samples)
    layout = Layout.of(used)
    chosen = _chosen(layout, analysis)
    family = _family(layout, control)
    summaries, effects = analysed(
        layout, analysis=chosen.analysis, family=family, confidence=confidence, batch_ratio=batch_ratio
    )
    if control is None:
        effects = tuple(stronger_first(effect) for effect in effects)
    order = sorted(range(layout.groups), key=lambda index: -summaries[index].median_mpa)
    if control is None:
        summaries = _lettered(summaries, effects, family, order)
    return Comparison(
        analysis=chosen.analysis,
        reason=chosen.reason,
        control=control,
        confidence=confidence,
        summaries=tuple(summaries[index] for index in order),
        effects=effects,
        table=factorial_table(layout, batch_ratio=batch_ratio),
        tests=overall_tests(layout),
        others=tuple(other for other in applicable_to(layout) if other is not chosen.analysis),
        findings=(*left_out, *findings_of(layout, analysis=chosen.analysis, batch_ratio=batch_ratio)),
    )


def _comparable(samples: Sequence[CombinationSample]) -> tuple[list[CombinationSample], list[Finding]]:
    used, left_out = [], []
    for part in samples:
        if part.sample.n < LEAST_PULLS:
            text = f"{part.combination}: {part.sample.n} usable pulls cannot be compared, {LEAST_PULLS} can; left out."
            left_out.append(Finding(FindingCode.TOO_FEW_TO_COMPARE, Severity.WARNING, text))
        elif part.sample.held.all():
            text = f"{part.combination}: none of {part.sample.n} broke; it has no ratio to the others; left out."
            left_out.append(Finding(FindingCode.NO_BREAK, Severity.WARNING, text))
        else:
            used.append(part)
    if len(used) < 2:
        raise AnalysisError(
            f"A comparison needs two combinations with {LEAST_PULLS} usable pulls each and a break among them; "
            f"{len(used)} of {len(samples)} given have them. Pull more, or widen the filters."
        )
    return used, left_out


def _chosen(layout: Layout, analysis: Analysis | None) -> Recommendation:
    recommendation = recommended_for(layout)
    if analysis is None or analysis is recommendation.analysis:
        return recommendation
    applicable = applicable_to(layout)
    if analysis not in applicable:
        allowed = ", ".join(applicable)
        raise AnalysisError(f"{analysis} needs every strength seen exactly, and some are not: use one of {allowed}.")
    return Recommendation(analysis, f"Asked for. Recommended here: {recommendation.analysis}. {recommendation.reason}")


def _family(layout: Layout, control: Combination | None) -> tuple[Pair, ...]:
    if control is None:
        return every_pair(layout.groups)
    keys = [combination.key for combination in layout.combinations]
    if control.key not in keys:
        known = "; ".join(str(combination) for combination in layout.combinations)
        raise AnalysisError(f"The control {control} is not among the combinations compared: {known}.")
    place = keys.index(control.key)
    return tuple((index, place) for index in range(layout.groups) if index != place)


def _lettered(
    summaries: Sequence[CombinationSummary], effects: Sequence[Effect], family: Sequence[Pair], order: Sequence[int]
) -> tuple[CombinationSummary, ...]:
    different = [pair for pair, effect in zip(family, effects, strict=True) if effect.shown is not Difference.NOT_SHOWN]
    letters = letters_of(order, different)
    return tuple(replace(summary, letters=letter) for summary, letter in zip(summaries, letters, strict=True))
