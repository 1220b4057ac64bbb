"""Tests over all combinations at once, and the table of variance by glue, substrate and preparation."""

from __future__ import annotations

import numpy as np

from jointlab.compare.anderson_darling import k_sample_anderson_darling
from jointlab.compare.blocks import whitening_of
from jointlab.compare.group_tests import bartlett, kruskal_wallis, levene, one_way_f, welch_f
from jointlab.compare.layout import Layout
from jointlab.compare.log_rank import log_rank
from jointlab.compare.values import GroupTest
from jointlab.compare.variance_table import Factor, VarianceTable, variance_table

MOST_TESTED = 200
"""Beyond this many combinations a test over all at once answers nobody's question (source key ``judgement``)."""


def overall_tests(layout: Layout) -> tuple[GroupTest, ...]:
    """Every test that applies: of complete strengths five, where joints held the log-rank test."""
    if layout.groups > MOST_TESTED:
        return ()
    if not layout.complete:
        between = np.isfinite(layout.upper) & (layout.lower < layout.upper)
        return () if between.any() else (log_rank(np.exp(layout.lower), layout.held, layout.group),)
    values = layout.values()
    tests = [kruskal_wallis(values)]
    if min(float(group.std()) for group in values) > 0.0:
        tests = [one_way_f(values), welch_f(values), *tests, levene(values), bartlett(values)]
    if np.unique(np.concatenate(values)).size > 1:
        tests.append(k_sample_anderson_darling(values))
    return tuple(tests)


def factorial_table(layout: Layout, *, batch_ratio: float) -> VarianceTable | None:
    """Analysis of variance on ln strength; None where strengths are censored or nothing is left over for error.

    Glue-ups stand as blocks in the model where every combination can be compared within them, otherwise as random
    blocks with the assumed ratio.
    """
    factors = factors_of(layout)
    if not layout.complete or not factors or layout.n <= layout.groups or layout.groups > MOST_TESTED:
        return None
    order = len(factors)
    if layout.shared and layout.connected:
        blocks = Factor("glue-up", tuple(str(number) for number in layout.block))
        return variance_table(layout.lower, factors=factors, order=order, blocks=blocks)
    if layout.shared or layout.repeated:
        white = whitening_of(layout, ratio=batch_ratio)
        return variance_table(layout.lower, factors=factors, order=order, whitening=white, ratio=batch_ratio)
    return variance_table(layout.lower, factors=factors, order=order)


def factors_of(layout: Layout) -> tuple[Factor, ...]:
    """Glue, substrate and preparation, those that vary."""
    keys = [layout.combinations[index].key for index in layout.group]
    named = zip(("glue", "substrate", "preparation"), zip(*keys, strict=True), strict=True)
    return tuple(Factor(name, levels) for name, levels in named if len(set(levels)) > 1)
