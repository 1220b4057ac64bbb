"""Findings of the tests against the mount: each blocking one keeps a verdict from being a pass."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.setup import BlankGrain, BlankJoint, Grain, HoldKind, Surface
from jointlab.record.finding import FindingCode, Severity
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import GlueFamily, Interlayer, SubstrateKind
from jointlab.verdict.blocking import evidence_findings, mount_findings, no_pulls, proof_first
from jointlab.verdict.decide import decide
from jointlab.verdict.proof import proof_plan
from jointlab.verdict.values import Outcome


def blocking(findings):
    return {finding.code for finding in findings if finding.blocks}


def test_a_sound_mount_on_sound_tests_has_nothing_in_the_way(setup, make_evidence):
    assert blocking(evidence_findings(setup, make_evidence())) == set()
    assert mount_findings(setup) == ()


def test_four_pulls_and_one_glue_up_are_in_the_way(setup, make_evidence):
    found = blocking(evidence_findings(setup, make_evidence(n=4, batches=1)))
    assert found == {FindingCode.FEW_PULLS, FindingCode.ONE_BATCH}


def test_more_than_half_held_is_in_the_way(setup, make_evidence):
    evidence = make_evidence()

    def with_held(n_held):
        strength = replace(evidence.tension.strength, n_held=n_held)
        return replace(evidence, tension=replace(evidence.tension, strength=strength))

    assert blocking(evidence_findings(setup, with_held(6))) == {FindingCode.HELD_MOSTLY}
    assert blocking(evidence_findings(setup, with_held(5))) == set()


def test_end_grain_on_evidence_from_face_grain_is_in_the_way(setup, make_evidence):
    end = replace(setup, block=replace(setup.block, kind=SubstrateKind.SOLID_END, grain=Grain.END))
    assert blocking(evidence_findings(end, make_evidence())) == {FindingCode.END_GRAIN_ON_FACE}
    assert blocking(evidence_findings(end, make_evidence(kinds=(SubstrateKind.SOLID_END,)))) == set()


@pytest.mark.parametrize("kind", [SubstrateKind.PLYWOOD, SubstrateKind.MDF, SubstrateKind.SEGMENTED, SubstrateKind.OSB])
def test_evidence_from_another_kind_of_substrate_is_in_the_way(setup, make_evidence, kind):
    board = replace(setup, block=replace(setup.block, kind=kind, wood=None))
    assert FindingCode.KIND_DIFFERS in blocking(evidence_findings(board, make_evidence()))
    assert blocking(evidence_findings(board, make_evidence(kinds=(kind,)))) == set()


def test_face_and_edge_grain_speak_for_each_other(setup, make_evidence):
    edge = make_evidence(kinds=(SubstrateKind.SOLID_EDGE,))
    assert blocking(evidence_findings(setup, edge)) == set()


def test_several_kinds_under_one_name_are_told(setup, make_evidence):
    mixed = make_evidence(kinds=(SubstrateKind.SOLID_FACE, SubstrateKind.PLYWOOD))
    assert FindingCode.KINDS_MIXED in {finding.code for finding in evidence_findings(setup, mixed)}


@pytest.mark.parametrize("interlayer", [Interlayer.PAPER, Interlayer.TAPE])
def test_a_stack_that_was_not_tested_is_in_the_way(setup, make_evidence, interlayer):
    stacked = replace(setup, joint=replace(setup.joint, interlayer=interlayer))
    assert FindingCode.INTERLAYER_DIFFERS in blocking(evidence_findings(stacked, make_evidence()))
    tested = make_evidence(interlayers=(interlayer,))
    assert FindingCode.INTERLAYER_DIFFERS not in blocking(evidence_findings(stacked, tested))
    assert FindingCode.INTERLAYER_DIFFERS in blocking(evidence_findings(setup, tested))


@pytest.mark.parametrize("family", [GlueFamily.HOT_MELT, GlueFamily.TAPE, GlueFamily.CYANOACRYLATE])
def test_hot_melt_tape_and_cyanoacrylate_alone_are_for_a_kilogram(setup, make_evidence, family):
    evidence = make_evidence(families=(family,))
    assert FindingCode.SOLE_BOND_WEAK in blocking(evidence_findings(setup, evidence))
    light = replace(setup, blank=replace(setup.blank, mass_kg=1.0))
    assert blocking(evidence_findings(light, evidence)) == set()


@pytest.mark.parametrize(
    ("families", "in_the_way"),
    [((GlueFamily.PVA,), True), ((GlueFamily.HIDE,), True), ((), True), ((GlueFamily.POLYURETHANE,), False)],
)
def test_a_green_blank_needs_a_glue_that_takes_damp_wood(setup, make_evidence, families, in_the_way):
    green = replace(setup, blank=replace(setup.blank, moisture_pct=25.0))
    found = blocking(evidence_findings(green, make_evidence(families=families)))
    assert (FindingCode.GREEN_BLANK in found) is in_the_way
    dry = replace(setup, blank=replace(setup.blank, moisture_pct=24.9))
    assert blocking(evidence_findings(dry, make_evidence(families=families))) == set()


def test_voided_sheet_goods_need_a_proof_of_the_mount(setup, make_evidence):
    sheet = replace(setup, block=replace(setup.block, kind=SubstrateKind.PLYWOOD, wood=None))
    voided = make_evidence(kinds=(SubstrateKind.PLYWOOD,), void_pct=5.0)
    assert blocking(evidence_findings(sheet, voided)) == {FindingCode.SHEET_VOIDS}
    assert blocking(evidence_findings(sheet, voided, proofed=1.4)) == {FindingCode.SHEET_VOIDS}
    assert blocking(evidence_findings(sheet, voided, proofed=1.5)) == set()
    whole = make_evidence(kinds=(SubstrateKind.PLYWOOD,))
    assert blocking(evidence_findings(sheet, whole)) == set()
    gapped = replace(sheet, joint=replace(sheet.joint, void_pct=3.0))
    assert blocking(evidence_findings(gapped, whole)) == {FindingCode.SHEET_VOIDS}
    assert blocking(evidence_findings(setup, make_evidence(void_pct=5.0))) == set()


def test_an_end_grain_blank_is_told_not_compared(setup, make_evidence):
    spindle = replace(setup, blank=replace(setup.blank, grain=BlankGrain.END))
    found = [f for f in evidence_findings(spindle, make_evidence()) if f.code is FindingCode.NOT_COMPARED]
    assert [finding.severity for finding in found] == [Severity.WARNING]


def test_screws_that_are_not_described_and_grips_without_a_source_are_in_the_way(setup):
    assert blocking(mount_findings(replace(setup, screws=None))) == {FindingCode.LINK_UNRATED}
    jaws = replace(setup, hold=replace(setup.hold, kind=HoldKind.TENON_IN_JAWS))
    assert blocking(mount_findings(jaws)) == {FindingCode.LINK_UNRATED}


def test_a_segmented_blank_without_its_joints_is_told(setup):
    segmented = replace(setup, blank=replace(setup.blank, grain=BlankGrain.SEGMENTED))
    assert [f.code for f in mount_findings(segmented)] == [FindingCode.BLANK_JOINTS_UNRATED]
    ring = BlankJoint(20.0, 200.0, 100.0, setup.joint.combination)
    assert mount_findings(replace(segmented, blank_joints=(ring,))) == ()


def test_no_pulls_names_the_nearest(setup):
    finding = no_pulls(setup, ["white glue on maple offcut"])
    assert finding.blocks
    assert "white glue on maple offcut" in finding.text


STRONG, WEAK = (400.0, 600.0), (0.1, 0.2)


def part(setup, name, **changes):
    return replace(setup, **{name: replace(getattr(setup, name), **changes)})


def mostly_held(evidence):
    strength = replace(evidence.tension.strength, n_broke=4, n_held=6)
    return replace(evidence, tension=replace(evidence.tension, strength=strength))


PLY = {"kinds": (SubstrateKind.PLYWOOD,)}

NEVER = {
    "a joint younger than a day": (FindingCode.JOINT_YOUNG, lambda s: part(s, "joint", age_h=23.9), {}),
    "an oily surface": (FindingCode.SURFACE_UNRATED, lambda s: part(s, "joint", surface=Surface.OILY), {}),
    "a waxed surface": (FindingCode.SURFACE_UNRATED, lambda s: part(s, "joint", surface=Surface.WAXED), {}),
    "a wet surface": (FindingCode.SURFACE_UNRATED, lambda s: part(s, "joint", surface=Surface.WET), {}),
    "more than 2 % moisture apart": (
        FindingCode.MOISTURE_APART,
        lambda s: part(part(s, "blank", moisture_pct=12.1), "block", moisture_pct=10.0),
        {},
    ),
    "a green blank on a glue that needs dry wood": (
        FindingCode.GREEN_BLANK,
        lambda s: part(s, "blank", moisture_pct=30.0),
        {},
    ),
    "hot melt alone over a kilogram": (FindingCode.SOLE_BOND_WEAK, None, {"families": (GlueFamily.HOT_MELT,)}),
    "tape alone over a kilogram": (FindingCode.SOLE_BOND_WEAK, None, {"families": (GlueFamily.TAPE,)}),
    "cyanoacrylate alone over a kilogram": (
        FindingCode.SOLE_BOND_WEAK,
        None,
        {"families": (GlueFamily.CYANOACRYLATE,)},
    ),
    "an end-grain block on face-grain evidence": (
        FindingCode.END_GRAIN_ON_FACE,
        lambda s: part(s, "block", kind=SubstrateKind.SOLID_END, grain=Grain.END),
        {},
    ),
    "a block of another kind than the tested one": (
        FindingCode.KIND_DIFFERS,
        lambda s: part(s, "block", kind=SubstrateKind.SEGMENTED),
        {},
    ),
    "a stack that was not tested": (
        FindingCode.INTERLAYER_DIFFERS,
        lambda s: part(s, "joint", interlayer=Interlayer.PAPER),
        {},
    ),
    "one batch only": (FindingCode.ONE_BATCH, None, {"batches": 1}),
    "fewer than five pulls": (FindingCode.FEW_PULLS, None, {"n": 4}),
    "sheet goods with voids cleared by coupons alone": (
        FindingCode.SHEET_VOIDS,
        lambda s: part(s, "block", kind=SubstrateKind.PLYWOOD),
        PLY | {"void_pct": 3.0},
    ),
    "screws not described": (FindingCode.LINK_UNRATED, lambda s: replace(s, screws=None), {}),
    "a hold nothing rates": (FindingCode.LINK_UNRATED, lambda s: part(s, "hold", kind=HoldKind.TENON_IN_JAWS), {}),
    "two screws": (FindingCode.SCREWS_UNRATED, lambda s: part(s, "screws", count=2), {}),
    "screws without a pilot hole": (FindingCode.SCREWS_UNRATED, lambda s: part(s, "screws", pilot=False), {}),
    "screws in stripped holes": (FindingCode.SCREWS_UNRATED, lambda s: part(s, "screws", reused=True), {}),
    "a joint inside the blank that nothing rates": (
        FindingCode.LINK_UNRATED,
        lambda s: replace(s, blank_joints=(BlankJoint(50.0, 290.0, 220.0, Combination("yellow glue", "stave")),)),
        {},
    ),
}


def in_the_way(verdict):
    return {finding.code for finding in verdict.findings if finding.blocks}


def test_without_any_of_them_the_mount_passes(setup, make_evidence):
    verdict = decide(setup, make_evidence(*STRONG))
    assert (verdict.verdict, in_the_way(verdict)) == (Outcome.PASS, set())


@pytest.mark.parametrize("case", NEVER)
def test_no_strength_buys_a_pass(setup, make_evidence, case):
    code, changed, parts = NEVER[case]
    mount = setup if changed is None else changed(setup)
    verdict = decide(mount, make_evidence(*STRONG, **parts))
    assert verdict.verdict is Outcome.UNDECIDED
    assert code in in_the_way(verdict)
    assert any(f"({code})" in reason for reason in verdict.reasons)


@pytest.mark.parametrize("case", NEVER)
def test_what_blocks_a_pass_makes_no_fail_and_undoes_none(setup, make_evidence, case):
    code, changed, parts = NEVER[case]
    mount = setup if changed is None else changed(setup)
    verdict = decide(mount, make_evidence(*WEAK, **parts))
    unrated = code is FindingCode.SURFACE_UNRATED
    assert verdict.verdict is (Outcome.UNDECIDED if unrated else Outcome.FAIL)


def test_more_than_half_of_the_pulls_held_is_never_a_pass(setup, make_evidence):
    assert decide(setup, make_evidence(*STRONG)).verdict is Outcome.PASS
    verdict = decide(setup, mostly_held(make_evidence(*STRONG)))
    assert (verdict.verdict, in_the_way(verdict)) == (Outcome.UNDECIDED, {FindingCode.HELD_MOSTLY})


@pytest.mark.parametrize("proofed", [1.49, 1.5])
def test_a_proof_of_this_mount_clears_the_voids_of_a_sheet(setup, make_evidence, proofed):
    code, changed, parts = NEVER["sheet goods with voids cleared by coupons alone"]
    verdict = decide(changed(setup), make_evidence(*STRONG, **parts), proofed=proofed)
    assert (code in in_the_way(verdict)) is (proofed < 1.5)


def test_a_pass_on_sheet_goods_asks_for_a_proof_of_the_very_mount_with_its_load(setup, make_evidence):
    evidence = make_evidence(9.0, 12.0, kinds=(SubstrateKind.PLYWOOD,))
    sheet = replace(setup, block=replace(setup.block, kind=SubstrateKind.PLYWOOD, wood=None))
    passed = [found for found in proof_first(sheet, evidence) if found.code is FindingCode.PROOF_FIRST]
    assert f"{proof_plan(sheet).force_n:.0f} N" in passed[0].text
    assert passed[0].text.startswith("Sheet goods: proof this mount before the first cut.")
    assert proof_first(sheet, evidence, proofed=1.5) == ()
    assert len(proof_first(sheet, evidence, proofed=1.4)) == 1
    assert proof_first(setup, make_evidence(9.0, 12.0)) == ()


def test_only_a_pass_carries_that_condition(setup, make_evidence):
    sheet = replace(setup, block=replace(setup.block, kind=SubstrateKind.PLYWOOD, wood="sugar maple"))
    for bound_mpa, told in ((90.0, True), (0.2, False)):
        verdict = decide(sheet, make_evidence(bound_mpa, 95.0, kinds=(SubstrateKind.PLYWOOD,)))
        assert (verdict.verdict is Outcome.PASS) is told
        assert (FindingCode.PROOF_FIRST in {found.code for found in verdict.findings}) is told
