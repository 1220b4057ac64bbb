"""Margins of the links and which of them governs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from jointlab.mount.demand import Case, LinkDemand, ScrewDemand, StressDemand
from jointlab.mount.setup import CatchClass
from jointlab.record.joint import Disc
from jointlab.record.vocabulary import Interlayer
from jointlab.verdict.assessment import assess
from jointlab.verdict.capacity import capacity_of
from jointlab.verdict.values import Basis


def glued(case, tension, shear=0.0, link="glue_line"):
    demand = StressDemand(np.array([tension]), np.array([shear]))
    return LinkDemand(link, case, StressDemand(tension, shear), demand)


def screwed(case, withdrawal):
    return LinkDemand(
        "screws", case, ScrewDemand(withdrawal, 1.0), ScrewDemand(np.array([withdrawal]), np.array([1.0]))
    )


def assessment(setup, evidence, links, screw_n=1000.0):
    like = replace(setup, joint=replace(setup.joint, outline=Disc(50.0)))
    return assess(links, setup=like, capacity=capacity_of(like, evidence, screw_withdrawal_n=screw_n))


def test_the_least_margin_governs_and_is_named(setup, make_evidence):
    links = [glued(Case.CATCH_SEVERE, 0.5), screwed(Case.CATCH_SEVERE, 250.0)]
    found = assessment(setup, make_evidence(3.0, 5.0), links)
    assert found.margin_lower == pytest.approx(4.0)
    assert found.margin_upper == pytest.approx(4.0)
    assert (found.governing.link, found.governing.basis) == ("screws", Basis.SOURCE)
    assert found.governing.margin_upper == found.governing.margin_lower


def test_surfaces_of_the_tested_joint_carry_its_margin_and_the_glue_line_is_named_first(setup, make_evidence):
    paper = replace(setup, joint=replace(setup.joint, interlayer=Interlayer.PAPER))
    found = assessment(paper, make_evidence(3.0, 5.0), [glued(Case.CATCH_SEVERE, 1.0)])
    assert [link.link for link in found.links] == ["blank_surface", "glue_line", "paper", "block"]
    assert [link.margin_lower for link in found.links] == pytest.approx([3.0] * 4)
    assert {link.basis for link in found.links} == {Basis.TESTS}
    assert found.governing.link == "glue_line"


def test_only_the_steady_cases_and_the_chosen_catch_are_judged(setup, make_evidence):
    firm = replace(setup, criteria=replace(setup.criteria, catch=CatchClass.FIRM))
    links = [glued(Case.CATCH_SEVERE, 3.0), glued(Case.CATCH_FIRM, 1.0), glued(Case.CUT, 0.9)]
    found = assessment(firm, make_evidence(3.0, 5.0), links)
    # cut with fatigue 0.8: 3.0 x 0.8 / 0.9
    assert found.margin_lower == pytest.approx(2.4 / 0.9)
    assert found.governing.case is Case.CUT
    assert found.margin_upper == pytest.approx(4.0 / 0.9)


def test_a_joint_inside_the_blank_is_unrated_without_tests_of_its_own(setup, make_evidence):
    links = [glued(Case.CATCH_SEVERE, 1.0), glued(Case.CATCH_SEVERE, 0.1, link="blank_joint_2")]
    found = assessment(setup, make_evidence(3.0, 5.0), links)
    assert [link.link for link in found.links] == ["blank_surface", "blank_joint_2", "glue_line", "block"]
    ring = found.links[1]
    assert (ring.margin_lower, ring.margin_upper, ring.basis) == (None, None, Basis.UNRATED)
    assert not found.all_rated
    assert found.margin_lower == pytest.approx(3.0)


def test_without_a_glue_line_margin_there_is_no_overall_margin(setup, make_evidence):
    links = [glued(Case.CATCH_SEVERE, 1.0), screwed(Case.CATCH_SEVERE, 5000.0)]
    found = assessment(setup, make_evidence(None, None), links)
    assert (found.margin_lower, found.margin_upper, found.governing) == (None, None, None)
    assert found.links[-1].margin_lower == pytest.approx(0.2)


def test_the_upper_margin_alone_may_be_missing(setup, make_evidence):
    found = assessment(setup, make_evidence(3.0, None), [glued(Case.CATCH_SEVERE, 1.0)])
    assert found.margin_lower == pytest.approx(3.0)
    assert found.margin_upper is None


def test_unrated_screws_leave_the_other_margins(setup, make_evidence):
    links = [glued(Case.CATCH_SEVERE, 1.0), screwed(Case.CATCH_SEVERE, 10.0)]
    found = assessment(setup, make_evidence(3.0, 5.0), links, screw_n=None)
    assert found.margin_lower == pytest.approx(3.0)
    assert found.links[-1].basis is Basis.UNRATED
    assert not found.all_rated
