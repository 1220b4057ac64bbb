"""Loads against the plain formulas, written out once more with the standard library alone."""

import dataclasses
import math
import random

import pytest

from jointlab.mount.actions import ToolLoad, joint_actions, joint_stress
from jointlab.mount.loads import (
    CLASS_FORCE_N,
    available_n,
    catch_n,
    crossing_torque_nmm,
    cut_n,
    drive_torque_nmm,
    imbalance_n,
    most_available_n,
)
from jointlab.mount.points import Points
from jointlab.mount.setup import CatchClass
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Ring

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


def written_out(setup, class_n, rpm, radius):
    """Tension and shear of a catch on a ring, in metres and newtons, step by step; no part of the package is used."""
    m, big_d = setup.blank.mass_kg, setup.blank.diameter_mm / 1000
    j_b, j_r = m * big_d**2 / 8, setup.lathe.rotor_kg_m2
    w, w_b = rpm * math.pi / 30, setup.lathe.base_rpm * math.pi / 30
    t_m = 2.5 * setup.lathe.motor_w / max(w, w_b)
    energy = 0.5 * (j_b + j_r) * w**2
    r = radius / 1000
    f_t = min(class_n, t_m / r + 2 * energy / 0.1)
    f_r, f_a = 0.4 * f_t, 0.3 * f_t
    z, a = setup.work.reach_mm / 1000, setup.blank.centre_mm / 1000
    steady = m * 9.80665 + m * setup.blank.offset_mm / 1000 * w**2
    moment = math.sqrt((f_t * z) ** 2 + (f_r * z + f_a * r) ** 2) + steady * a
    side = math.sqrt(f_t**2 + f_r**2) + steady
    t_p = f_t * r
    torque = t_p if t_p <= t_m else t_m + j_r / (j_b + j_r) * (t_p - t_m)
    outer, inner = setup.joint.outline.diameter_mm / 1000, setup.joint.outline.hole_mm / 1000
    area = math.pi * (outer**2 - inner**2) / 4
    modulus = math.pi * (outer**4 - inner**4) / (32 * outer)
    return (f_a / area + moment / modulus) / 1e6, (torque / (2 * modulus) + side / area) / 1e6


def test_the_stresses_of_a_catch_are_those_of_the_formulas_written_out():
    drawn = random.Random(4)
    for _ in range(200):
        diameter, length = drawn.uniform(80, 500), drawn.uniform(20, 400)
        setup = dataclasses.replace(
            PLAIN,
            blank=dataclasses.replace(
                PLAIN.blank,
                diameter_mm=diameter,
                length_mm=length,
                centre_mm=length / 2,
                mass_kg=drawn.uniform(0.3, 20),
                offset_mm=drawn.uniform(0, 15),
            ),
            joint=dataclasses.replace(PLAIN.joint, outline=Ring(80.0, drawn.uniform(1, 60))),
            lathe=dataclasses.replace(
                PLAIN.lathe, motor_w=drawn.uniform(100, 3000), rotor_kg_m2=drawn.uniform(0.001, 0.1)
            ),
            work=dataclasses.replace(PLAIN.work, reach_mm=drawn.uniform(0, length)),
        )
        rpm, radius = drawn.uniform(30, 3000), drawn.uniform(5, diameter / 2)
        class_n = drawn.choice([300.0, 1000.0, 3000.0])
        force_n = catch_n(setup, class_force_n=class_n, speed_rpm=rpm, radius_mm=radius)
        stress = joint_stress(setup, joint_actions(setup, ToolLoad(Points(rpm, radius), force_n, sudden=True)))
        tension_mpa, shear_mpa = written_out(setup, class_n, rpm, radius)
        assert stress.tension_mpa == pytest.approx(tension_mpa, rel=1e-12)
        assert stress.shear_mpa == pytest.approx(shear_mpa, rel=1e-12)


def test_the_classes_of_catch_are_three_round_forces():
    assert CLASS_FORCE_N == {CatchClass.LIGHT: 300.0, CatchClass.FIRM: 1000.0, CatchClass.SEVERE: 3000.0}


def test_below_the_base_speed_the_drive_gives_no_more_torque():
    assert drive_torque_nmm(PLAIN, speed_rpm=100.0) == drive_torque_nmm(PLAIN, speed_rpm=300.0)
    assert drive_torque_nmm(PLAIN, speed_rpm=600.0) == pytest.approx(drive_torque_nmm(PLAIN, speed_rpm=300.0) / 2)


def test_at_no_speed_nothing_is_stored_and_only_the_drive_pushes():
    assert imbalance_n(PLAIN.blank, speed_rpm=0.0) == 0.0
    pushed_n = available_n(PLAIN, speed_rpm=0.0, radius_mm=100.0)
    assert pushed_n == pytest.approx(drive_torque_nmm(PLAIN, speed_rpm=0.0) / 100.0)


def test_a_steady_cut_is_bounded_by_the_motor_s_power():
    """1.1 kW at 9.4 m/s of rim speed: 117 N (three digits)."""
    assert cut_n(PLAIN, speed_rpm=600.0, radius_mm=150.0) == pytest.approx(117, abs=0.5)
    assert cut_n(PLAIN, speed_rpm=100.0, radius_mm=20.0) == 400.0


def test_of_a_sudden_torque_beyond_the_drive_s_only_the_drive_side_s_inertia_crosses():
    driven_nmm = drive_torque_nmm(PLAIN, speed_rpm=600.0)
    small = crossing_torque_nmm(PLAIN, force_n=100.0, speed_rpm=600.0, radius_mm=100.0)
    large = crossing_torque_nmm(PLAIN, force_n=1000.0, speed_rpm=600.0, radius_mm=100.0)
    rotor, blank = 0.020, PLAIN.blank.mass_kg * 0.3**2 / 8
    assert small == 10_000.0
    assert large == pytest.approx(driven_nmm + rotor / (rotor + blank) * (100_000.0 - driven_nmm))


def test_the_most_a_lathe_brings_is_the_most_of_a_dense_grid_of_speeds_and_radii():
    for base_rpm in (150.0, 300.0, 900.0):
        setup = dataclasses.replace(PLAIN, lathe=dataclasses.replace(PLAIN.lathe, base_rpm=base_rpm))
        slow, least_mm = min(base_rpm, 600.0), float(setup.work.min_radius_mm)
        grid = [
            available_n(
                setup, speed_rpm=slow + (600.0 - slow) * i / 50, radius_mm=least_mm + (150.0 - least_mm) * k / 50
            )
            for i in range(51)
            for k in range(51)
        ]
        assert most_available_n(setup) == pytest.approx(max(grid), rel=1e-12)
