"""The working bound: the strength the verdict relies on, which neither a wrong family nor an odd batch is to fool."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.strength import hanson_koopmans, weibull_pivot
from jointlab.strength.hanson_koopmans import extremes_of
from jointlab.strength.known_ratio import known_ratio_bound, known_ratio_upper
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family, WorkingBound
from jointlab.strength.weibull_pivot import weibull_bound

SOURCE = "judgement"

RULE = "working 1"
"""Name and version of the rule; a change of the rule is a new version."""

MOST_HELD = 0.5
"""Largest share of held pulls for which a lower bound is given (source key judgement)."""


@dataclass(frozen=True, slots=True)
class _Lower:
    bound_mpa: float | None
    findings: tuple[Finding, ...] = ()


def lower_bound(sample: StrengthSample, *, coverage: float = 0.95, confidence: float = 0.95) -> WorkingBound:
    """Strength that at least ``coverage`` of such joints exceed, said with ``confidence``: the bound to work with.

    Parameters
    ----------
    sample
        Usable strengths of one combination under one action [MPa].
    coverage, confidence
        Both between 0 and 1.

    Returns
    -------
    WorkingBound
        ``bound_mpa``: for complete data the least of the Hanson-Koopmans bound on logarithms and the known-ratio bound
        over batches; for censored data the first alone, with a blocking finding. None where the pulls cannot carry a
        bound; a finding says why. ``upper_mpa``: below it a fail is honest; None for censored data. Source keys
        ``hanson_koopmans``, ``judgement``.

    Examples
    --------
    >>> strengths = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2, 3.7, 4.9], batch=[1, 1, 1, 2, 2, 2])
    >>> round(lower_bound(strengths).bound_mpa, 3)
    0.824
    """
    lower = _lower(sample, coverage, confidence)
    upper = _upper(sample, coverage, confidence)
    return WorkingBound(lower.bound_mpa, upper, RULE, coverage, confidence, lower.findings)


def _upper(sample: StrengthSample, coverage: float, confidence: float) -> float | None:
    """The largest of the upper bounds on the percentile: over batches on strength and logarithm, Weibull without."""
    if not sample.complete or sample.n < 2 or sample.lower_mpa.min() <= 0.0:
        return None
    upper = known_ratio_upper(sample.lower_mpa, sample.batch, coverage=coverage, confidence=confidence)
    if not weibull_pivot.applies_to(sample):
        return upper
    alone = weibull_bound(sample, family=Family.WEIBULL, coverage=coverage, confidence=1.0 - confidence)
    return max(upper, alone)


def _lower(sample: StrengthSample, coverage: float, confidence: float) -> _Lower:
    if not sample.n:
        return _no(FindingCode.NO_USABLE_PULLS, "None of the pulls says anything of the strength.")
    held = int(sample.held.sum())
    if held > MOST_HELD * sample.n:
        text = f"{held} of {sample.n} usable pulls held: more than half, so no lower bound is given."
        return _no(FindingCode.HELD_MOSTLY, f"{text} Pull on a stronger rig or with a smaller bond.")
    extremes = extremes_of(sample)
    if extremes is None:
        text = "Fewer than two joints broke below the lowest load that one held: no lower bound is given."
        return _no(FindingCode.FEW_LOW_BREAKS, text)
    bound = hanson_koopmans.bound_from(extremes, coverage=coverage, confidence=confidence)
    findings = (_unresolved(),) if extremes.unresolved else ()
    if sample.complete:
        over_batches = known_ratio_bound(sample.lower_mpa, sample.batch, coverage=coverage, confidence=confidence)
        return _Lower(min(bound, over_batches), findings)
    return _Lower(bound, (*findings, _not_counted()))


def _no(code: FindingCode, text: str) -> _Lower:
    return _Lower(None, (Finding(code, Severity.WARNING, text),))


def _unresolved() -> Finding:
    text = "A joint broke when handled and neither rig nor load step says what could have been read: the bound is zero."
    return Finding(FindingCode.FIRST_BREAK_UNRESOLVED, Severity.WARNING, text)


def _not_counted() -> Finding:
    text = (
        "Not every break was seen exactly: the bound does not count differences between glue-ups and decides nothing."
    )
    return Finding(FindingCode.BATCHES_NOT_COUNTED, Severity.BLOCKING, text)
