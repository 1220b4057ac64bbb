"""Reasons, scope and cautions."""

from __future__ import annotations

from dataclasses import replace

from jointlab.mount.setup import BlankGrain
from jointlab.record.vocabulary import GlueFamily, Interlayer
from jointlab.verdict.decide import decide
from jointlab.verdict.values import Outcome
from jointlab.verdict.wording import DEFERRAL, cautions_of, scope_of


def test_scope_names_combination_glue_up_speed_reach_and_what_ends_it(setup):
    told = scope_of(setup)
    for part in ("yellow glue on maple offcut (planed)", "glue-up A", "600 rpm", "100 mm", "catch", "three days"):
        assert part in told
    segmented = replace(setup, blank=replace(setup.blank, grain=BlankGrain.SEGMENTED))
    assert "about the mount only" in scope_of(segmented)


def test_cautions_follow_the_glue_and_the_interlayer_and_end_with_the_deferral(setup, make_evidence):
    plain = cautions_of(setup, make_evidence())
    assert plain[-1] == DEFERRAL
    assert any("creep" in caution for caution in plain)
    melted = cautions_of(setup, make_evidence(families=(GlueFamily.HOT_MELT,)))
    assert any("Hot melt" in caution for caution in melted)
    paper = replace(setup, joint=replace(setup.joint, interlayer=Interlayer.PAPER))
    assert any("paper joint" in caution for caution in cautions_of(paper, make_evidence()))


def test_reasons_cite_margins_required_margin_pulls_and_every_link_that_misses(setup, make_evidence):
    few = replace(setup, screws=replace(setup.screws, count=3))
    verdict = decide(few, make_evidence(1.0, 6.0))
    told = " ".join(verdict.reasons)
    assert "misses the required 1.5" in told
    assert "So do the screws" in told
    assert "10 usable pulls in 2 glue-ups" in told


def test_a_missing_upper_margin_is_said_to_fail_nothing(setup, make_evidence):
    told = " ".join(decide(setup, make_evidence(1.0, None)).reasons)
    assert "cannot fail the mount" in told


def test_a_fail_without_a_way_out_says_that_none_was_found(setup, make_evidence):
    hopeless = decide(setup, make_evidence(0.05, 0.06))
    assert hopeless.verdict is Outcome.FAIL
    assert hopeless.would_settle == ()
    assert "or hold the blank another way" in hopeless.reasons[-1]
    assert not any("hold the blank another way" in reason for reason in decide(setup, make_evidence(9.0, 12.0)).reasons)


def test_a_margin_is_said_to_reach_or_miss_and_what_more_tests_may_do(setup, make_evidence):
    failed = " ".join(decide(setup, make_evidence(0.3, 1.0)).reasons)
    assert "misses the required 1.5: more tests like these would not help" in failed
    undecided = " ".join(decide(setup, make_evidence(1.0, 6.0)).reasons)
    assert "does not miss it: better evidence may yet settle it" in undecided
    assert "would not help" not in undecided
    passed = " ".join(decide(setup, make_evidence(9.0, 12.0)).reasons)
    assert "reaches the required 1.5" in passed
    assert "upper margin" not in passed


def test_surfaces_that_share_the_glue_lines_margin_are_told_once(setup, make_evidence):
    # blank's surface, glue line and block carry one margin: when it misses, no second of them is named
    missed = " ".join(decide(setup, make_evidence(1.0, 6.0)).reasons)
    assert "glue line" in missed
    assert "So do" not in missed
    # when the screws govern, the stack is named once beside them
    few = replace(setup, screws=replace(setup.screws, count=3))
    (beside,) = (reason for reason in decide(few, make_evidence(1.2, 6.0)).reasons if reason.startswith("So do"))
    assert beside.endswith("with 1.01.")
    # and when the stack governs, the screws beside it
    (screws,) = (reason for reason in decide(few, make_evidence(1.0, 6.0)).reasons if reason.startswith("So do"))
    assert screws == "So do the screws, with 0.94."


def test_only_a_relaxed_answer_bears_a_label(setup, make_evidence):
    assert not any("relaxed" in reason for reason in decide(setup, make_evidence(1.0, 6.0)).reasons)
