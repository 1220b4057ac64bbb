"""The comparison as a whole: analysis chosen by rule, effects, letters, findings."""

import math

import pytest

from jointlab.compare import Analysis, Difference, compare_combinations
from jointlab.errors import AnalysisError
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination


def test_a_strong_combination_is_shown_stronger_by_a_ratio_with_its_interval(drawn) -> None:
    got = compare_combinations(drawn([2.0, 1.0], 10))
    (effect,) = got.effects
    assert got.analysis is Analysis.OWN_SPREADS
    assert effect.shown is Difference.STRONGER
    assert (effect.combination.substrate, effect.against.substrate) == ("wood 0", "wood 1")
    assert 1.0 < effect.ratio.lower < effect.ratio.value < effect.ratio.upper
    assert effect.ratio.value == pytest.approx(2.0, rel=0.25)
    assert effect.p_value < 0.001
    assert effect.chance_outlasts.value > 0.95
    assert effect.low_ratio.lower < effect.low_ratio.value < effect.low_ratio.upper


def test_combinations_not_shown_different_share_a_letter_and_are_never_called_alike(drawn) -> None:
    got = compare_combinations(drawn([1.0, 1.02, 3.0], 8))
    letters = {summary.combination.substrate: summary.letters for summary in got.summaries}
    assert letters == {"wood 2": "a", "wood 0": "b", "wood 1": "b"}
    assert got.summaries[0].combination.substrate == "wood 2"
    unshown = [effect for effect in got.effects if effect.shown is Difference.NOT_SHOWN]
    assert len(unshown) == 1
    assert "equal" not in unshown[0].shown


def test_against_a_control_only_its_differences_are_the_family(drawn) -> None:
    parts = drawn([1.0, 1.5, 2.0, 0.7], 8)
    got = compare_combinations(parts, control=parts[0].combination)
    assert [effect.against.substrate for effect in got.effects] == ["wood 0"] * 3
    assert {summary.letters for summary in got.summaries} == {""}
    pairs = compare_combinations(parts)
    wide = next(e for e in pairs.effects if {e.combination.substrate, e.against.substrate} == {"wood 0", "wood 1"})
    near = got.effects[0]
    assert math.log(near.ratio.upper / near.ratio.lower) < math.log(wide.ratio.upper / wide.ratio.lower)


def test_shared_glue_ups_are_blocks_and_their_shifts_cancel(drawn) -> None:
    parts = drawn([1.0, 1.3, 1.3], 8, shared=True)
    blocked = compare_combinations(parts)
    loose = compare_combinations(parts, analysis=Analysis.ONE_SPREAD)
    assert blocked.analysis is Analysis.BLOCKS

    def width(comparison) -> float:
        return math.log(comparison.effects[0].ratio.upper / comparison.effects[0].ratio.lower)

    assert width(blocked) < width(loose)
    assert [finding.code for finding in loose.findings] == [FindingCode.BATCHES_NOT_COUNTED]
    assert blocked.table is not None
    assert [line.term for line in blocked.table.lines] == ["substrate", "glue-up"]


def test_joints_that_held_call_for_an_accelerated_failure_model(sample_of) -> None:
    strong = sample_of("maple", [4.0, 4.4, 5.0, 5.0, 5.0, 4.7], held=[False, False, True, True, True, False])
    weak = sample_of("mdf", [1.0, 1.1, 0.9, 1.2, 1.0, 0.8])
    got = compare_combinations([weak, strong])
    assert got.analysis is Analysis.CENSORED_LOGNORMAL
    assert "3 of 12 strengths" in got.reason
    assert got.effects[0].shown is Difference.STRONGER
    assert got.effects[0].combination.substrate == "maple"
    assert got.others == (Analysis.CENSORED_WEIBULL,)
    assert [test.name for test in got.tests] == ["log-rank"]
    with pytest.raises(AnalysisError, match="needs every strength seen exactly"):
        compare_combinations([weak, strong], analysis=Analysis.RANKS)


def test_one_glue_up_for_each_combination_says_that_they_cannot_be_told_apart(sample_of) -> None:
    one = sample_of("maple", [4.0, 4.4, 5.0, 4.6], glue_ups=["A"] * 4)
    other = sample_of("mdf", [3.4, 3.6, 3.3, 3.7], glue_ups=["B"] * 4)
    got = compare_combinations([one, other])
    assert [finding.code for finding in got.findings] == [
        FindingCode.GLUE_UP_CONFOUNDED,
        FindingCode.GLUE_UPS_ASSUMED,
    ]
    assert got.effects[0].shown is Difference.NOT_SHOWN
    trusting = compare_combinations([one, other], batch_ratio=0.0)
    assert trusting.effects[0].shown is Difference.STRONGER


def test_what_cannot_be_compared_is_left_out_by_name(sample_of) -> None:
    good = [sample_of("maple", [4.0, 4.4, 5.0]), sample_of("mdf", [1.0, 1.2, 1.1])]
    single = sample_of("oak", [3.0])
    unbroken = sample_of("ash", [5.0, 5.0, 5.0], held=[True] * 3)
    got = compare_combinations([*good, single, unbroken])
    assert len(got.summaries) == 2
    assert [finding.code for finding in got.findings] == [FindingCode.TOO_FEW_TO_COMPARE, FindingCode.NO_BREAK]
    with pytest.raises(AnalysisError, match="needs two combinations"):
        compare_combinations([good[0], single])


def test_an_unknown_control_is_named_with_what_there_is(drawn) -> None:
    with pytest.raises(AnalysisError, match=r"yellow on walnut is not among .*yellow on wood 0"):
        compare_combinations(drawn([1.0, 2.0], 4), control=Combination("yellow", "walnut"))


def test_an_analysis_asked_for_is_used_and_the_recommended_one_named(drawn) -> None:
    got = compare_combinations(drawn([1.0, 2.0], 6), analysis=Analysis.GAMES_HOWELL)
    assert got.analysis is Analysis.GAMES_HOWELL
    assert got.reason.startswith("Asked for. Recommended here: own_spreads.")


@pytest.mark.parametrize("analysis", list(Analysis))
def test_every_analysis_sees_a_threefold_strength(drawn, analysis: Analysis) -> None:
    got = compare_combinations(drawn([1.0, 1.1, 3.0], 10), analysis=analysis)
    shown = {(e.combination.substrate, e.against.substrate) for e in got.effects if e.shown is Difference.STRONGER}
    assert shown == {("wood 2", "wood 0"), ("wood 2", "wood 1")}
    assert all(e.p_value < 0.01 for e in got.effects if e.shown is Difference.STRONGER)
