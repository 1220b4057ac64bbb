"""The demand over a range of one size of the mount, of speeds, and of tailstocks: what an envelope is drawn from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np
import numpy.typing as npt

from jointlab.errors import InputError, Problem
from jointlab.mount.demand import LinkDemand, MountDemand
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.movement import joint_width_mm
from jointlab.mount.setup import BlankJoint, MountSetup, Tailstock
from jointlab.mount.setup_findings import PRACTICE_IN_RPM
from jointlab.record.joint import Disc, Outline, Rectangle, Ring
from jointlab.units import INCH_MM

SOURCE = "mechanics"
SOURCE_PRACTICE = "trade"

Values = npt.NDArray[np.float64]


class EnvelopeAxis(StrEnum):
    """The size that varies along an envelope."""

    JOINT_DIAMETER = "joint_diameter_mm"
    REACH = "reach_mm"
    BLANK_DIAMETER = "blank_diameter_mm"
    HOLLOW_DIAMETER = "hollow_diameter_mm"


@dataclass(frozen=True, slots=True)
class EnvelopeLine:
    """The envelope with one tailstock.

    Parameters
    ----------
    tailstock
        When the tailstock is up.
    setup
        The mounts: arrays, sizes on the first axis, speeds on the second.
    demand
        Their demand, of the same two axes; arrays over points have the points before them.
    """

    tailstock: Tailstock
    setup: MountSetup
    demand: MountDemand

    def at_force(self, force_n: Any) -> tuple[LinkDemand, ...]:
        """Demand of a catch whose force is set freely, over the same sizes and speeds; a force for each if wished."""
        return demand_at_force(self.setup, force_n)


@dataclass(frozen=True, slots=True)
class Envelope:
    """The demand over sizes [mm] and speeds [rpm], for each tailstock.

    ``practice_rpm``: what the trade turns at, lowest and highest, for each size.
    """

    axis: EnvelopeAxis
    sizes_mm: Values
    speeds_rpm: Values
    practice_rpm: tuple[Values, Values]
    lines: tuple[EnvelopeLine, ...]


def envelope_of(
    setup: MountSetup,
    *,
    axis: EnvelopeAxis,
    sizes_mm: npt.ArrayLike,
    speeds_rpm: npt.ArrayLike | None = None,
    tailstocks: tuple[Tailstock, ...] = (Tailstock.NONE, Tailstock.THROUGHOUT),
) -> Envelope:
    """The demand over a range of sizes and speeds, for each tailstock, in one call each.

    Parameters
    ----------
    setup
        One mount; what does not vary stays as it is there.
    axis
        Which size varies. A wider joint keeps its shape, a wider blank its density, length and share of radius cut; a
        hollow widens every joint of the blank.
    sizes_mm
        Sizes [mm].
    speeds_rpm
        Chosen speeds [rpm]; that of the setup when None.
    tailstocks
        With which to compute it.

    Raises
    ------
    InputError
        A size that the mount cannot have.
    """
    sizes = np.array(sizes_mm, dtype=np.float64).reshape(-1)
    speeds = np.array(setup.lathe.speed_rpm if speeds_rpm is None else speeds_rpm, dtype=np.float64).reshape(-1)
    _check(setup, axis, sizes)
    grown = with_size(setup, axis=axis, size_mm=sizes[:, np.newaxis])
    grown = replace(grown, lathe=replace(grown.lathe, speed_rpm=speeds[np.newaxis, :]))
    lines = []
    for tailstock in tailstocks:
        made = replace(grown, support=replace(grown.support, tailstock=tailstock))
        lines.append(EnvelopeLine(tailstock, made, mount_demand(made)))
    diameter_in = np.broadcast_to(np.asarray(grown.blank.diameter_mm) / INCH_MM, (sizes.size, 1))[:, 0]
    low, high = (limit / diameter_in for limit in PRACTICE_IN_RPM)
    for values in (sizes, speeds, low, high):
        values.setflags(write=False)
    return Envelope(axis, sizes, speeds, (low, high), tuple(lines))


def _check(setup: MountSetup, axis: EnvelopeAxis, sizes: Values) -> None:
    width_mm, diameter_mm = joint_width_mm(setup.joint.outline), float(setup.blank.diameter_mm)
    least, most, why = {
        EnvelopeAxis.JOINT_DIAMETER: (0.0, diameter_mm, "the blank's diameter"),
        EnvelopeAxis.REACH: (0.0, float(setup.blank.length_mm), "the blank's length"),
        EnvelopeAxis.BLANK_DIAMETER: (width_mm, np.inf, "no limit; at least the joint's width"),
        EnvelopeAxis.HOLLOW_DIAMETER: (0.0, _least_outer_mm(setup), "the narrowest joint of the blank"),
    }[axis]
    exclusive = axis is EnvelopeAxis.HOLLOW_DIAMETER
    positive = axis is EnvelopeAxis.JOINT_DIAMETER
    wrong = [
        size
        for size in sizes
        if not (least <= size <= most) or (exclusive and size >= most) or (positive and size <= 0.0)
    ]
    if wrong or not sizes.size:
        told = f"must lie between {least:g} and {most:g} mm ({why})"
        allowed = f"{least:g} to {most:g} mm"
        problems = [Problem(told, column=axis, value=f"{size:g}", allowed=allowed) for size in wrong]
        raise InputError(problems or Problem("at least one size is needed", column=axis), subject="the envelope")


def _least_outer_mm(setup: MountSetup) -> float:
    return min((float(ring.outer_mm) for ring in setup.blank_joints), default=0.0)


def own_size_mm(setup: MountSetup, axis: EnvelopeAxis) -> float:
    """The size the mount has now [mm]; of several hollowed joints the widest hollow. One mount: no arrays."""
    match axis:
        case EnvelopeAxis.JOINT_DIAMETER:
            return float(joint_width_mm(setup.joint.outline))
        case EnvelopeAxis.REACH:
            return float(setup.work.reach_mm)
        case EnvelopeAxis.HOLLOW_DIAMETER:
            return max((float(ring.inner_mm) for ring in setup.blank_joints), default=0.0)
        case EnvelopeAxis.BLANK_DIAMETER:
            return float(setup.blank.diameter_mm)


def with_size(setup: MountSetup, *, axis: EnvelopeAxis, size_mm: Any) -> MountSetup:
    """The mount with one size set anew, to a number or an array [mm]."""
    match axis:
        case EnvelopeAxis.JOINT_DIAMETER:
            outline = _widened(setup.joint.outline, size_mm)
            return replace(setup, joint=replace(setup.joint, outline=outline))
        case EnvelopeAxis.REACH:
            return replace(setup, work=replace(setup.work, reach_mm=size_mm))
        case EnvelopeAxis.HOLLOW_DIAMETER:
            return replace(setup, blank_joints=tuple(_hollowed(ring, size_mm) for ring in setup.blank_joints))
        case EnvelopeAxis.BLANK_DIAMETER:
            share = size_mm / setup.blank.diameter_mm
            blank = replace(setup.blank, diameter_mm=size_mm, mass_kg=setup.blank.mass_kg * share**2)
            work = replace(setup.work, min_radius_mm=setup.work.min_radius_mm * share)
            return replace(setup, blank=blank, work=work)


def _widened(outline: Outline, width_mm: Any) -> Outline:
    share = width_mm / joint_width_mm(outline)
    match outline:
        case Disc():
            return Disc(width_mm)
        case Ring(_, hole_mm):
            return Ring(width_mm, hole_mm * share)
        case Rectangle(across_mm, depth_mm):
            return Rectangle(across_mm * share, depth_mm * share)


def _hollowed(ring: BlankJoint, hollow_mm: Any) -> BlankJoint:
    return replace(ring, inner_mm=np.maximum(ring.inner_mm, hollow_mm))
