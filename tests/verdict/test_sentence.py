"""The sentence first seen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.demand import Case
from jointlab.mount.setup import CatchClass
from jointlab.verdict.decide import decide
from jointlab.verdict.sentence import case_told, grab_line, grab_told, link_told, margin_told, sentence_of


@pytest.mark.parametrize(
    ("force", "said"),
    [
        (None, "not known"),
        (0.0, "no grab"),
        (250.0, "250 N at the far end: less than a light one (300 N)."),
        (300.0, "300 N at the far end: no less than a light catch (300 N), less than a firm one (1000 N)."),
        (1519.8, "1510 N at the far end: no less than a firm catch (1000 N), less than a severe one (3000 N)."),
        (3009.9, "3000 N at the far end: no less than a severe catch (3000 N)."),
        (99.96, "99.9 N at the far end"),
        (12345.0, "12300 N at the far end"),
    ],
)
def test_the_grab_is_set_beside_the_classes_and_rounded_down(force, said):
    assert said in grab_told(force)


@pytest.mark.parametrize(
    ("stands_n", "line"),
    [
        (None, "light 300 < firm 1000 < severe 3000; this mount: not known"),
        (0.0, "THIS MOUNT none < light 300 < firm 1000 < severe 3000"),
        (1000.0, "light 300 < firm 1000 < THIS MOUNT 1000 < severe 3000"),
        (3500.9, "light 300 < firm 1000 < severe 3000 < THIS MOUNT 3500"),
    ],
)
def test_a_line_of_text_puts_the_mount_among_the_classes_of_catch(stands_n, line, setup, make_evidence):
    verdict = replace(decide(setup, make_evidence(4.0, 6.0)), stands_n=stands_n)
    assert grab_line(verdict) == f"Grab at the far end, N: {line}"


def test_the_sentence_names_the_grab_the_governing_link_and_the_verdict(setup, make_evidence):
    told = sentence_of(decide(setup, make_evidence(1.0, 6.0)))
    assert told.startswith("It stands a grab of ")
    assert "The glue line governs, in a severe catch" in told
    assert told.endswith("Verdict: undecided: what is known does not settle it.")
    assert "margin met under these assumptions" in sentence_of(decide(setup, make_evidence(4.0, 6.0)))


def test_a_relaxed_pass_says_so(setup, make_evidence):
    mild = replace(setup, criteria=replace(setup.criteria, catch=CatchClass.FIRM, margin=1.2))
    told = sentence_of(decide(mild, make_evidence(4.0, 6.0)))
    assert "pass (criteria relaxed: margin 1.2 under 1.5; firm catch in place of severe)" in told


def test_what_was_set_by_hand_is_told_with_the_verdict_and_the_classes_go_by_it(setup, make_evidence):
    by_hand = replace(setup, assumptions=replace(setup.assumptions, severe_n=1200.0), factors=(("edge_tension", 0.9),))
    told = sentence_of(decide(by_hand, make_evidence(4.0, 6.0)))
    assert "Verdict: pass (set by hand: edge_tension 0.9, severe_n 1200): " in told
    assert "no less than a severe catch (1200 N)" in told


def test_without_evidence_no_grab_and_no_link_is_named(setup):
    assert sentence_of(decide(setup, None)) == (
        "What grab at the far end it stands is not known: no strength can be relied on yet. "
        "Verdict: undecided: what is known does not settle it."
    )


def test_links_cases_and_margins_are_told_in_words_and_never_rounded_up():
    assert link_told("blank_joint_2") == "the blank joint 2"
    assert link_told("glue_line") == "the glue line"
    assert link_told("screws") == "the screws"
    assert case_told(Case.CATCH_FIRM) == "in a firm catch"
    assert case_told(Case.SPIN) == "spinning"
    assert margin_told(1.4999) == "1.49"
    assert margin_told(1.5) == "1.50"


def test_a_class_the_lathe_cannot_deliver_in_full_is_told(setup, make_evidence):
    assert grab_told(2310.0, kept=CatchClass.SEVERE).endswith("(3000 N). This lathe does not bring it to that.")
    assert "This lathe" not in grab_told(2310.0, kept=CatchClass.FIRM)
    assert "This lathe" not in grab_told(2310.0)
    small = replace(setup, lathe=replace(setup.lathe, motor_w=250.0, rotor_kg_m2=0.002, speed_rpm=320.0))
    for bound in (1.0, 1.2, 1.4, 1.6):
        verdict = decide(small, make_evidence(bound, 6.0))
        if verdict.margin_lower >= 1.5 and verdict.stands_n < 3000.0:
            assert "This lathe does not bring it to that." in sentence_of(verdict)
            break
    else:
        pytest.fail("no bound lies between")
