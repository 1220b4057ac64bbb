"""The share of doubt each look spends."""

from __future__ import annotations

import pytest

from jointlab.errors import AnalysisError
from jointlab.record.finding import FindingCode, Severity
from jointlab.verdict.spending import Look, look_findings, look_told, share_of_look


def test_unplanned_looks_halve_and_never_spend_more_than_there_is():
    shares = [share_of_look(confidence=0.95, look=look, planned_looks=None) for look in range(1, 40)]
    assert shares[:3] == pytest.approx([0.025, 0.0125, 0.00625])
    assert sum(shares) < 0.05
    assert sum(shares) == pytest.approx(0.05)


@pytest.mark.parametrize("looks", [1, 2, 4])
def test_planned_looks_share_alike(looks):
    shares = [share_of_look(confidence=0.95, look=look, planned_looks=looks) for look in range(1, looks + 1)]
    assert shares == pytest.approx([0.05 / looks] * looks)


def test_a_look_beyond_the_plan_has_nothing_left_to_spend():
    with pytest.raises(AnalysisError, match="2 looks and this is look 3"):
        share_of_look(confidence=0.95, look=3, planned_looks=2)


def test_an_unplanned_look_is_told_to_plan_first():
    assert look_told(Look(2), confidence=0.95) == (
        "Look 2, without a plan: it spends 0.0125 of the 0.05 there is. Plan first, and the same pulls carry further."
    )
    assert (
        look_told(Look(1, planned_looks=2), confidence=0.95)
        == "Planned look 1 of 2: it spends 0.025 of the 0.05 there is."
    )


def test_a_look_spends_its_share_and_knows_what_the_next_will_spend():
    assert (Look(1).spent(0.95), Look(1).spent_next(0.95)) == pytest.approx((0.025, 0.0125))
    planned = Look(1, planned_looks=2)
    assert (planned.spent(0.95), planned.spent_next(0.95)) == pytest.approx((0.025, 0.025))
    assert Look(1, planned_looks=1).spent(0.95) == pytest.approx(0.05)
    assert Look(1, planned_looks=1).spent_next(0.95) is None


def test_a_look_beyond_the_plan_is_shown_at_the_last_share_and_blocks():
    beyond = Look(3, planned_looks=2)
    assert beyond.spent(0.95) == pytest.approx(0.025)
    (finding,) = look_findings(beyond, confidence=0.95)
    assert (finding.code, finding.severity) == (FindingCode.LOOKS_SPENT, Severity.BLOCKING)
    assert "has 2 looks and this is look 3" in finding.text
    (one,) = look_findings(Look(2, planned_looks=1), confidence=0.95)
    assert "has one look and this is look 2" in one.text


def test_a_look_that_leaves_no_trace_blocks_and_any_other_is_a_note():
    (finding,) = look_findings(Look(1, kept=False), confidence=0.95)
    assert (finding.code, finding.severity) == (FindingCode.LOOK_NOT_KEPT, Severity.BLOCKING)
    (note,) = look_findings(Look(1), confidence=0.95)
    assert (note.code, note.severity) == (FindingCode.LOOK_TAKEN, Severity.NOTE)


def test_a_later_plan_shares_what_earlier_looks_left():
    later = Look(1, planned_looks=2, left=0.25)
    assert (later.spent(0.95), later.spent_next(0.95)) == pytest.approx((0.00625, 0.00625))
    assert later.fraction == pytest.approx(0.125)
    assert "0.00625 of the 0.05 there is" in look_told(later, confidence=0.95)


def test_where_nothing_is_left_no_pass_comes_of_a_new_plan_either():
    spent = Look(1, planned_looks=1, left=0.0)
    assert (spent.spent(0.95), spent.spent_next(0.95), spent.fraction) == (pytest.approx(0.05), None, 0.0)
    (finding,) = look_findings(spent, confidence=0.95)
    assert (finding.code, finding.severity) == (FindingCode.LOOKS_SPENT, Severity.BLOCKING)
    assert finding.text.startswith("Earlier looks at this combination spent all of the doubt there is")


def test_a_look_that_is_not_due_blocks_and_names_what_is_missing():
    (finding,) = look_findings(Look(1, planned_looks=1, waiting=("G2 1", "G2 2")), confidence=0.95)
    assert (finding.code, finding.severity) == (FindingCode.LOOK_EARLY, Severity.BLOCKING)
    assert "2 of its specimens are not in the book yet (G2 1, G2 2)" in finding.text


def test_no_sequence_of_plans_and_looks_spends_more_than_there_is():
    for looks in ((None, 1, None), (2, 2, 2, 2), (None, None, 3, 1), (1, 1, 1)):
        left = 1.0
        for planned in looks:
            left -= Look(1, planned_looks=planned, left=left).fraction
            assert left >= 0.0
