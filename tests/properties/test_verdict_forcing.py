"""Ways to force a pass, each answered by a finding, a label or a refusal."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.errors import AnalysisError, InputError
from jointlab.mount.document import with_settings
from jointlab.mount.setup_of import setup_of
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import Action, GlueFamily, Outcome, SubstrateKind
from jointlab.strength.strength_of import combination_strength
from jointlab.stress.joint_stress_of import joint_stress_of
from jointlab.verdict.decide import decide
from jointlab.verdict.evidence import evidence_of
from jointlab.verdict.sentence import sentence_of
from jointlab.verdict.spending import share_of_look
from jointlab.verdict.values import Outcome as Answer

COMBINATION = Combination("white glue", "maple offcut")
LOADS = [190.0, 214.0, 176.0, 225.0, 201.0, 183.0, 209.0, 196.0, 188.0, 205.0]

DOCUMENT = {
    "blank": {"diameter_mm": 300.0, "length_mm": 100.0, "density_kg_m3": 616.0, "offset_mm": 2.0},
    "joint": {
        "glue": "white glue",
        "substrate": "maple offcut",
        "shape": "disc",
        "diameter_mm": 200.0,
        "age_h": 200.0,
        "batch": "A",
    },
    "block": {"thickness_mm": 40.0, "wood": "maple, sugar"},
    "screws": {"count": 8, "circle_mm": 160.0, "diameter_mm": 5.5, "thread_mm": 35.0},
    "lathe": {"rpm": 600.0, "motor_w": 1100.0, "rotor_kg_m2": 0.020},
}


def pulls(loads, *, batches="AB", kind=SubstrateKind.SOLID_FACE, family=GlueFamily.PVA, glue="white glue", **made):
    return [
        Pull(
            batch=batches[number % len(batches)],
            specimen=str(number),
            tested_on="2026-03-14",
            joint=Joint(replace(COMBINATION, glue=glue), Disc(50.0), glue_family=family, substrate_kind=kind),
            action=Action.PRY,
            loading=Loading(load=load, arm_mm=300.0),
            outcome=Outcome.BROKE,
            broke=Break(),
            conditions=Conditions(cure_h=200.0, **made),
        )
        for number, load in enumerate(loads)
    ]


def verdict_on(pulled, *settings, confidence_spent=None):
    setup = setup_of(with_settings(DOCUMENT, settings))
    spent = 1.0 - setup.criteria.confidence if confidence_spent is None else confidence_spent
    strength = combination_strength(
        [joint_stress_of(pull) for pull in pulled if pull.excluded_because is None],
        combination=pulled[0].joint.combination,
        action=Action.PRY,
        coverage=setup.criteria.coverage,
        confidence=1.0 - spent,
    )
    return decide(setup, evidence_of(pulled, {Action.PRY: strength}), confidence_spent=spent)


def codes(verdict):
    return {finding.code for finding in verdict.findings}


WEAK = [load / 2.2 for load in LOADS]


def test_honest_pulls_pass_and_weak_ones_do_not():
    assert verdict_on(pulls(LOADS)).verdict is Answer.PASS
    assert verdict_on(pulls(WEAK)).verdict is not Answer.PASS


@pytest.mark.parametrize(
    ("setting", "told"),
    [
        ("criteria.margin=1.0", "margin 1 under 1.5"),
        ("criteria.confidence=0.5", "confidence 0.5 under 0.95"),
        ("criteria.catch=light", "light catch in place of severe"),
    ],
)
def test_milder_criteria_are_named_in_the_verdict(setting, told):
    verdict = verdict_on(pulls(LOADS), setting)
    assert verdict.relaxed
    assert told in sentence_of(verdict)


def test_a_margin_below_one_is_refused():
    with pytest.raises(InputError, match=r"criteria\.margin"):
        setup_of(with_settings(DOCUMENT, ["criteria.margin=0.9"]))


def test_a_factor_turned_up_is_shown_as_set_by_hand_or_refused():
    verdict = verdict_on(pulls(WEAK), "factors.size_tension=1.0", "factors.size_shear=1.0")
    assert FindingCode.FACTOR_CHANGED in codes(verdict)
    assert {f.source.key for f in verdict.factors if f.overridden} == {"stated"}
    with pytest.raises(InputError, match=r"factors\.size_tension"):
        setup_of(with_settings(DOCUMENT, ["factors.size_tension=30.0"]))


def test_the_same_input_gives_the_same_verdict_however_often_it_is_asked():
    first = verdict_on(pulls(LOADS))
    again = [verdict_on(pulls(LOADS)), verdict_on(list(reversed(pulls(LOADS))))]
    assert again[0] == first
    assert again[1].margin_lower == pytest.approx(first.margin_lower, rel=1e-12)


def test_looking_again_at_a_little_more_evidence_costs_confidence():
    spent = [share_of_look(confidence=0.95, look=look, planned_looks=None) for look in (1, 4)]
    margins = [verdict_on(pulls(LOADS), confidence_spent=share).margin_lower for share in spent]
    assert margins[1] < margins[0]
    with pytest.raises(AnalysisError):
        share_of_look(confidence=0.95, look=2, planned_looks=1)


def test_evidence_bounded_at_another_confidence_is_not_taken():
    setup = setup_of(DOCUMENT)
    stresses = [joint_stress_of(pull) for pull in pulls(LOADS)]
    mild = combination_strength(stresses, combination=COMBINATION, action=Action.PRY, confidence=0.5)
    with pytest.raises(InputError, match=r"bounded at confidence 0\.5"):
        decide(setup, evidence_of(pulls(LOADS), {Action.PRY: mild}))


def test_a_dropped_pull_is_told():
    made = pulls(LOADS)
    made[2] = replace(made[2], excluded_because="looked odd")
    verdict = verdict_on(made)
    assert FindingCode.PULLS_EXCLUDED in codes(verdict)
    assert any("looked odd" in finding.text for finding in verdict.findings)


def test_one_glue_up_never_passes_and_renaming_half_of_it_is_questioned():
    assert verdict_on(pulls(LOADS, batches="A")).verdict is Answer.UNDECIDED
    renamed = verdict_on(pulls(LOADS, batches="AB", glued_on="2026-03-01T10:00"))
    assert FindingCode.BATCHES_ALIKE in codes(renamed)


def test_another_sheet_of_another_kind_does_not_speak_for_the_block():
    verdict = verdict_on(pulls(LOADS, kind=SubstrateKind.SOLID_FACE), "block.kind=plywood")
    assert verdict.verdict is not Answer.PASS
    assert FindingCode.KIND_DIFFERS in codes(verdict)


def test_paper_that_was_not_tested_does_not_pass():
    verdict = verdict_on(pulls(LOADS), "joint.interlayer=paper")
    assert verdict.verdict is not Answer.PASS
    assert FindingCode.INTERLAYER_DIFFERS in codes(verdict)


def test_leaving_the_family_blank_buys_no_milder_rule():
    melted = pulls(LOADS, family=None, glue="hot melt sticks")
    verdict = verdict_on(melted, "joint.glue=hot melt sticks")
    assert verdict.verdict is not Answer.PASS
    assert FindingCode.SOLE_BOND_WEAK in codes(verdict)


def test_leaving_the_screws_out_does_not_pass():
    document = {key: value for key, value in DOCUMENT.items() if key != "screws"}
    setup = setup_of(document)
    strength = combination_strength(
        [joint_stress_of(pull) for pull in pulls(LOADS)], combination=COMBINATION, action=Action.PRY
    )
    verdict = decide(setup, evidence_of(pulls(LOADS), {Action.PRY: strength}))
    assert verdict.verdict is Answer.UNDECIDED
    assert FindingCode.LINK_UNRATED in codes(verdict)


def test_five_lucky_equal_pulls_do_not_pass_for_no_spread():
    glue = next(link for link in verdict_on(pulls([LOADS[0]] * 6)).links if link.link == "glue_line")
    assert glue.margin_lower < 0.75 * glue.margin_upper
