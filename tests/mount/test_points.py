"""The few points against a dense grid: no demand and no combined action anywhere is larger than at one of them."""

import dataclasses

import numpy as np
import pytest

from jointlab.mount.actions import CATCH_OF_CASE, ToolLoad, blank_joint_actions, joint_actions, joint_stress, tool_load
from jointlab.mount.demand import Case
from jointlab.mount.loads import CLASS_FORCE_N, catch_n, cut_n
from jointlab.mount.points import Points
from jointlab.mount.screws import screw_demand
from jointlab.mount.setup import BlankJoint, Screws, Support, Tailstock
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Combination, Disc

SEED = 20260
GRID = 160


def random_setups(count):
    rng = np.random.default_rng(SEED)
    plain = setup_of(
        {
            "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
            "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
            "block": {"thickness_mm": 25},
            "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
        }
    )
    for _ in range(count):
        diameter, length = rng.uniform(60, 600), rng.uniform(15, 500)
        yield dataclasses.replace(
            plain,
            blank=dataclasses.replace(
                plain.blank,
                diameter_mm=diameter,
                length_mm=length,
                centre_mm=length / 2,
                mass_kg=10 ** rng.uniform(-0.7, 1.7),
                offset_mm=rng.choice([0.0, 1.0, 15.0]),
            ),
            joint=dataclasses.replace(plain.joint, outline=Disc(rng.uniform(30, 200))),
            lathe=dataclasses.replace(
                plain.lathe,
                speed_rpm=rng.uniform(150, 3500),
                motor_w=10 ** rng.uniform(1.5, 3.7),
                rotor_kg_m2=10 ** rng.uniform(-4, -0.5),
                base_rpm=rng.uniform(30, 500),
            ),
            work=dataclasses.replace(
                plain.work,
                reach_mm=length * rng.choice([0.02, 0.38, 1.0]),
                min_radius_mm=diameter * rng.uniform(0, 0.5),
            ),
            screws=Screws(6, 60.0, 4.8, 20.0),
            support=Support(rng.choice(list(Tailstock)), length),
        )


def grid_load(setup, case):
    low, high = min(setup.lathe.base_rpm, setup.lathe.speed_rpm), setup.lathe.speed_rpm
    near, rim = max(setup.work.min_radius_mm, 1e-6), setup.blank.diameter_mm / 2
    speed, radius = np.meshgrid(np.linspace(low, high, GRID), np.geomspace(near, rim, GRID))
    where = {"speed_rpm": speed.ravel(), "radius_mm": radius.ravel()}
    if case is Case.CUT:
        force = cut_n(setup, **where)
    else:
        force = catch_n(setup, class_force_n=CLASS_FORCE_N[CATCH_OF_CASE[case]], **where)
    return ToolLoad(Points(**where), force, sudden=case is not Case.CUT)


def measures(setup, load):
    """Everything a link may be judged by: each stress, each screw force, and norms of them for three strengths."""
    actions = joint_actions(setup, load)
    stress = joint_stress(setup, actions)
    screw = screw_demand(setup, setup.screws, actions)
    ring = BlankJoint(setup.blank.length_mm * 0.3, 50.0, 20.0, Combination("PVA", "maple"))
    inside = blank_joint_actions(setup, ring, load)
    found = [stress.tension_mpa, stress.shear_mpa, screw.withdrawal_n, screw.shear_n]
    found += [inside.moment_nmm, inside.torque_nmm, inside.shear_n]
    found += [np.hypot(stress.tension_mpa, share * stress.shear_mpa) for share in (0.2, 1.0, 5.0)]
    found += [stress.tension_mpa + share * stress.shear_mpa for share in (0.2, 1.0, 5.0)]
    return np.array([measure.max() for measure in found])


@pytest.mark.parametrize("case", [Case.CUT, Case.CATCH_LIGHT, Case.CATCH_FIRM, Case.CATCH_SEVERE])
def test_no_point_of_a_dense_grid_asks_more_than_the_few_points(case):
    shortest = []
    for setup in random_setups(60):
        few, dense = measures(setup, tool_load(setup, case)), measures(setup, grid_load(setup, case))
        assert np.all(few >= dense * (1.0 - 1e-9)), setup
        shortest.append((dense[few > 0.0] / few[few > 0.0]).min())
    # the grid comes close: the few points do not invent a demand that is nowhere
    assert np.median(shortest) > 0.97


def test_the_few_points_lie_within_the_speeds_and_radii_of_the_mount():
    for setup in random_setups(30):
        points = tool_load(setup, Case.CATCH_SEVERE).points
        assert points.speed_rpm.shape == (14,)
        assert points.speed_rpm.min() == min(setup.lathe.base_rpm, setup.lathe.speed_rpm)
        assert points.speed_rpm.max() == setup.lathe.speed_rpm
        assert points.radius_mm.max() == setup.blank.diameter_mm / 2
        assert points.radius_mm.min() == pytest.approx(max(setup.work.min_radius_mm, 1e-6))


def test_between_its_ends_the_speed_at_which_the_cap_begins_can_govern():
    """A weak motor and a light rotor: the force falls short at high and low speed alike, and the peak is inside."""
    inside = 0
    for setup in random_setups(60):
        for case in (Case.CATCH_FIRM, Case.CATCH_SEVERE):
            load = tool_load(setup, case)
            stress = joint_stress(setup, joint_actions(setup, load))
            ends = (load.points.speed_rpm == load.points.speed_rpm.min()) | (
                load.points.speed_rpm == load.points.speed_rpm.max()
            )
            inside += stress.shear_mpa.max() > stress.shear_mpa[ends].max() * 1.0001
    assert inside >= 1
