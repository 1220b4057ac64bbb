"""Which analysis is recommended for a layout, by stated rules, and why."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.compare.layout import Layout
from jointlab.compare.values import Analysis

SOURCE = "judgement"

RULES = (
    "1. Any strength not seen exactly (held, step, handled): the lognormal accelerated-failure model.",
    "2. Glue-ups that hold several combinations: glue-ups as blocks, one spread for all.",
    "3. Otherwise: each combination keeps a spread of its own.",
)
"""The rules, first match first (source key ``judgement``); the other analyses are there for the asking."""

_COMPLETE = (Analysis.OWN_SPREADS, Analysis.BLOCKS, Analysis.ONE_SPREAD, Analysis.GAMES_HOWELL, Analysis.RANKS)
_ANY = (Analysis.CENSORED_LOGNORMAL, Analysis.CENSORED_WEIBULL)


@dataclass(frozen=True, slots=True)
class Recommendation:
    """An analysis and the sentence saying why."""

    analysis: Analysis
    reason: str


def recommended_for(layout: Layout) -> Recommendation:
    """The first rule that fits the layout."""
    seen = int((layout.lower == layout.upper).sum())
    if seen < layout.n:
        return Recommendation(
            Analysis.CENSORED_LOGNORMAL,
            f"{layout.n - seen} of {layout.n} strengths are known only as more than, less than or between: a lognormal "
            "accelerated-failure model takes each for what it says, with one log-spread for all combinations.",
        )
    if layout.shared:
        where = (
            "every difference is seen within glue-ups, so that what sets glue-ups apart cancels"
            if layout.connected
            else "differences seen only between glue-ups carry the spread assumed between them"
        )
        return Recommendation(
            Analysis.BLOCKS,
            f"Several combinations share glue-ups: glue-ups are blocks, and {where}; one log-spread for all.",
        )
    return Recommendation(
        Analysis.OWN_SPREADS,
        "Every strength was seen and no glue-up is shared: each combination keeps its own log-spread, for no test on "
        "so few pulls could show that spreads agree.",
    )


def applicable_to(layout: Layout) -> tuple[Analysis, ...]:
    """Analyses that can be asked for."""
    return (*_COMPLETE, *_ANY) if layout.complete else _ANY
