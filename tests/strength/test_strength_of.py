from dataclasses import replace

from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action, SubstrateKind
from jointlab.strength import CombinationStrength, Family, combination_strength
from jointlab.stress.joint_stress import JointStress

COMBINATION = Combination("yellow glue", "plywood")


def stress(lower: float, upper: float | None, *, batch: str = "a", told: bool = True) -> JointStress:
    return JointStress(batch, f"{lower} {upper}", lower, upper, 0.05, carries_information=told)


def strength_of(*stresses: JointStress) -> CombinationStrength:
    return combination_strength(stresses, combination=COMBINATION, action=Action.PRY, replicates=60)


def codes(strength: CombinationStrength) -> set[FindingCode]:
    return {finding.code for finding in strength.findings}


def test_coupons_of_sheet_goods_clear_no_rare_void() -> None:
    sheet = replace(stress(3.0, 3.0), substrate_kind=SubstrateKind.PLYWOOD)
    solid = replace(stress(3.0, 3.0), substrate_kind=SubstrateKind.SOLID_FACE)
    assert FindingCode.COUPONS_MISS_VOIDS in codes(strength_of(sheet, stress(4.0, 4.0)))
    assert FindingCode.COUPONS_MISS_VOIDS not in codes(strength_of(solid, stress(4.0, 4.0)))


def test_a_strength_far_out_is_named_and_used_all_the_same() -> None:
    got = strength_of(*(stress(x, x) for x in (4.0, 4.2, 3.9, 4.1, 4.3, 0.9)))
    assert FindingCode.OUTLIER in codes(got)
    assert got.n_usable == 6


def test_pulls_are_counted_by_what_they_say() -> None:
    got = strength_of(
        stress(3.0, 3.0),
        stress(3.5, 4.0, batch="b"),
        stress(0.0, 1.0),
        stress(5.0, None, batch="b"),
        stress(0.0, None, batch="c", told=False),
    )
    assert (got.n, got.n_usable, got.n_broke, got.n_held) == (5, 4, 3, 1)
    assert (got.batches, got.batch_names) == (2, ("a", "b"))
    assert (got.combination, got.action) == (COMBINATION, Action.PRY)
    assert FindingCode.NO_INFORMATION in codes(got)


def test_a_handful_from_one_glue_up_says_both() -> None:
    assert {FindingCode.FEW_PULLS, FindingCode.ONE_BATCH} <= codes(strength_of(*map(stress, [3.0] * 4, [3.0] * 4)))
    loads = [3.0, 3.2, 3.4, 3.8, 4.1]
    five = strength_of(*(stress(load, load, batch=str(number % 2)) for number, load in enumerate(loads)))
    assert codes(five) == set()


def test_no_break_one_break_and_no_spread_are_told() -> None:
    assert FindingCode.NO_BREAK in codes(strength_of(stress(3.0, None), stress(4.0, None)))
    assert FindingCode.ONE_BREAK in codes(strength_of(stress(3.0, 3.0), stress(4.0, None)))
    assert FindingCode.NO_SPREAD_SEEN in codes(strength_of(stress(3.0, 4.0), stress(3.0, 4.0)))
    assert FindingCode.NO_SPREAD_SEEN in codes(strength_of(stress(3.0, 3.0), stress(3.0, 3.0)))
    assert FindingCode.NO_SPREAD_SEEN not in codes(strength_of(stress(3.0, 3.0), stress(3.1, 3.1)))


def test_every_family_is_there_even_without_a_fit() -> None:
    for strength in (strength_of(), strength_of(stress(3.0, 3.0)), strength_of(stress(3.0, 3.0), stress(4.0, 4.0))):
        assert [fitted.family for fitted in strength.families] == list(Family)
    assert FindingCode.NO_USABLE_PULLS in codes(strength_of())


def test_what_was_asked_is_what_is_answered() -> None:
    got = combination_strength(
        [stress(3.0, 3.0), stress(4.0, 4.0)],
        combination=COMBINATION,
        action=Action.PULL,
        coverage=0.9,
        confidence=0.75,
    )
    assert {(bound.coverage, bound.confidence) for bound in got.bounds} == {(0.9, 0.75)}
    assert (got.working_bound.coverage, got.working_bound.confidence) == (0.9, 0.75)
