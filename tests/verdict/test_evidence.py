"""Which pulls feed the tension and the shear."""

from __future__ import annotations

import pytest

from jointlab.record.finding import FindingCode
from jointlab.record.joint import Disc
from jointlab.record.vocabulary import Action, BrokeAt, GlueFamily, GrainToLoad, Outcome, SubstrateKind
from jointlab.verdict.evidence import across_the_grain, evidence_of


def codes(evidence):
    return {finding.code for finding in evidence.findings}


def test_no_pull_that_carries_information_is_no_evidence(make_pulls, make_strength):
    lost = make_pulls(3, outcome=Outcome.HANDLED, broke_at=BrokeAt.JAWS)
    assert evidence_of(lost, {Action.PRY: make_strength(None, None)}) is None
    assert evidence_of([], {}) is None


def test_five_pries_feed_the_tension_before_any_number_of_straight_pulls(make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0), Action.PULL: make_strength(2.0, 4.0, action=Action.PULL)}
    evidence = evidence_of(make_pulls(5) + make_pulls(9, action=Action.PULL), strengths)
    assert evidence.tension.action is Action.PRY
    assert evidence.tension.bound_mpa == 3.0
    assert evidence.n_usable == 5
    assert FindingCode.TENSION_FROM_PULL not in codes(evidence)


def test_fewer_than_five_pries_leave_the_tension_to_straight_pulls_with_a_finding(make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0), Action.PULL: make_strength(2.0, 4.0, action=Action.PULL)}
    evidence = evidence_of(make_pulls(4) + make_pulls(5, action=Action.PULL), strengths)
    assert evidence.tension.action is Action.PULL
    assert evidence.tension.upper_mpa == 4.0
    assert FindingCode.TENSION_FROM_PULL in codes(evidence)


def test_where_neither_has_five_the_larger_set_speaks(make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0), Action.PULL: make_strength(2.0, 4.0, action=Action.PULL)}
    assert evidence_of(make_pulls(3) + make_pulls(2, action=Action.PULL), strengths).tension.action is Action.PRY
    assert evidence_of(make_pulls(2) + make_pulls(4, action=Action.PULL), strengths).tension.action is Action.PULL


def test_excluded_pulls_and_those_without_information_do_not_count(make_pulls, make_strength):
    pulls = make_pulls(5) + make_pulls(3, excluded_because="bar slipped")
    pulls += make_pulls(2, outcome=Outcome.HANDLED, broke_at=BrokeAt.BAR)
    assert evidence_of(pulls, {Action.PRY: make_strength(3.0, 5.0)}).n_usable == 5


def test_five_twists_feed_the_shear_and_four_do_not(make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0), Action.TWIST: make_strength(6.0, 9.0, action=Action.TWIST)}
    fed = evidence_of(make_pulls(5) + make_pulls(5, action=Action.TWIST), strengths)
    assert fed.shear.action is Action.TWIST
    assert fed.shear.bound_mpa == 6.0
    assert FindingCode.SHEAR_FROM_SHARE not in codes(fed)
    short = evidence_of(make_pulls(5) + make_pulls(4, action=Action.TWIST), strengths)
    assert short.shear is None
    assert FindingCode.SHEAR_FROM_SHARE in codes(short)


def test_shear_across_the_grain_feeds_the_shear_and_shear_along_does_not(make_pulls, make_strength):
    across_strength = make_strength(2.5, 4.0, action=Action.SHEAR)
    strengths = {Action.PRY: make_strength(3.0, 5.0), Action.SHEAR: make_strength(8.0, 9.0, action=Action.SHEAR)}
    across = make_pulls(5, action=Action.SHEAR, grain=GrainToLoad.ACROSS)
    along = make_pulls(7, action=Action.SHEAR, grain=GrainToLoad.ALONG)
    assert across_the_grain(across + along) == tuple(across)
    fed = evidence_of(make_pulls(5) + across + along, strengths, shear_across=across_strength)
    assert fed.shear.bound_mpa == 2.5
    assert fed.shear.n_usable == 5
    assert evidence_of(make_pulls(5) + along, strengths, shear_across=across_strength).shear is None


def test_evidence_tells_the_medians_and_the_words_of_its_pulls(make_pull, make_strength):
    pulls = [
        make_pull(specimen=str(number), outline=Disc(diameter), cure_h=cure, moisture_pct=moisture, void_pct=void)
        for number, (diameter, cure, moisture, void) in enumerate(
            [(40.0, 24.0, None, None), (50.0, 48.0, 8.0, 5.0), (50.0, None, 9.0, 2.0), (60.0, 96.0, 11.0, None)]
        )
    ]
    evidence = evidence_of(pulls, {Action.PRY: make_strength(3.0, 5.0)})
    assert evidence.tension.area_mm2 == pytest.approx(1963.4954, abs=1e-4)
    assert evidence.tension.cure_h == 48.0
    assert evidence.tension.moisture_pct == 9.0
    assert evidence.void_pct == 5.0
    assert evidence.kinds == (SubstrateKind.SOLID_FACE,)
    assert evidence.families == (GlueFamily.PVA,)
    assert evidence.batches == ("A",)


def test_the_smaller_feed_sets_the_numbers_of_pulls_and_glue_ups(make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0), Action.TWIST: make_strength(6.0, 9.0, action=Action.TWIST)}
    evidence = evidence_of(make_pulls(9, batches=3) + make_pulls(6, action=Action.TWIST, batches=1), strengths)
    assert evidence.n_usable == 6
    assert evidence.n_batches == 1
    assert evidence.batches == ("A", "B", "C")


@pytest.mark.parametrize(
    ("grit", "preparation", "sanded"), [(120.0, "", True), (None, "sanded", True), (None, "", False)]
)
def test_sanding_is_known_by_grit_or_by_the_preparation(make_pulls, make_strength, grit, preparation, sanded):
    pulls = make_pulls(5, grit=grit, preparation=preparation)
    assert evidence_of(pulls, {Action.PRY: make_strength(3.0, 5.0)}).sanded is sanded


def test_pulls_kept_out_are_told_with_their_causes(make_pulls, make_strength):
    pulls = make_pulls(5) + make_pulls(2, excluded_because="bar slipped")
    evidence = evidence_of(pulls, {Action.PRY: make_strength(3.0, 5.0)})
    found = [finding for finding in evidence.findings if finding.code is FindingCode.PULLS_EXCLUDED]
    assert [finding.text for finding in found] == ["2 of 7 pulls are kept out: bar slipped."]
    assert FindingCode.PULLS_EXCLUDED not in codes(evidence_of(make_pulls(5), {Action.PRY: make_strength(3.0, 5.0)}))


def test_glue_ups_made_at_one_moment_are_questioned(make_pull, make_strength):
    def made(*moments):
        pulls = [
            make_pull(batch="AB"[number % 2], specimen=str(number), glued_on=moments[number % 2]) for number in range(6)
        ]
        return codes(evidence_of(pulls, {Action.PRY: make_strength(3.0, 5.0)}))

    assert FindingCode.BATCHES_ALIKE in made("2026-03-01", "2026-03-01")
    assert FindingCode.BATCHES_ALIKE not in made("2026-03-01", "2026-03-02")
    assert FindingCode.BATCHES_ALIKE not in made(None, None)


def test_other_shops_evidence_alone_is_never_a_pass_however_much_there_is(make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0)}
    pulls = make_pulls(24, batches=6)
    alone = evidence_of(pulls, strengths, foreign_batches="ABCDEF")
    (finding,) = [finding for finding in alone.findings if finding.code is FindingCode.OTHERS_ALONE]
    assert finding.blocks
    assert finding.text.startswith("24 of 24 pulls come from other shops, 0 of your own")
    one_glue_up = evidence_of(pulls, strengths, foreign_batches="BCDEF")
    assert FindingCode.OTHERS_ALONE in codes(one_glue_up)
    with_own = evidence_of(pulls, strengths, foreign_batches="CDEF")
    assert FindingCode.OTHERS_ALONE not in codes(with_own)
    assert with_own.foreign_batches == tuple("CDEF")


def test_readings_that_look_wrong_and_are_used_are_named(make_pull, make_pulls, make_strength):
    strengths = {Action.PRY: make_strength(3.0, 5.0)}
    wild = make_pull(batch="C", specimen="9", load=5_000.0)
    found = [
        finding
        for finding in evidence_of([*make_pulls(7), wild], strengths).findings
        if finding.code is FindingCode.PULLS_QUESTIONED
    ]
    assert [finding.text.split(". ")[0] for finding in found] == [
        "1 of 8 readings look wrong and are used as they stand (C, 9)"
    ]
    assert FindingCode.PULLS_QUESTIONED not in codes(evidence_of(make_pulls(7), strengths))
    kept_out = make_pull(batch="C", specimen="9", load=5_000.0, excluded_because="arm misread")
    assert FindingCode.PULLS_QUESTIONED not in codes(evidence_of([*make_pulls(7), kept_out], strengths))


def test_of_many_doubtful_readings_the_first_are_named(make_pulls, make_strength):
    evidence = evidence_of(make_pulls(8, load=5_000.0), {Action.PRY: make_strength(3.0, 5.0)})
    text = next(finding.text for finding in evidence.findings if finding.code is FindingCode.PULLS_QUESTIONED)
    assert text.startswith("8 of 8 readings")
    assert "(A, 0; B, 1; A, 2; B, 3; A, 4; ...)" in text
