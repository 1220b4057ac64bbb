"""The verdict rule and the interaction of stresses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from jointlab.mount.demand import ScrewDemand, StressDemand
from jointlab.record.vocabulary import GlueFamily, Interlayer, SubstrateKind
from jointlab.verdict.rule import Interaction, interaction_of, outcome_of, screw_margin, strength_margin, usage
from jointlab.verdict.values import Outcome, ScrewStrength, StressStrength

ENOUGH = {"required": 1.5, "pulls": 5, "batches": 2, "all_rated": True, "blocked": False}


@pytest.mark.parametrize(
    ("lower", "upper", "change", "expected"),
    [
        (1.5, 2.0, {}, Outcome.PASS),
        (1.4999, 2.0, {}, Outcome.UNDECIDED),
        (1.4, 1.4999, {}, Outcome.FAIL),
        (1.4, 1.5, {}, Outcome.UNDECIDED),
        (9.0, 9.0, {"pulls": 4}, Outcome.UNDECIDED),
        (9.0, 9.0, {"batches": 1}, Outcome.UNDECIDED),
        (9.0, 9.0, {"all_rated": False}, Outcome.UNDECIDED),
        (9.0, 9.0, {"blocked": True}, Outcome.UNDECIDED),
        (0.1, 0.2, {"blocked": True, "pulls": 1, "batches": 1, "all_rated": False}, Outcome.FAIL),
        (0.1, None, {}, Outcome.UNDECIDED),
        (9.0, None, {}, Outcome.PASS),
        (None, 9.0, {}, Outcome.UNDECIDED),
        (None, None, {}, Outcome.UNDECIDED),
    ],
)
def test_the_verdict_follows_the_rule(lower, upper, change, expected):
    assert outcome_of(margin_lower=lower, margin_upper=upper, **{**ENOUGH, **change}) is expected


def test_quadratic_and_linear_usage_of_a_worked_point():
    # tension 0.6 of its strength, shear 0.8 of its strength
    shares = {"tension_strength_mpa": 2.0, "shear_strength_mpa": 1.0}
    assert usage(1.2, 0.8, interaction=Interaction.QUADRATIC, **shares) == pytest.approx(1.0)
    assert usage(1.2, 0.8, interaction=Interaction.LINEAR, **shares) == pytest.approx(1.4)


@pytest.mark.parametrize("interaction", list(Interaction))
def test_where_the_plane_is_pressed_only_shear_counts(interaction):
    used = usage(np.array([-5.0, 0.0]), 0.3, tension_strength_mpa=1.0, shear_strength_mpa=1.0, interaction=interaction)
    assert used == pytest.approx([0.3, 0.3])


def test_no_strength_is_used_up_by_any_stress_and_no_stress_uses_nothing():
    demand = StressDemand(np.array([0.1]), np.array([0.0]))
    assert strength_margin(demand, StressStrength(0.0, 0.0), Interaction.QUADRATIC) == 0.0
    nothing = StressDemand(np.array([0.0]), np.array([0.0]))
    assert strength_margin(nothing, StressStrength(0.0, 0.0), Interaction.QUADRATIC) == math.inf


def test_a_margin_is_the_least_over_the_points_and_needs_both_strengths():
    demand = StressDemand(np.array([1.0, 0.2]), np.array([0.0, 0.5]))
    assert strength_margin(demand, StressStrength(4.0, 1.0), Interaction.LINEAR) == pytest.approx(1 / 0.55)
    assert strength_margin(demand, StressStrength(None, 1.0), Interaction.LINEAR) is None
    assert strength_margin(demand, StressStrength(1.0, None), Interaction.LINEAR) is None


def test_screws_are_judged_by_withdrawal_alone():
    demand = ScrewDemand(np.array([250.0, 500.0]), np.array([1e9, 1e9]))
    assert screw_margin(demand, ScrewStrength(1000.0)) == pytest.approx(2.0)
    assert screw_margin(demand, ScrewStrength(None)) is None


@pytest.mark.parametrize(
    ("parts", "interlayer"),
    [
        ({"kinds": (SubstrateKind.MDF,)}, Interlayer.NONE),
        ({"families": (GlueFamily.CYANOACRYLATE,)}, Interlayer.NONE),
        ({"interlayers": (Interlayer.PAPER,)}, Interlayer.NONE),
        ({}, Interlayer.PAPER),
    ],
)
def test_mdf_paper_and_cyanoacrylate_add_up_linearly(setup, make_evidence, parts, interlayer):
    mount = replace(setup, joint=replace(setup.joint, interlayer=interlayer))
    assert interaction_of(mount, make_evidence(**parts)) is Interaction.LINEAR
    assert interaction_of(setup, make_evidence()) is Interaction.QUADRATIC


def test_the_block_speaks_where_the_pulls_state_no_kind(setup, make_evidence):
    board = replace(setup, block=replace(setup.block, kind=SubstrateKind.MDF, wood=None))
    assert interaction_of(board, make_evidence(kinds=())) is Interaction.LINEAR
