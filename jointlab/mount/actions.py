"""From forces at the tool to actions on the planes of the mount, and from actions to stresses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from jointlab.mount.bond import bonded_section
from jointlab.mount.demand import Actions, Case, StressDemand
from jointlab.mount.loads import (
    arm_mm,
    blank_inertia_kg_m2,
    catch_n,
    crossing_torque_nmm,
    cut_n,
    drive_torque_nmm,
    imbalance_n,
    turning_inertia_kg_m2,
    weight_n,
)
from jointlab.mount.points import Points, catch_points, cut_points, free_points, rest_points, spin_points
from jointlab.mount.setup import BlankJoint, CatchClass, MountSetup
from jointlab.mount.tailstock import worst_arm_mm
from jointlab.record.joint import Ring
from jointlab.stress.section import Section, section_of

SOURCE = "mechanics"

CATCH_OF_CASE = {
    Case.CATCH_LIGHT: CatchClass.LIGHT,
    Case.CATCH_FIRM: CatchClass.FIRM,
    Case.CATCH_SEVERE: CatchClass.SEVERE,
}
CASE_OF_CATCH = {catch: case for case, catch in CATCH_OF_CASE.items()}


def _side(setup: MountSetup) -> Any:
    """Side force of a cut over its tangential force."""
    return np.hypot(1.0, setup.assumptions.radial_share)


@dataclass(frozen=True, slots=True)
class ToolLoad:
    """What a case puts on the blank over its points: tangential force of the tool, and whether it comes at once.

    ``sudden`` tells a catch, whose torque beyond the drive's is met by inertia, from a steady cut, whose torque all
    comes from the drive.
    """

    points: Points
    force_n: Any
    sudden: bool


def tool_load(setup: MountSetup, case: Case) -> ToolLoad:
    """Tool force of a case over the points at which it can ask the most."""
    match case:
        case Case.REST:
            points = rest_points(setup)
            return ToolLoad(points, np.zeros_like(points.speed_rpm), sudden=False)
        case Case.SPIN:
            points = spin_points(setup)
            return ToolLoad(points, np.zeros_like(points.speed_rpm), sudden=False)
        case Case.CUT:
            points = cut_points(setup)
            force_n = cut_n(setup, speed_rpm=points.speed_rpm, radius_mm=points.radius_mm)
            return ToolLoad(points, force_n, sudden=False)
        case _:
            class_force_n = setup.assumptions.force_n(CATCH_OF_CASE[case])
            points = catch_points(setup, class_force_n=class_force_n)
            force_n = catch_n(
                setup, class_force_n=class_force_n, speed_rpm=points.speed_rpm, radius_mm=points.radius_mm
            )
            return ToolLoad(points, force_n, sudden=True)


def free_load(setup: MountSetup, *, force_n: Any) -> ToolLoad:
    """A catch of a force set freely, not capped by the lathe."""
    points = free_points(setup, force_n=force_n)
    return ToolLoad(points, np.broadcast_to(np.asarray(force_n, dtype=np.float64), points.speed_rpm.shape), sudden=True)


def joint_actions(setup: MountSetup, load: ToolLoad) -> Actions:
    """Actions on the glue line: M = F arm + (W + F_i) a, V = 1.077 F + W + F_i, T, N = 0.3 F."""
    speed_rpm, radius_mm = load.points.speed_rpm, load.points.radius_mm
    steady_n = weight_n(setup.blank) + imbalance_n(setup.blank, speed_rpm=speed_rpm)
    torque = load.force_n * radius_mm
    if load.sudden:
        torque = crossing_torque_nmm(setup, force_n=load.force_n, speed_rpm=speed_rpm, radius_mm=radius_mm)
    arms_mm = load.points.over_radii(lambda radius_mm: worst_arm_mm(setup, radius_mm=radius_mm))
    return Actions(
        moment_nmm=load.force_n * arms_mm + steady_n * setup.blank.centre_mm,
        shear_n=load.force_n * _side(setup) + steady_n,
        torque_nmm=torque,
        axial_n=setup.assumptions.axial_share * load.force_n,
    )


def blank_joint_actions(setup: MountSetup, ring: BlankJoint, load: ToolLoad) -> Actions:
    """Actions on a joint inside the blank, from the cut and the part of the blank beyond it.

    The part beyond is a cylinder's share of the blank. A cut beyond the joint bends it by what its height leaves of
    the reach; a cut that cannot reach beyond sends across only the inertia of that part. The tailstock relieves nothing
    here.
    """
    blank, speed_rpm, radius_mm = setup.blank, load.points.speed_rpm, load.points.radius_mm
    beyond = 1.0 - ring.height_mm / blank.length_mm
    lever_mm = np.maximum(blank.length_mm * beyond / 2.0 + blank.centre_mm - blank.length_mm / 2.0, 0.0)
    steady_n = beyond * (weight_n(blank) + imbalance_n(blank, speed_rpm=speed_rpm))
    left_mm = setup.work.reach_mm - ring.height_mm
    crossing_n = np.where(np.asarray(left_mm) >= 0.0, load.force_n, 0.0)
    return Actions(
        moment_nmm=crossing_n * arm_mm(setup, height_mm=np.maximum(left_mm, 0.0), radius_mm=radius_mm)
        + steady_n * lever_mm,
        shear_n=crossing_n * _side(setup) + steady_n,
        torque_nmm=_blank_joint_torque_nmm(setup, load, crossing_n=crossing_n, ring_height_mm=ring.height_mm),
        axial_n=setup.assumptions.axial_share * crossing_n,
    )


def _blank_joint_torque_nmm(setup: MountSetup, load: ToolLoad, *, crossing_n: Any, ring_height_mm: float) -> Any:
    """A cut beyond the joint sends its torque across; one below it stops what is beyond through the joint."""
    beyond = 1.0 - ring_height_mm / setup.blank.length_mm
    speed_rpm, radius_mm = load.points.speed_rpm, load.points.radius_mm
    if not load.sudden:
        return crossing_n * radius_mm
    above = crossing_torque_nmm(setup, force_n=crossing_n, speed_rpm=speed_rpm, radius_mm=radius_mm, below=1.0 - beyond)
    if ring_height_mm <= 0.0:
        return above
    excess = load.force_n * radius_mm - drive_torque_nmm(setup, speed_rpm=speed_rpm)
    share = beyond * blank_inertia_kg_m2(setup.blank) / turning_inertia_kg_m2(setup)
    return np.maximum(above, share * np.maximum(excess, 0.0))


def stress_of(actions: Actions, section: Section) -> StressDemand:
    """Stresses at the worst place of a plane: N/A + M/Z (M turns with the blank) and T/Wt + V/A (on the high side)."""
    per_area = 1.0 / section.area_mm2
    return StressDemand(
        tension_mpa=actions.axial_n * per_area + actions.moment_nmm * (1.0 / section.turning_mm3),
        shear_mpa=actions.torque_nmm * (1.0 / section.torsion_mm3) + actions.shear_n * per_area,
    )


def joint_stress(setup: MountSetup, actions: Actions) -> StressDemand:
    """Stresses of the glue line, its voids taken out."""
    return stress_of(actions, bonded_section(setup.joint))


def blank_joint_stress(ring: BlankJoint, actions: Actions) -> StressDemand:
    """Stresses of a joint inside the blank, on what the hollowing leaves of it."""
    outer_mm: Any = ring.outer_mm
    inner_mm: Any = ring.inner_mm
    return stress_of(actions, section_of(Ring(outer_mm, inner_mm)))
