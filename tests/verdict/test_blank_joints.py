"""Joints inside the blank: rated by tests of their own combination, when there are enough of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.errors import InputError
from jointlab.mount.demand import Case
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import BlankJoint
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination, Disc, Ring
from jointlab.record.vocabulary import Interlayer
from jointlab.verdict.assessed import assessed, mount_capacity
from jointlab.verdict.blank_joints import as_mount, blank_joint_factors, blank_joint_findings
from jointlab.verdict.decide import decide
from jointlab.verdict.required import required_strength
from jointlab.verdict.stands import stands_n
from jointlab.verdict.values import Basis, Outcome

STAVES = Combination("yellow glue", "stave", "")


@pytest.fixture
def ringed(setup):
    """The blank of the worked examples with one ring joint half way up, hollowed to 220 mm."""
    return replace(setup, blank_joints=(BlankJoint(50.0, 290.0, 220.0, STAVES),))


def with_own(evidence, *own):
    return replace(evidence, blank_joints=own)


def link(found, name):
    return next(each for each in found.links if each.link == name)


def test_a_joint_of_the_blank_with_enough_tests_of_its_own_is_rated_by_them(ringed, make_evidence):
    own = make_evidence(2.0, 5.0, area_mm2=1e6, shear=(1.0, 3.0), moisture_pct=None)
    inside = link(assessed(ringed, with_own(make_evidence(4.0, 6.0), own)), "blank_joint_1")
    assert (inside.basis, inside.case) == (Basis.TESTS, Case.CATCH_SEVERE)
    asked = next(
        each for each in mount_demand(ringed).links if each.link == "blank_joint_1" and each.case is Case.CATCH_SEVERE
    ).over_points
    # all factors are 1.0 but that of a glue-up that was not tested, 0.95
    used = ((asked.tension_mpa / (0.95 * 2.0)) ** 2 + (asked.shear_mpa / (0.95 * 1.0)) ** 2) ** 0.5
    assert inside.margin_lower == pytest.approx(1.0 / used.max(), rel=1e-12)
    used = ((asked.tension_mpa / (0.95 * 5.0)) ** 2 + (asked.shear_mpa / (0.95 * 3.0)) ** 2) ** 0.5
    assert inside.margin_upper == pytest.approx(1.0 / used.max(), rel=1e-12)


def test_the_least_margin_governs_though_it_stands_inside_the_blank(ringed, make_evidence):
    verdict = decide(ringed, with_own(make_evidence(4.0, 6.0), make_evidence(0.3, 0.9)))
    assert (verdict.governing_link, verdict.verdict) == ("blank_joint_1", Outcome.FAIL)
    assert verdict.margin_lower == link(verdict, "blank_joint_1").margin_lower < link(verdict, "glue_line").margin_lower
    strong = decide(ringed, with_own(make_evidence(4.0, 6.0), make_evidence(40.0, 60.0)))
    assert (strong.governing_link, strong.verdict) == ("screws", Outcome.PASS)


@pytest.mark.parametrize("own", [None, {"n": 4}, {"batches": 1}])
def test_with_too_few_tests_of_its_own_it_is_unrated_and_cannot_pass(ringed, make_evidence, own):
    evidence = with_own(make_evidence(40.0, 60.0), None if own is None else make_evidence(40.0, 60.0, **own))
    verdict = decide(ringed, evidence)
    inside = link(verdict, "blank_joint_1")
    assert (inside.margin_lower, inside.margin_upper, inside.basis) == (None, None, Basis.UNRATED)
    assert verdict.verdict is Outcome.UNDECIDED
    (told,) = [each.text for each in verdict.findings if each.code is FindingCode.LINK_UNRATED]
    assert told.startswith("Joint 1 inside the blank (yellow glue on stave): ")
    (way,) = [each.text for each in verdict.would_settle if "inside the blank" in each.text]
    assert way.startswith("Tests of yellow glue on stave, the joint 1 inside the blank: 5 pries or more, in 2 glue-ups")


def test_joints_that_were_not_looked_for_are_unrated_as_before(ringed, make_evidence):
    verdict = decide(ringed, make_evidence(40.0, 60.0))
    assert link(verdict, "blank_joint_1").basis is Basis.UNRATED
    assert verdict.verdict is Outcome.UNDECIDED


def test_its_factors_go_by_its_own_outline_and_are_shown_under_its_name(ringed, make_evidence):
    inner = as_mount(ringed, ringed.blank_joints[0])
    assert inner.joint.outline == Ring(290.0, 220.0)
    assert as_mount(ringed, replace(ringed.blank_joints[0], inner_mm=0.0)).joint.outline == Disc(290.0)
    evidence = with_own(make_evidence(4.0, 6.0), make_evidence(2.0, 5.0))
    factors = {each.name: each.value for each in blank_joint_factors(ringed, evidence)}
    # (1963.5 / 28039 mm2) to the power 0.20: a ring of 290 and 220 mm is pi (290^2 - 220^2)/4
    assert factors["blank_joint_1.size_tension"] == pytest.approx(0.5876, abs=5e-5)
    assert factors["blank_joint_1.operator_shear"] == 0.95
    assert len(factors) == 18
    assert {each.name for each in decide(ringed, evidence).factors} >= set(factors)


def test_factors_set_by_hand_are_about_the_glue_line_alone(ringed, make_evidence):
    evidence = with_own(make_evidence(4.0, 6.0), make_evidence(2.0, 5.0))
    by_hand = replace(ringed, factors=(("edge_tension", 0.5),))
    before, after = assessed(ringed, evidence), assessed(by_hand, evidence)
    assert link(after, "glue_line").margin_lower < link(before, "glue_line").margin_lower
    assert link(after, "blank_joint_1") == link(before, "blank_joint_1")


def test_what_speaks_against_its_tests_blocks_and_names_the_joint(ringed, make_evidence):
    own = make_evidence(40.0, 60.0, interlayers=(Interlayer.PAPER,))
    evidence = with_own(make_evidence(40.0, 60.0), own)
    (told,) = [each for each in blank_joint_findings(ringed, evidence) if each.code is FindingCode.INTERLAYER_DIFFERS]
    assert told.blocks
    assert told.text.startswith("Joint 1 inside the blank (yellow glue on stave): ")
    assert decide(ringed, evidence).verdict is Outcome.UNDECIDED


def test_the_grab_it_stands_and_the_target_count_it_too(ringed, make_evidence):
    weak = with_own(make_evidence(40.0, 60.0), make_evidence(0.3, 0.9))
    alone = stands_n(ringed, mount_capacity(ringed, make_evidence(40.0, 60.0)))
    assert stands_n(ringed, mount_capacity(ringed, weak)) < alone
    asked = required_strength(ringed, weak)
    assert asked.other_margin == pytest.approx(link(assessed(ringed, weak), "blank_joint_1").margin_lower)
    assert not asked.others_meet


def test_its_tests_must_be_bounded_at_the_confidence_asked(ringed, make_evidence):
    with pytest.raises(InputError, match=r"criteria\.confidence"):
        decide(ringed, with_own(make_evidence(4.0, 6.0), make_evidence(4.0, 6.0, confidence=0.75)))
