"""Summaries and effects of one analysis, in the order of the layout and of the family."""

import math

import numpy as np
import pytest

from jointlab.compare.analysed import analysed
from jointlab.compare.layout import Layout
from jointlab.compare.many_to_one import dunnett
from jointlab.compare.values import Analysis


def test_with_one_spread_a_control_calls_for_dunnett(drawn) -> None:
    layout = Layout.of(drawn([1.0, 1.4, 2.0], 6))
    family = [(0, 1), (2, 1)]
    _, effects = analysed(layout, analysis=Analysis.ONE_SPREAD, family=family, confidence=0.95, batch_ratio=1.0)
    values = layout.values()
    expected = dunnett(values[1], [values[0], values[2]], confidence=0.95)
    for effect, pair in zip(effects, expected, strict=True):
        assert math.log(effect.ratio.lower) == pytest.approx(pair.lower)
        assert effect.p_value == pytest.approx(pair.p_value)
    assert [effect.against.substrate for effect in effects] == ["wood 1", "wood 1"]


def test_summaries_count_pulls_held_and_glue_ups(sample_of) -> None:
    parts = [
        sample_of("maple", [4.0, 4.4, 5.0], glue_ups=["A", "A", "B"], held=[False, False, True]),
        sample_of("mdf", [1.0, 1.2], glue_ups=["C", "D"]),
    ]
    summaries, _ = analysed(
        Layout.of(parts), analysis=Analysis.CENSORED_LOGNORMAL, family=[(0, 1)], confidence=0.95, batch_ratio=1.0
    )
    assert [(s.n, s.n_held, s.batches) for s in summaries] == [(3, 1, 2), (2, 0, 2)]
    assert summaries[0].low_mpa < summaries[0].median_mpa


def test_plain_summaries_are_geometric_means(drawn) -> None:
    parts = drawn([1.0, 2.0], 5)
    layout = Layout.of(parts)
    summaries, _ = analysed(layout, analysis=Analysis.RANKS, family=[(0, 1)], confidence=0.95, batch_ratio=1.0)
    logs = np.log(parts[1].sample.lower_mpa)
    assert summaries[1].median_mpa == pytest.approx(math.exp(logs.mean()))
    assert summaries[1].log_sd == pytest.approx(logs.std(ddof=1))
