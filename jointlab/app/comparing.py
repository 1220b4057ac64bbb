"""Compare the combinations of a book, action by action, and say it as a document."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from jointlab.app import workflow
from jointlab.app.answers import finding_parts
from jointlab.app.documents import Answer, Document, FindingPart
from jointlab.book.stored import EVERY_PULL, PullSelection
from jointlab.compare.compare_combinations import compare_combinations
from jointlab.compare.values import Analysis, CombinationSample, Comparison, Effect, Estimate
from jointlab.errors import AnalysisError, InputError, Problem
from jointlab.record.joint import Combination
from jointlab.record.names import matched
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample

FEWEST = 2
"""Usable pulls without which a combination shows no spread and is left out, which is said."""


@dataclass(frozen=True, slots=True)
class Compared:
    """The comparison under one action, and the combinations left out of it for want of pulls."""

    action: Action
    left_out: tuple[Combination, ...]
    comparison: Comparison


class EstimatePart(Document):
    """A number with the ends of its simultaneous interval."""

    value: float
    lower: float | None
    upper: float | None


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
    confidence: float
    combinations: tuple[SummaryPart, ...]
    effects: tuple[EffectPart, ...]
    findings: tuple[FindingPart, ...]


class CompareDocument(Answer):
    """Answer of ``compare``."""

    comparisons: tuple[ComparisonPart, ...]


def compare_in(
    place: str | Path | None,
    selection: PullSelection = EVERY_PULL,
    *,
    control: str | None = None,
    analysis: str | None = None,
    confidence: float = 0.95,
) -> tuple[Compared, ...]:
    """A comparison for each action under which a selection has two combinations or more.

    Raises
    ------
    InputError
        There is no such analysis, or the control is none of the combinations.
    AnalysisError
        Under no action are there two combinations with pulls enough.
    """
    chosen = _analysis(analysis)
    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in book.pulls(selection))
    samples: dict[Action, list[CombinationSample]] = {}
    for combination, action, stresses in workflow.grouped(pulls):
        samples.setdefault(action, []).append(CombinationSample(combination, StrengthSample.of_stresses(stresses)))
    against = None if control is None else _control(control, [one for each in samples.values() for one in each])
    compared = []
    for action, each in samples.items():
        enough = [one for one in each if one.sample.n >= FEWEST]
        left_out = tuple(one.combination for one in each if one.sample.n < FEWEST)
        asked = against is None or any(one.combination.key == against.key for one in enough)
        if len(enough) > 1 and asked:
            comparison = compare_combinations(enough, control=against, confidence=confidence, analysis=chosen)
            compared.append(Compared(action, left_out, comparison))
    if not compared:
        told = "Under no action are there two combinations with two usable pulls each: nothing to compare."
        raise AnalysisError(told)
    return tuple(compared)


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


def compare_document(compared: Iterable[Compared]) -> CompareDocument:
    """Comparisons as a document."""
    return CompareDocument(comparisons=tuple(_comparison_part(one) for one in compared))


def _comparison_part(compared: Compared) -> ComparisonPart:
    comparison = compared.comparison
    return ComparisonPart(
        action=compared.action,
        left_out=tuple(map(str, compared.left_out)),
        analysis=comparison.analysis,
        reason=comparison.reason,
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
        findings=finding_parts(comparison.findings),
    )


def _effect_part(effect: Effect) -> EffectPart:
    return EffectPart(
        combination=str(effect.combination),
        against=str(effect.against),
        ratio=_estimate_part(effect.ratio),
        p_value=effect.p_value,
        shown=effect.shown,
        chance_outlasts=None if effect.chance_outlasts is None else _estimate_part(effect.chance_outlasts),
        low_ratio=None if effect.low_ratio is None else _estimate_part(effect.low_ratio),
    )


def _estimate_part(estimate: Estimate) -> EstimatePart:
    return EstimatePart(value=estimate.value, lower=estimate.lower, upper=estimate.upper)
