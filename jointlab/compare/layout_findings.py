"""What a practitioner should know of a comparison beside its numbers."""

from __future__ import annotations

from collections.abc import Iterator

from jointlab.compare.group_tests import levene
from jointlab.compare.layout import Layout
from jointlab.compare.values import Analysis
from jointlab.record.finding import Finding, FindingCode, Severity

SOURCE = "judgement"

_DOUBT = 0.05
_OWN = frozenset({Analysis.OWN_SPREADS, Analysis.GAMES_HOWELL, Analysis.RANKS})
_COUNTING = frozenset({Analysis.OWN_SPREADS, Analysis.BLOCKS, Analysis.CENSORED_LOGNORMAL, Analysis.CENSORED_WEIBULL})


def findings_of(layout: Layout, *, analysis: Analysis, batch_ratio: float) -> tuple[Finding, ...]:
    """Findings of a layout under an analysis."""
    return (*_of_glue_ups(layout, analysis, batch_ratio), *_of_spreads(layout, analysis))


def _of_glue_ups(layout: Layout, analysis: Analysis, ratio: float) -> Iterator[Finding]:
    if not (layout.repeated or layout.shared) or (layout.shared and layout.connected and analysis in _COUNTING):
        return
    if (layout.glue_ups == 1).all() and not layout.shared:
        text = (
            "Every combination comes from one glue-up of its own: what sets combinations apart cannot be told from "
            "what sets glue-ups apart. Glue all combinations in each of several glue-ups."
        )
        yield Finding(FindingCode.GLUE_UP_CONFOUNDED, Severity.WARNING, text)
    if analysis in _COUNTING:
        text = (
            f"Glue-ups are taken to differ {ratio:g} times as much as joints within one; some differences rest on that "
            "assumption. Combinations glued together in the same glue-ups need none."
        )
        yield Finding(FindingCode.GLUE_UPS_ASSUMED, Severity.NOTE, text)
    else:
        text = "This analysis takes every pull as a glue-up of its own: differences between glue-ups are not counted."
        yield Finding(FindingCode.BATCHES_NOT_COUNTED, Severity.WARNING, text)


def _of_spreads(layout: Layout, analysis: Analysis) -> Iterator[Finding]:
    if analysis in _OWN or not layout.complete or min(layout.sizes) < 3:
        return
    values = layout.values()
    if any(float(group.std()) == 0.0 for group in values):
        return
    p = levene(values).p_value
    if p < _DOUBT:
        text = (
            f"Spreads differ (Levene, p {p:.3f}) and this analysis takes one for all: compare with "
            f"{Analysis.OWN_SPREADS}, which does not."
        )
        yield Finding(FindingCode.SPREADS_DIFFER, Severity.WARNING, text)
