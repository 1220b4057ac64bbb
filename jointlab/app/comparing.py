"""Compare the combinations of a book, action by action, and say it as a document."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

import numpy as np

from jointlab.app import workflow
from jointlab.app.answers import finding_parts
from jointlab.app.compare_parts import (
    Breaks,
    BreaksPart,
    EstimatePart,
    GroupTestPart,
    HomogeneityPart,
    SizedTrend,
    TrendPart,
    VariancePart,
    breaks_part,
    estimate_part,
    group_test_part,
    homogeneity_part,
    trend_part,
    variance_part,
)
from jointlab.app.documents import Answer, Document, FindingPart
from jointlab.app.drawing_files import image_form
from jointlab.app.planning import kept_plan
from jointlab.book.stored import EVERY_PULL, PullSelection
from jointlab.compare.breaks import break_shares, break_test, wood_against_strength
from jointlab.compare.compare_combinations import compare_combinations
from jointlab.compare.homogeneity import Drift, Homogeneity, drift_of, homogeneity_of
from jointlab.compare.trends import Quantity, size_effect, trend_of
from jointlab.compare.values import Analysis, CombinationSample, Comparison, Effect
from jointlab.errors import AnalysisError, InputError, Problem
from jointlab.plan.values import TestPlan
from jointlab.record.joint import Combination
from jointlab.record.names import matched
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family
from jointlab.stress.joint_stress_of import joint_stress_of

FEWEST = 2
"""Usable pulls without which a combination shows no spread and is left out, which is said."""


class Also(StrEnum):
    """What is worked out beside the effects, when asked for."""

    BREAKS = "breaks"


@dataclass(frozen=True, slots=True)
class Compared:
    """The comparison under one action, and what was looked at beside it.

    ``left_out`` are combinations with too few pulls; ``drift`` is that of a control; ``breaks`` and ``trend`` are None
    where they were not asked for, ``trendless`` says why a trend that was asked for is not there.
    """

    action: Action
    left_out: tuple[Combination, ...]
    comparison: Comparison
    homogeneity: Homogeneity
    drift: Drift | None
    breaks: Breaks | None
    trend: SizedTrend | None
    trendless: str | None


class SummaryPart(Document):
    """A combination as it enters a comparison."""

    combination: str
    n: int
    n_held: int
    batches: int
    median_mpa: float
    log_sd: float
    letters: str


class EffectPart(Document):
    """One combination against another, as a ratio of median strengths."""

    combination: str
    against: str
    ratio: EstimatePart
    p_value: float | None
    shown: str
    chance_outlasts: EstimatePart | None
    low_ratio: EstimatePart | None


class ComparisonPart(Document):
    """One comparison."""

    action: str
    left_out: tuple[str, ...]
    analysis: str
    reason: str
    others: tuple[str, ...]
    control: str | None
    confidence: float
    combinations: tuple[SummaryPart, ...]
    effects: tuple[EffectPart, ...]
    variance: VariancePart | None
    tests: tuple[GroupTestPart, ...]
    homogeneity: HomogeneityPart
    breaks: BreaksPart | None
    trend: TrendPart | None
    findings: tuple[FindingPart, ...]


class LookPart(Document):
    """The planned look under which combinations were compared."""

    plan: str
    look: int
    looks: int
    confidence_at_look: float
    due: bool


class CompareDocument(Answer):
    """Answer of ``compare``; ``look`` is None where no plan was named."""

    look: LookPart | None
    comparisons: tuple[ComparisonPart, ...]


Samples = tuple[Action, list[CombinationSample]]
Progress = Callable[[Sequence[Samples], str], Iterable[Samples]]
"""Gives the actions one by one as they are compared, and may show how many are left."""


def _unmarked(each: Sequence[Samples], words: str) -> Iterable[Samples]:  # noqa: ARG001 - one that shows takes both
    return each


def compare_in(
    place: str | Path | None,
    selection: PullSelection = EVERY_PULL,
    *,
    control: str | None = None,
    analysis: str | None = None,
    confidence: float = 0.95,
    also: frozenset[Also] = frozenset(),
    trend: Quantity | None = None,
    progress: Progress = _unmarked,
) -> tuple[Compared, ...]:
    """A comparison for each action under which a selection has two combinations or more.

    Parameters
    ----------
    also
        What else is worked out.
    trend
        Look also for a trend of strength with this quantity.
    progress
        Is shown the actions as they are compared.

    Raises
    ------
    InputError
        There is no such analysis, or the control is none of the combinations.
    AnalysisError
        Under no action are there two combinations with pulls enough.
    """
    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in book.pulls(selection))
    return compared_pulls(
        pulls, control=control, analysis=analysis, confidence=confidence, also=also, trend=trend, progress=progress
    )


def compared_pulls(
    pulls: Sequence[Pull],
    *,
    control: str | None = None,
    analysis: str | None = None,
    confidence: float = 0.95,
    also: frozenset[Also] = frozenset(),
    trend: Quantity | None = None,
    progress: Progress = _unmarked,
) -> tuple[Compared, ...]:
    """The same for pulls at hand; raises what ``compare_in`` raises."""
    chosen = _analysis(analysis)
    samples: dict[Action, list[CombinationSample]] = {}
    for combination, action, stresses in workflow.grouped(pulls):
        samples.setdefault(action, []).append(CombinationSample(combination, StrengthSample.of_stresses(stresses)))
    against = None if control is None else _control(control, [one for each in samples.values() for one in each])
    compared = []
    for action, each in progress(tuple(samples.items()), "actions"):
        enough = [one for one in each if one.sample.n >= FEWEST]
        asked = against is None or any(one.combination.key == against.key for one in enough)
        if len(enough) > 1 and asked:
            comparison = compare_combinations(enough, control=against, confidence=confidence, analysis=chosen)
            left_out = tuple(one.combination for one in each if one.sample.n < FEWEST)
            own = tuple(pull for pull in pulls if pull.action is action)
            compared.append(_with_more(Compared(
                action, left_out, comparison,
                homogeneity=homogeneity_of(enough, confidence=confidence),
                drift=_drift(enough, against, own),
                breaks=None, trend=None, trendless=None,
            ), own, also, trend))  # fmt: skip
    if not compared:
        told = "Under no action are there two combinations with two usable pulls each: nothing to compare."
        raise AnalysisError(told)
    return tuple(compared)


@dataclass(frozen=True, slots=True)
class PlannedLook:
    """Which look at a plan's evidence this is; ``due`` is False before the glue-up is whole that it waits for."""

    plan: TestPlan
    number: int
    due: bool


def compare_at_look(
    place: str | Path | None,
    name: str,
    *,
    analysis: str | None = None,
    also: frozenset[Also] = frozenset(),
    trend: Quantity | None = None,
    progress: Progress = _unmarked,
) -> tuple[PlannedLook, tuple[Compared, ...]]:
    """The pulls of a plan compared at its next look, with the confidence that look has for its share of the doubt.

    Raises
    ------
    UnknownEntryError
        There is no such plan.
    AnalysisError
        Its pulls do not suffice for a comparison yet.
    """
    kept = kept_plan(place, name)
    plan, due = kept.plan, kept.progress.looks_due
    with workflow.open_book(place) as book:
        batches = [book.pulls(PullSelection(batch=glue_up.batch)) for glue_up in plan.glue_ups]
    pulls = tuple(stored.pull for batch in batches for stored in batch)
    control = None if plan.control is None else str(plan.control)
    compared = compared_pulls(
        pulls, control=control, analysis=analysis, confidence=plan.confidence_at_look, also=also, trend=trend,
        progress=progress,
    )  # fmt: skip
    return PlannedLook(plan, max(due, 1), due > 0), compared


def _with_more(
    compared: Compared, pulls: tuple[Pull, ...], also: frozenset[Also], quantity: Quantity | None
) -> Compared:
    """The comparison with breaks and trend, as far as they are asked for."""
    if Also.BREAKS in also:
        compared = replace(compared, breaks=_breaks(pulls))
    if quantity is None:
        return compared
    try:
        return replace(compared, trend=_trend(pulls, quantity))
    except AnalysisError as error:
        return replace(compared, trendless=str(error))


def _breaks(pulls: tuple[Pull, ...]) -> Breaks:
    shares = break_shares(pulls)
    stresses = [joint_stress_of(pull) for pull in pulls]
    seed = [len(pulls), *(share.n for share in shares)]
    return Breaks(
        shares=shares,
        test=break_test(shares, rng=np.random.default_rng(seed)),
        wood=wood_against_strength(pulls, stresses, rng=np.random.default_rng(seed)),
    )


def _trend(pulls: tuple[Pull, ...], quantity: Quantity) -> SizedTrend:
    stresses = [joint_stress_of(pull) for pull in pulls]
    found = trend_of(pulls, stresses, quantity=quantity)
    if quantity is not Quantity.AREA_MM2:
        return SizedTrend(found, None)
    weakest = trend_of(pulls, stresses, quantity=quantity, family=Family.WEIBULL)
    return SizedTrend(found, size_effect(found, weibull_shape=1.0 / weakest.scale))


def _drift(samples: Iterable[CombinationSample], control: Combination | None, pulls: Iterable[Pull]) -> Drift | None:
    """Drift of the control over its glue-ups, in the order in which they were glued, or else tested."""
    if control is None:
        return None
    sample = next(one.sample for one in samples if one.combination.key == control.key)
    days: dict[str, str] = {}
    for pull in pulls:
        day = (pull.conditions.glued_on or pull.tested_on)[:10]
        days[matched(pull.batch)] = min(day, days.get(matched(pull.batch), day))
    dated = [days[matched(name)] for name in sample.batch_names]
    order = [sorted(set(dated)).index(day) for day in dated]
    return drift_of(sample, order=order) if len(set(order)) == len(order) else None


def trend_quantity(word: str | None) -> Quantity | None:
    """The quantity of this column.

    Raises
    ------
    InputError
        No trend is looked for with it.
    """
    words = [str(member) for member in Quantity]
    if word is not None and word not in words:
        allowed = ", ".join(words)
        problem = Problem(f"must be one of: {allowed}", column="--trend", value=word, allowed=allowed)
        raise InputError(problem, subject="the command")
    return None if word is None else Quantity(word)


class Drawing(StrEnum):
    """Which figure of a comparison is drawn."""

    EFFECTS = "effects"
    INTERACTION = "interaction"
    BREAKS = "breaks"
    TREND = "trend"


def plot_comparison(compared: Sequence[Compared], path: Path, *, drawing: Drawing = Drawing.EFFECTS) -> Path:
    """Draw effects of every action, or of the first that has it glue by substrate, breaks or a trend.

    Raises
    ------
    InputError
        The file is neither .svg nor .png, or cannot be written.
    AnalysisError
        There is nothing of the kind to draw.
    """
    form = image_form(path)
    match drawing:
        case Drawing.EFFECTS:
            from jointlab.publish.effects_figure import effects_figure

            image = effects_figure([(one.action, one.comparison) for one in compared], form=form)
        case Drawing.INTERACTION:
            from jointlab.publish.interaction_figure import interaction_figure

            image = interaction_figure(compared[0].comparison, form=form)
        case Drawing.BREAKS:
            from jointlab.publish.breaks_figure import breaks_figure

            image = breaks_figure(_first([one.breaks for one in compared], "breaks").shares, form=form)
        case Drawing.TREND:
            from jointlab.publish.trend_figure import trend_figure

            told = "; ".join(one.trendless for one in compared if one.trendless) or "trend"
            image = trend_figure(_first([one.trend for one in compared], told).trend, form=form)
    workflow.write_bytes(path, image)
    return path


_Found = TypeVar("_Found")


def _first(found: Iterable[_Found | None], told: str) -> _Found:
    for one in found:
        if one is not None:
            return one
    raise AnalysisError(f"Nothing to draw: {told}")


def _analysis(word: str | None) -> Analysis | None:
    words = [str(member) for member in Analysis]
    if word is not None and word not in words:
        allowed = ", ".join(words)
        problem = Problem(f"must be one of: {allowed}", column="--analysis", value=word, allowed=allowed)
        raise InputError(problem, subject="the command")
    return None if word is None else Analysis(word)


def _control(name: str, samples: Iterable[CombinationSample]) -> Combination:
    known = {matched(str(one.combination)): one.combination for one in samples}
    if matched(name) not in known:
        allowed = "; ".join(str(combination) for combination in known.values())
        problem = Problem(f"must be one of: {allowed}", column="--control", value=name, allowed=allowed)
        raise InputError(problem, subject="the command")
    return known[matched(name)]


def compare_document(compared: Iterable[Compared], look: PlannedLook | None = None) -> CompareDocument:
    """Comparisons as a document."""
    part = None
    if look is not None:
        part = LookPart(
            plan=look.plan.name,
            look=look.number,
            looks=look.plan.planned_looks,
            confidence_at_look=look.plan.confidence_at_look,
            due=look.due,
        )
    return CompareDocument(look=part, comparisons=tuple(_comparison_part(one) for one in compared))


def _comparison_part(compared: Compared) -> ComparisonPart:
    comparison = compared.comparison
    return ComparisonPart(
        action=compared.action,
        left_out=tuple(map(str, compared.left_out)),
        analysis=comparison.analysis,
        reason=comparison.reason,
        others=tuple(map(str, comparison.others)),
        control=None if comparison.control is None else str(comparison.control),
        confidence=comparison.confidence,
        combinations=tuple(
            SummaryPart(
                combination=str(one.combination),
                n=one.n,
                n_held=one.n_held,
                batches=one.batches,
                median_mpa=one.median_mpa,
                log_sd=one.log_sd,
                letters=one.letters,
            )
            for one in comparison.summaries
        ),
        effects=tuple(_effect_part(effect) for effect in comparison.effects),
        variance=None if comparison.table is None else variance_part(comparison.table),
        tests=tuple(map(group_test_part, comparison.tests)),
        homogeneity=homogeneity_part(compared.homogeneity, compared.drift),
        breaks=None if compared.breaks is None else breaks_part(compared.breaks),
        trend=None if compared.trend is None else trend_part(compared.trend),
        findings=finding_parts(comparison.findings),
    )


def _effect_part(effect: Effect) -> EffectPart:
    return EffectPart(
        combination=str(effect.combination),
        against=str(effect.against),
        ratio=estimate_part(effect.ratio),
        p_value=effect.p_value,
        shown=effect.shown,
        chance_outlasts=None if effect.chance_outlasts is None else estimate_part(effect.chance_outlasts),
        low_ratio=None if effect.low_ratio is None else estimate_part(effect.low_ratio),
    )
