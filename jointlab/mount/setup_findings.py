"""Findings that the setup alone gives: what is unwise, unrated, or to be checked before the start."""

from __future__ import annotations

from collections.abc import Iterator

from jointlab.mount.assumptions import changed_assumptions
from jointlab.mount.glue import gap_findings, softening_findings
from jointlab.mount.movement import joint_width_mm, time_findings
from jointlab.mount.screws import unrated_condition
from jointlab.mount.setup import HoldKind, MountSetup, Screws, Surface, Tailstock
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.vocabulary import GlueFamily, SubstrateKind
from jointlab.units import INCH_MM

SOURCE = "trade"
SOURCE_JUDGEMENT = "judgement"
SOURCE_PENETRATION = "nds_2018"

UNRATED_SURFACES = frozenset({Surface.OILY, Surface.WAXED, Surface.WET})
"""Faces no glue is rated on (``SOURCE_JUDGEMENT``)."""

LAYERED = frozenset({SubstrateKind.PLYWOOD, SubstrateKind.MDF, SubstrateKind.PARTICLEBOARD, SubstrateKind.OSB})
"""Sheet goods (``SOURCE``)."""

PRACTICE_IN_RPM = (6000.0, 9000.0)
"""Diameter in inches times rpm at which the trade turns (``SOURCE``)."""

PENETRATION_DIAMETERS = 6.0
"""Thread in the wood, in diameters, below which a screw is too shallow for a side load (``SOURCE_PENETRATION``)."""

TIP_ROOM_MM = 3.0
"""Wood to keep between screw tips and the parting cut (``SOURCE``)."""

PLATE_ROOM_MM = 25.0
"""A joint wider than the plate by more than this stands out beyond it (``SOURCE_JUDGEMENT``)."""

LONG_REACH = 3.0
"""Reach over width of the joint from which the work is long for its joint (``SOURCE_JUDGEMENT``)."""


def diameter_speed_in_rpm(setup: MountSetup) -> float:
    """Diameter in inches times rpm: the trade's measure of a speed."""
    return float(setup.blank.diameter_mm) / INCH_MM * float(setup.lathe.speed_rpm)


def setup_findings(setup: MountSetup, *, glue_family: GlueFamily | None = None) -> tuple[Finding, ...]:
    """Findings on one mount that need no test; a blocking one keeps its verdict from being a pass.

    Parameters
    ----------
    setup
        One mount: no arrays.
    glue_family
        Family of the glue, where it is known.
    """
    alone = (_surface, time_findings, _block, _speed, _screws, _plate, _tailstock, _reach, _assumptions)
    return (*_glue(setup, glue_family), *(finding for question in alone for finding in question(setup)))


def _surface(setup: MountSetup) -> Iterator[Finding]:
    if setup.joint.surface in UNRATED_SURFACES:
        text = (
            f"The glued faces are {setup.joint.surface}: no strength is given to a joint on them. Clean or plane them."
        )
        yield Finding(FindingCode.SURFACE_UNRATED, Severity.BLOCKING, text)


def _glue(setup: MountSetup, glue_family: GlueFamily | None) -> Iterator[Finding]:
    if setup.joint.gap_mm is not None:
        yield from gap_findings(setup.joint.gap_mm, glue_family=glue_family)
    yield from softening_findings(glue_family)


def _assumptions(setup: MountSetup) -> Iterator[Finding]:
    changed = changed_assumptions(setup)
    if not changed:
        return
    told = "; ".join(
        f"{each.assumption.name} {each.value:g} in place of {each.usual:g}"
        + (f" (outside {each.assumption.low:g} to {each.assumption.high:g})" if each.beyond else "")
        for each in changed
    )
    text = f"Assumptions of the loads set by hand for this mount, not by the rule: {told}."
    yield Finding(FindingCode.ASSUMPTION_CHANGED, Severity.WARNING, text)


def _speed(setup: MountSetup) -> Iterator[Finding]:
    product, (low, high) = diameter_speed_in_rpm(setup), PRACTICE_IN_RPM
    if product > high:
        text = (
            f"{float(setup.lathe.speed_rpm):g} rpm on {float(setup.blank.diameter_mm):g} mm is {product:.0f} inches x "
            f"rpm; the trade turns at {low:.0f} to {high:.0f}, that is at most "
            f"{high * INCH_MM / float(setup.blank.diameter_mm):.0f} rpm here."
        )
        yield Finding(FindingCode.SPEED_ABOVE_PRACTICE, Severity.WARNING, text)


def _block(setup: MountSetup) -> Iterator[Finding]:
    if setup.block.kind in LAYERED:
        between = ""
        if setup.screws is not None:
            left_mm = max(0.0, float(setup.block.thickness_mm) - float(setup.screws.thread_mm))
            between = f" The {left_mm:.3g} mm between screw tips and glue line hang by the sheet's own bond alone."
        text = (
            f"A block of {setup.block.kind} comes apart in its layers before the glue does, often at an unseen gap: "
            f"only tests on the same sheet, as thick, speak for it.{between}"
        )
        yield Finding(FindingCode.BLOCK_LAYERED, Severity.NOTE, text)


def _screws(setup: MountSetup) -> Iterator[Finding]:
    screws = setup.screws
    if screws is None:
        return
    if trouble := unrated_condition(screws):
        text = f"The screws are not rated: {trouble}."
        yield Finding(FindingCode.SCREWS_UNRATED, Severity.BLOCKING, text)
    if screws.thread_mm < PENETRATION_DIAMETERS * screws.diameter_mm:
        text = (
            f"{float(screws.thread_mm):g} mm of thread in the block is less than {PENETRATION_DIAMETERS:g} diameters "
            f"of the screw ({PENETRATION_DIAMETERS * screws.diameter_mm:.3g} mm): shallow for a side load."
        )
        yield Finding(FindingCode.SCREWS_SHALLOW, Severity.WARNING, text)
    yield from _tips(setup, screws)


def _tips(setup: MountSetup, screws: Screws) -> Iterator[Finding]:
    left_mm = float(setup.block.thickness_mm) - float(screws.thread_mm)
    if left_mm < TIP_ROOM_MM:
        text = (
            f"{left_mm:.3g} mm of block are left beyond the screw tips: keep {TIP_ROOM_MM:g} mm between them and the "
            "parting cut, and clear of the glue line."
        )
        yield Finding(FindingCode.SCREW_TIPS_NEAR, Severity.WARNING, text)


def _plate(setup: MountSetup) -> Iterator[Finding]:
    if setup.hold.kind not in (HoldKind.FACEPLATE, HoldKind.FACEPLATE_ON_BLANK):
        return
    width_mm, plate_mm = joint_width_mm(setup.joint.outline), setup.hold.plate_mm
    if plate_mm is not None and width_mm > plate_mm + PLATE_ROOM_MM:
        text = (
            f"The joint, {width_mm:g} mm, stands out beyond the plate, {plate_mm:g} mm: use the largest plate there is."
        )
        yield Finding(FindingCode.PLATE_SMALL, Severity.NOTE, text)
    text = (
        "Before the start: the plate clean and seated on the spindle, and locked if the lathe reverses or brakes. It "
        "is not rated here."
    )
    yield Finding(FindingCode.PLATE_SEAT, Severity.NOTE, text)


def _tailstock(setup: MountSetup) -> Iterator[Finding]:
    if setup.support.tailstock is Tailstock.ROUGHING:
        text = (
            "The tailstock is up for roughing only: it is not counted, as the phase without it governs. With it "
            "throughout this would be another mount."
        )
        yield Finding(FindingCode.TAILSTOCK_NOT_COUNTED, Severity.NOTE, text)
    beyond = setup.work.reach_mm > setup.support.tailstock_mm
    if setup.support.tailstock is Tailstock.THROUGHOUT and beyond:
        text = "Cuts reach beyond the tailstock, where nothing supports: it is not counted there."
        yield Finding(FindingCode.TAILSTOCK_NOT_COUNTED, Severity.WARNING, text)


def _reach(setup: MountSetup) -> Iterator[Finding]:
    width_mm = joint_width_mm(setup.joint.outline)
    if setup.work.reach_mm > LONG_REACH * width_mm:
        text = (
            f"Cuts reach {float(setup.work.reach_mm):g} mm out on a joint of {width_mm:g} mm. A steady rest helps and "
            "is not counted: nothing rates it."
        )
        yield Finding(FindingCode.REACH_LONG, Severity.NOTE, text)
