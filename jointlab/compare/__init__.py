"""Glue x substrate, group against group: effects as ratios, shown or not shown."""

from jointlab.compare.compare_combinations import compare_combinations
from jointlab.compare.values import (
    Analysis,
    CombinationSample,
    CombinationSummary,
    Comparison,
    Difference,
    Effect,
    Estimate,
    GroupTest,
)

__all__ = [
    "Analysis",
    "CombinationSample",
    "CombinationSummary",
    "Comparison",
    "Difference",
    "Effect",
    "Estimate",
    "GroupTest",
    "compare_combinations",
]
