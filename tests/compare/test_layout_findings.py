"""Findings of a comparison, one by one."""

from jointlab.compare.layout import Layout
from jointlab.compare.layout_findings import findings_of
from jointlab.compare.values import Analysis
from jointlab.record.finding import FindingCode


def codes(parts, analysis: Analysis) -> list[FindingCode]:
    return [finding.code for finding in findings_of(Layout.of(parts), analysis=analysis, batch_ratio=1.0)]


def test_pulls_of_glue_ups_of_their_own_raise_nothing(sample_of) -> None:
    parts = [sample_of("maple", [4.0, 4.2, 4.5]), sample_of("mdf", [1.0, 1.1, 1.2])]
    assert codes(parts, Analysis.OWN_SPREADS) == []


def test_one_spread_for_spreads_that_differ_is_questioned(sample_of) -> None:
    parts = [
        sample_of("maple", [4.0, 4.01, 4.02, 3.99, 3.98, 4.0, 4.01]),
        sample_of("mdf", [1.0, 2.0, 0.5, 3.0, 0.7, 1.5, 2.5]),
    ]
    assert codes(parts, Analysis.ONE_SPREAD) == [FindingCode.SPREADS_DIFFER]
    assert codes(parts, Analysis.OWN_SPREADS) == []


def test_glue_ups_an_analysis_does_not_count_are_named(sample_of) -> None:
    parts = [
        sample_of("maple", [4.0, 4.2, 4.5, 4.1], glue_ups=["A", "A", "B", "B"]),
        sample_of("mdf", [1.0, 1.1, 1.2, 1.3], glue_ups=["C", "C", "D", "D"]),
    ]
    assert codes(parts, Analysis.RANKS) == [FindingCode.BATCHES_NOT_COUNTED]
    assert codes(parts, Analysis.OWN_SPREADS) == [FindingCode.GLUE_UPS_ASSUMED]
