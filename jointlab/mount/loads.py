"""Loads on a turning blank: weight, imbalance, cut, catch, and what the lathe can put behind them.

Speeds are those of the spindle [rpm], radii those of the tool [mm]; every quantity may be a number or an array, and the
setup's own arrays stand on the last axes. Source of every formula: mechanics; what else they rest on is
``MountSetup.assumptions``.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from jointlab.mount.setup import Blank, CatchClass, LoadAssumptions, MountSetup
from jointlab.units import STANDARD_GRAVITY_M_S2

SOURCE = "mechanics"

CLASS_FORCE_N: dict[CatchClass, float] = {catch: float(LoadAssumptions().force_n(catch)) for catch in CatchClass}
"""Tangential force of each class of catch as assumed by default: 300, 1000, 3000 N."""


LEAST_RADIUS_MM = 1e-6
"""A cut at the very centre is taken here, so that no force is divided by nothing."""


def angular_speed_rad_s(speed_rpm: Any) -> Any:
    """Angular speed [rad/s]."""
    return speed_rpm * (2.0 * np.pi / 60.0)


def weight_n(blank: Blank) -> Any:
    """Weight of the blank [N]."""
    return blank.mass_kg * STANDARD_GRAVITY_M_S2


def imbalance_n(blank: Blank, *, speed_rpm: Any) -> Any:
    """Force of the blank's offset at a speed [N]: m e omega^2."""
    return blank.mass_kg * (blank.offset_mm / 1000.0) * angular_speed_rad_s(speed_rpm) ** 2


def blank_inertia_kg_m2(blank: Blank) -> Any:
    """Inertia of the blank about the spindle [kg m2], as a solid cylinder: m D^2/8."""
    return blank.mass_kg * (blank.diameter_mm / 1000.0) ** 2 / 8.0


def turning_inertia_kg_m2(setup: MountSetup) -> Any:
    """Inertia of everything that turns [kg m2]."""
    return blank_inertia_kg_m2(setup.blank) + setup.lathe.rotor_kg_m2


def drive_torque_nmm(setup: MountSetup, *, speed_rpm: Any) -> Any:
    """Most torque the drive delivers [N mm]: below ``base_rpm`` the belt or the drive limits it."""
    limiting = angular_speed_rad_s(np.maximum(speed_rpm, setup.lathe.base_rpm))
    return peak_power_nmm_s(setup) / limiting


def peak_power_nmm_s(setup: MountSetup) -> Any:
    """Peak power of the drive at and above ``base_rpm`` [N mm/s]: k P."""
    return 1000.0 * setup.assumptions.pull_out * setup.lathe.motor_w


def stopping_n(setup: MountSetup, *, speed_rpm: Any) -> Any:
    """Force that stops everything that turns over the stopping arc [N]: k E/s with E = J omega^2/2."""
    return stopping_stiffness(setup) * angular_speed_rad_s(speed_rpm) ** 2


def stopping_stiffness(setup: MountSetup) -> Any:
    """Stopping force over the square of the angular speed [N s^2]."""
    assumed = setup.assumptions
    return assumed.sudden * 0.5 * turning_inertia_kg_m2(setup) / (assumed.stopping_mm / 1000.0)


def available_n(setup: MountSetup, *, speed_rpm: Any, radius_mm: Any) -> Any:
    """Most tangential force the lathe puts behind a catch [N]: T_m/R_c + k E/s."""
    return drive_torque_nmm(setup, speed_rpm=speed_rpm) / radius_mm + stopping_n(setup, speed_rpm=speed_rpm)


def most_available_n(setup: MountSetup) -> Any:
    """Most tangential force the lathe puts behind a catch at any speed and radius of this mount [N].

    The drive's share falls with the radius, and the whole is convex along the speed: it is largest at the least radius
    cut, at the slowest or at the chosen speed. ``SOURCE`` (derived).
    """
    near_mm = np.clip(setup.work.min_radius_mm, LEAST_RADIUS_MM, setup.blank.diameter_mm / 2.0)
    slow_rpm = np.minimum(setup.lathe.base_rpm, setup.lathe.speed_rpm)
    at_ends = [available_n(setup, speed_rpm=rpm, radius_mm=near_mm) for rpm in (slow_rpm, setup.lathe.speed_rpm)]
    return np.maximum(*at_ends)


def catch_n(setup: MountSetup, *, class_force_n: Any, speed_rpm: Any, radius_mm: Any) -> Any:
    """Tangential force of a catch [N]: that of its class, capped by what the lathe delivers."""
    return np.minimum(class_force_n, available_n(setup, speed_rpm=speed_rpm, radius_mm=radius_mm))


def cut_n(setup: MountSetup, *, speed_rpm: Any, radius_mm: Any) -> Any:
    """Tangential force of a steady cut [N]: a heavy cut, capped by the motor's power."""
    return np.minimum(
        setup.assumptions.cut_n, 1000.0 * setup.lathe.motor_w / (angular_speed_rad_s(speed_rpm) * radius_mm)
    )


def crossing_torque_nmm(setup: MountSetup, *, force_n: Any, speed_rpm: Any, radius_mm: Any, below: Any = 0.0) -> Any:
    """Torque a catch sends across a plane of the mount [N mm].

    Up to the drive's own torque all of it crosses; of the rest only what the inertia on the drive's side asks.

    Parameters
    ----------
    force_n, speed_rpm, radius_mm
        Tangential force, speed, radius of the catch.
    below
        Share of the blank's inertia between the faceplate and the plane; 0 at the glue line.
    """
    asked = force_n * radius_mm
    driven = drive_torque_nmm(setup, speed_rpm=speed_rpm)
    drive_side = setup.lathe.rotor_kg_m2 + below * blank_inertia_kg_m2(setup.blank)
    share = drive_side / turning_inertia_kg_m2(setup)
    return np.minimum(asked, driven) + share * np.maximum(asked - driven, 0.0)


def arm_mm(setup: MountSetup, *, height_mm: Any, radius_mm: Any) -> Any:
    """Bending arm of a cut or catch about a plane ``height_mm`` away [mm]: its moment over its tangential force.

    sqrt(z^2 + (0.4 z + 0.3 R_c)^2): the tangential force bends one way, the radial and the axial one the other.
    """
    other_mm = setup.assumptions.radial_share * height_mm + setup.assumptions.axial_share * radius_mm
    return np.sqrt(height_mm * height_mm + other_mm * other_mm)
