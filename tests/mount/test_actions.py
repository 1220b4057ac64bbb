import dataclasses

import numpy as np
import pytest

from jointlab.mount.actions import (
    CASE_OF_CATCH,
    CATCH_OF_CASE,
    blank_joint_actions,
    free_load,
    joint_actions,
    stress_of,
    tool_load,
)
from jointlab.mount.demand import Actions, Case
from jointlab.mount.loads import weight_n
from jointlab.mount.setup import BlankJoint, CatchClass
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Combination, Disc
from jointlab.stress.section import section_of

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 0},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


def ring(height_mm):
    return BlankJoint(height_mm, 200.0, 150.0, Combination("PVA", "ring"))


def test_each_catch_has_its_case():
    assert set(CATCH_OF_CASE.values()) == set(CatchClass)
    assert CASE_OF_CATCH[CatchClass.SEVERE] is Case.CATCH_SEVERE


def test_at_rest_and_in_free_spin_no_tool_pushes():
    for case in (Case.REST, Case.SPIN):
        assert np.all(tool_load(PLAIN, case).force_n == 0.0)


def test_the_torque_of_a_cut_crosses_whole():
    load = tool_load(PLAIN, Case.CUT)
    assert joint_actions(PLAIN, load).torque_nmm == pytest.approx(load.force_n * load.points.radius_mm)


def test_half_way_up_a_joint_carries_the_half_of_the_blank_beyond_it():
    load = tool_load(PLAIN, Case.REST)
    actions = blank_joint_actions(PLAIN, ring(50.0), load)
    assert actions.shear_n[0] == pytest.approx(weight_n(PLAIN.blank) / 2)
    assert actions.moment_nmm[0] == pytest.approx(weight_n(PLAIN.blank) / 2 * 25.0)


def test_a_cut_beyond_a_joint_bends_it_by_the_rest_of_the_reach():
    load = free_load(PLAIN, force_n=1000.0)
    at_block, higher = (blank_joint_actions(PLAIN, ring(height), load).moment_nmm.max() for height in (0.0, 60.0))
    radial = 0.4 * 40.0 + 0.3 * 150.0
    steady = 0.4 * weight_n(PLAIN.blank) * 20.0
    assert higher == pytest.approx(1000.0 * np.hypot(40.0, radial) + steady)
    assert higher < at_block


def test_a_cut_below_a_joint_stops_what_is_beyond_through_it():
    """The reach ends below the joint: no force crosses, but the beyond's share of the inertia is stopped by it."""
    short = dataclasses.replace(PLAIN, work=dataclasses.replace(PLAIN.work, reach_mm=40.0))
    actions = blank_joint_actions(short, ring(60.0), free_load(short, force_n=3000.0))
    assert np.all(actions.axial_n == 0.0)
    blank_kg_m2 = PLAIN.blank.mass_kg * 0.3**2 / 8
    driven_nmm = 2.5 * 1100.0 / (600.0 * np.pi / 30.0) * 1000.0
    expected = 0.4 * blank_kg_m2 / (blank_kg_m2 + 0.020) * (3000.0 * 150.0 - driven_nmm)
    assert actions.torque_nmm.max() == pytest.approx(expected)


def test_tension_and_shear_each_add_their_two_parts():
    stress = stress_of(Actions(1000.0, 200.0, 3000.0, 400.0), section_of(Disc(20.0)))
    area, modulus = np.pi * 100.0, np.pi * 1000.0 / 4.0
    assert stress.tension_mpa == pytest.approx(400.0 / area + 1000.0 / modulus)
    assert stress.shear_mpa == pytest.approx(3000.0 / (2.0 * modulus) + 200.0 / area)
