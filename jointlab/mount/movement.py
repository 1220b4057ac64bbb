"""What wood and time do to a mounted joint: movement across the grain, cure, load left on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jointlab.mount.setup import MountSetup
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Disc, Outline, Rectangle, Ring

SOURCE = "judgement"
SOURCE_PRACTICE = "trade"

MOVEMENT_SHARE = 0.003
"""Change of width across the grain for each 1 % of moisture (``SOURCE``)."""

MOISTURE_APART_PCT = 2.0
"""Blank and block further apart than this move against each other from the first day (``SOURCE_PRACTICE``)."""

WIDE_MM = 100.0
DAYS = 3.0
"""A joint wider than this across the grain, left mounted longer than this, needs a new check (``SOURCE_PRACTICE``)."""

LEAST_AGE_H = 24.0
"""A younger joint counts as untested (``SOURCE_PRACTICE``)."""

HANGING_H = 8.0
"""Longer under load than this, wood keeps less of its strength and white glue creeps (``SOURCE``)."""


def movement_mm(*, width_mm: Any, moisture_change_pct: Any) -> Any:
    """Change of width across the grain [mm]: 0.3 % for each 1 % of moisture.

    Examples
    --------
    >>> round(movement_mm(width_mm=150.0, moisture_change_pct=4.0), 2)
    1.8
    """
    return MOVEMENT_SHARE * width_mm * abs(moisture_change_pct)


def joint_width_mm(outline: Outline) -> float:
    """Largest width of the joint [mm]."""
    match outline:
        case Disc(diameter_mm) | Ring(diameter_mm, _):
            return float(diameter_mm)
        case Rectangle(width_mm, depth_mm):
            return float(max(width_mm, depth_mm))


def time_findings(setup: MountSetup, *, days_mounted: float = 0.0) -> Iterator[Finding]:
    """Findings on moisture, movement, cure and load left on.

    Parameters
    ----------
    setup
        One mount.
    days_mounted
        Days for which the blank has been, or will be, left on its block.
    """
    yield from _young(setup)
    yield from _apart(setup)
    yield from _moving(setup, days_mounted)
    hours = max(setup.work.minutes / 60.0, 24.0 * days_mounted)
    if hours > HANGING_H:
        text = (
            f"Under load for {hours:.3g} h: past eight hours wood keeps less of its strength and white glue creeps. "
            "Take heavy work off the lathe overnight, or support it."
        )
        yield Finding(FindingCode.LEFT_HANGING, Severity.WARNING, text)


def _young(setup: MountSetup) -> Iterator[Finding]:
    if setup.joint.age_h < LEAST_AGE_H:
        text = (
            f"The joint is {setup.joint.age_h:g} h old. Before {LEAST_AGE_H:g} h it counts as untested, whatever its "
            "glue: wait."
        )
        yield Finding(FindingCode.JOINT_YOUNG, Severity.BLOCKING, text)


def _apart(setup: MountSetup) -> Iterator[Finding]:
    blank_pct, block_pct = setup.blank.moisture_pct, setup.block.moisture_pct
    if blank_pct is None or block_pct is None or abs(blank_pct - block_pct) <= MOISTURE_APART_PCT:
        return
    moves_mm = movement_mm(width_mm=joint_width_mm(setup.joint.outline), moisture_change_pct=blank_pct - block_pct)
    text = (
        f"Blank at {blank_pct:g} % moisture, block at {block_pct:g} %: more than {MOISTURE_APART_PCT:g} % apart. As "
        f"they even out, the joint is sheared by up to {moves_mm:.2g} mm across the grain. Let them even out first."
    )
    yield Finding(FindingCode.MOISTURE_APART, Severity.BLOCKING, text)


def _moving(setup: MountSetup, days_mounted: float) -> Iterator[Finding]:
    width_mm = joint_width_mm(setup.joint.outline)
    if width_mm <= WIDE_MM:
        return
    left = days_mounted > DAYS
    move_mm = movement_mm(width_mm=width_mm, moisture_change_pct=1.0)
    told = (
        f"was left mounted for {days_mounted:g} days: check it anew"
        if left
        else f"is to be checked anew after {DAYS:g}"
    )
    text = (
        f"The joint is {width_mm:g} mm wide and {told}{'' if left else ' days'}. Across the grain it moves some "
        f"{move_mm:.2g} mm for each 1 % of moisture."
    )
    yield Finding(FindingCode.WOOD_MOVES, Severity.WARNING if left else Severity.NOTE, text)
