import dataclasses

import pytest

from jointlab.record.joint import Combination, Disc, Joint, Rectangle
from jointlab.record.pull import Break, Loading, Pull
from jointlab.record.vocabulary import Action, BrokeAt, Outcome
from jointlab.stress import joint_stress_of


def pry_of_disc(**changes):
    pull = Pull(
        batch="A",
        specimen="1",
        tested_on="2026-03-14",
        joint=Joint(Combination("white glue", "maple"), Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=122.71846, arm_mm=300.0),
        outcome=Outcome.BROKE,
    )
    return dataclasses.replace(pull, **changes)


def test_a_break_gives_one_stress():
    stress = joint_stress_of(pry_of_disc())
    assert stress.exact
    assert stress.lower_mpa == pytest.approx(3.0, rel=1e-6)  # 36.8 N m on a 50 mm disc is 3 MPa (derived)


def test_a_held_pull_has_no_upper_end():
    stress = joint_stress_of(pry_of_disc(outcome=Outcome.HELD))
    assert stress.lower_mpa == pytest.approx(3.0, rel=1e-6)
    assert stress.upper_mpa is None


def test_a_step_lies_between_the_last_held_and_the_breaking_load():
    stress = joint_stress_of(
        pry_of_disc(outcome=Outcome.STEP, loading=Loading(load=122.71846, held=61.35923, arm_mm=300.0))
    )
    assert stress.lower_mpa == pytest.approx(1.5, rel=1e-6)
    assert stress.upper_mpa == pytest.approx(3.0, rel=1e-6)


def test_a_handled_joint_lies_below_its_load():
    stress = joint_stress_of(pry_of_disc(outcome=Outcome.HANDLED))
    assert stress.lower_mpa == 0.0
    assert stress.upper_mpa == pytest.approx(3.0, rel=1e-6)
    assert stress.handled


def test_a_slipped_bar_after_handling_tells_nothing():
    stress = joint_stress_of(pry_of_disc(outcome=Outcome.HANDLED, broke=Break(broke_at=BrokeAt.BAR)))
    assert not stress.carries_information


def test_cap_and_step_of_the_rig_carry_over_by_the_same_factor():
    loading = Loading(load=122.71846, arm_mm=300.0, cap=245.43692, load_step=12.271846)
    stress = joint_stress_of(pry_of_disc(loading=loading))
    assert stress.cap_mpa == pytest.approx(6.0, rel=1e-6)
    assert stress.load_step_mpa == pytest.approx(0.3, rel=1e-6)


def test_twist_is_elastic_and_in_newton_metres():
    pull = pry_of_disc(action=Action.TWIST, loading=Loading(load=122.71846))
    assert joint_stress_of(pull).lower_mpa == pytest.approx(5.0, rel=1e-6)  # T1 table: 123 N m at 5 MPa (derived)


def test_shear_is_force_over_area():
    pull = pry_of_disc(
        action=Action.SHEAR,
        joint=Joint(Combination("white glue", "maple"), Rectangle(25.0, 40.0)),
        loading=Loading(load=5000.0),
    )
    assert joint_stress_of(pull).lower_mpa == pytest.approx(5.0, rel=1e-12)


def test_a_stated_uncertainty_replaces_the_usual_one():
    usual = joint_stress_of(pry_of_disc()).u_mpa
    stated = joint_stress_of(pry_of_disc(loading=Loading(load=122.71846, arm_mm=300.0, uncertainty_pct=10.0))).u_mpa
    # 10 % of the load, with 3 u_d/d of the disc and u_L/L of the arm, in quadrature
    relative = (0.10**2 + (3 * 0.3 / 3**0.5 / 50) ** 2 + (2 / 3**0.5 / 300) ** 2) ** 0.5
    assert stated == pytest.approx(3.0 * relative, rel=1e-4)
    assert usual < stated


def test_a_straight_pull_without_offset_is_force_over_area():
    loading = Loading(load=1000.0)
    stress = joint_stress_of(pry_of_disc(action=Action.PULL, loading=loading))
    assert stress.lower_mpa == pytest.approx(1000.0 / 1963.4954, rel=1e-6)  # a 50 mm disc has 1963.4954 mm2


def test_a_straight_pull_without_offset_is_as_uncertain_as_its_load_and_twice_its_diameter():
    loading = Loading(load=1000.0, uncertainty_pct=10.0)
    stress = joint_stress_of(pry_of_disc(action=Action.PULL, loading=loading))
    relative = (0.10**2 + (2 * 0.3 / 3**0.5 / 50) ** 2) ** 0.5  # 10 % of the load, 0.3 mm at the most of the diameter
    assert stress.u_mpa == pytest.approx(1000.0 / 1963.4954 * relative, rel=1e-6)


def test_a_rectangle_is_twisted_by_its_short_side():
    # torsion of a rectangle: T (3 + 1.8 b / a) / (a b^2) with b the shorter side; 24 N m on 40 x 20 mm is 5.85 MPa
    joint = Joint(Combination("white glue", "maple"), Rectangle(40.0, 20.0))
    stress = joint_stress_of(pry_of_disc(joint=joint, action=Action.TWIST, loading=Loading(load=24.0)))
    assert stress.lower_mpa == pytest.approx(24_000.0 * (3.0 + 1.8 * 0.5) / (40.0 * 20.0**2), rel=1e-9)
