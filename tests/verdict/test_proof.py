"""Proof-loading the real mount."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.errors import InputError
from jointlab.mount.bond import bonded_section
from jointlab.mount.demand import Case
from jointlab.mount.mount_demand import mount_demand
from jointlab.verdict.decide import decide
from jointlab.verdict.proof import factor_reached, proof_plan


def severe(setup):
    return next(found for found in mount_demand(setup).cases if found.case is Case.CATCH_SEVERE)


@pytest.mark.parametrize(("factor", "height"), [(1.5, None), (2.0, 40.0), (1.0, 100.0)])
def test_moment_side_force_and_torque_act_together_at_the_factor_or_above(setup, factor, height):
    plan = proof_plan(setup, factor=factor, height_mm=height)
    asked = severe(setup).actions
    assert plan.actions.moment_nmm >= factor * asked.moment_nmm * (1 - 1e-12)
    assert plan.actions.shear_n >= factor * asked.shear_n * (1 - 1e-12)
    assert plan.actions.torque_nmm == pytest.approx(factor * asked.torque_nmm)
    assert plan.force_n * plan.arm_mm == pytest.approx(plan.actions.torque_nmm)


def test_the_pull_away_is_made_up_by_moment(setup):
    plan = proof_plan(setup)
    assert plan.tension_mpa >= 1.5 * severe(setup).stress.tension_mpa * (1 - 1e-12)
    section = bonded_section(setup.joint)
    assert plan.tension_mpa == pytest.approx(plan.actions.moment_nmm / section.turning_mm3)


def test_left_free_the_bar_stands_where_nothing_is_overdone(setup):
    tall = replace(setup, blank=replace(setup.blank, length_mm=200.0))
    plan = proof_plan(tall)
    assert plan.force_n == pytest.approx(1.5 * severe(tall).actions.shear_n)
    assert 100.0 < plan.height_mm <= 200.0
    assert proof_plan(setup).height_mm == 100.0


def test_only_the_required_margin_supports_a_pass_and_a_near_break_is_told(setup):
    assert proof_plan(setup).supports_pass
    assert not proof_plan(setup, factor=1.4).supports_pass
    tension = proof_plan(setup).tension_mpa
    assert proof_plan(setup, mean_mpa=tension / 0.69).harms is None
    assert "may harm" in proof_plan(setup, mean_mpa=tension / 0.71).harms


def test_steps_name_force_height_arm_and_directions(setup):
    plan = proof_plan(setup)
    told = " ".join(plan.steps)
    assert f"{plan.force_n:.0f} N" in told
    assert "4 directions" in told
    assert "spindle lock" in told
    assert plan.cautions


def test_a_proof_below_the_catch_or_outside_the_blank_is_refused(setup):
    with pytest.raises(InputError) as caught:
        proof_plan(setup, factor=0.9, height_mm=101.0)
    assert {problem.column for problem in caught.value.problems} == {"factor", "height_mm"}


def test_a_survivor_is_named_among_the_reasons(setup, make_evidence):
    told = decide(replace(setup), make_evidence(1.0, 6.0), proofed=1.5).reasons[-1]
    assert told == "This mount was proofed at 1.5 times a severe catch: it held, in those directions on that day."
    assert "counts nothing" in decide(setup, make_evidence(1.0, 6.0), proofed=1.4).reasons[-1]


def test_a_pull_as_planned_comes_to_the_planned_factor_and_a_shorter_arm_or_lower_bar_to_less(setup):
    plan = proof_plan(setup, factor=1.5)
    pulled = {"force_n": plan.force_n, "height_mm": plan.height_mm, "arm_mm": plan.arm_mm}
    assert factor_reached(setup, **pulled) == pytest.approx(1.5)
    assert factor_reached(setup, **{**pulled, "arm_mm": 0.5 * plan.arm_mm}) == pytest.approx(0.75)
    # at the end of this blank the moment, not the side force, says how hard to pull: half as high is half of it
    assert factor_reached(setup, **{**pulled, "height_mm": 0.5 * plan.height_mm}) == pytest.approx(0.75)
    assert factor_reached(setup, **{**pulled, "force_n": 2.0 * plan.force_n}) == pytest.approx(3.0)


def test_a_pull_that_is_none_is_refused_with_every_problem(setup):
    with pytest.raises(InputError) as refused:
        factor_reached(setup, force_n=0.0, height_mm=-1.0, arm_mm=100.0)
    assert [problem.column for problem in refused.value.problems] == ["force_n", "height_mm"]


def test_a_bar_that_stands_beyond_the_blank_reaches_no_factor(setup):
    with pytest.raises(InputError, match="height"):
        factor_reached(setup, force_n=100.0, height_mm=1e6, arm_mm=100.0)


@pytest.mark.parametrize(("beyond", "taken"), [(0.0, True), (0.1, False)])
def test_a_bar_may_stand_at_the_very_end_of_the_blank_and_no_further(setup, beyond, taken):
    height_mm = float(setup.blank.length_mm) + beyond
    if taken:
        assert factor_reached(setup, force_n=100.0, height_mm=height_mm, arm_mm=100.0) > 0.0
    else:
        with pytest.raises(InputError) as refused:
            factor_reached(setup, force_n=100.0, height_mm=height_mm, arm_mm=100.0)
        assert [problem.column for problem in refused.value.problems] == ["height_mm"]
