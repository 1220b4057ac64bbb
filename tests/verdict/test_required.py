"""The strength a mount asks of its glue line."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.errors import AnalysisError
from jointlab.mount.setup import Surface
from jointlab.record.vocabulary import Action
from jointlab.verdict.assessed import assessed
from jointlab.verdict.decide import decide
from jointlab.verdict.required import evidence_before_tests, required_strength, unit_evidence
from jointlab.verdict.values import Outcome


def test_at_the_required_bound_the_glue_line_just_keeps_its_margin(setup, make_evidence):
    asked = required_strength(setup, make_evidence(0.3, 9.0))
    links = assessed(setup, make_evidence(asked.tension_mpa, 9.0)).links
    assert next(link.margin_lower for link in links if link.link == "glue_line") == pytest.approx(1.5, rel=1e-12)


def test_a_tested_shear_is_set_aside(setup, make_evidence):
    plain = required_strength(setup, make_evidence(0.3, 9.0)).tension_mpa
    assert required_strength(setup, make_evidence(0.3, 9.0, shear=(0.01, 0.02))).tension_mpa == plain


def test_other_links_are_told_apart(setup, make_evidence):
    assert required_strength(setup, make_evidence()).others_meet
    few = replace(setup, screws=replace(setup.screws, count=3))
    asked = required_strength(few, make_evidence())
    assert not asked.others_meet
    assert asked.other_margin == pytest.approx(2.511 * 3 / 8, rel=0.02)


def test_no_strength_rates_a_waxed_face(setup, make_evidence):
    waxed = replace(setup, joint=replace(setup.joint, surface=Surface.WAXED))
    with pytest.raises(AnalysisError, match="waxed"):
        required_strength(waxed, make_evidence())


def test_evidence_of_one_megapascal_and_evidence_before_tests_stand_at_the_usual_levels(setup, make_evidence):
    # a verdict refuses evidence bounded at another coverage or confidence than it asks
    before = evidence_before_tests(setup, area_mm2=1963.5, action=Action.PRY, n=10, batches=3)
    for evidence in (before, unit_evidence(make_evidence(3.0, 9.0))):
        assert decide(setup, evidence).verdict is Outcome.FAIL
    assert before.tension.batches == ("glue-up 1", "glue-up 2", "glue-up 3")
    assert (before.n_usable, before.n_batches) == (10, 3)
