"""How well a face fits: tilt, warp, gap and wobble from readings around it, and whether it has changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from jointlab.errors import InputError, Problem
from jointlab.mount.face_readings import FaceReadings, goes_around
from jointlab.mount.glue import gap_findings
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.vocabulary import GlueFamily
from jointlab.units import INCH_MM

SOURCE = "mechanics"
SOURCE_PRACTICE = "trade"
SOURCE_LIMIT = "judgement"

FLAT_MM = 0.01 * INCH_MM
"""A mounting face true within this is good enough to glue to (``SOURCE_PRACTICE``: 0.01 in)."""

OUT_OF_TRUE_MM = 0.05 * INCH_MM
"""A mounting face out of true by this is not (``SOURCE_PRACTICE``: about 1/16 in, 0.05 to 0.06 in around)."""

RUNOUT_LIMIT_MM = FLAT_MM
"""Change of the runout from one reading of the same mount to the next that asks for a look (``SOURCE_LIMIT``)."""

ENOUGH_READINGS = 8
USUAL_READINGS = 16
"""The trade reads at about sixteen places around (``SOURCE_PRACTICE``); with fewer than eight a warp can hide."""


@dataclass(frozen=True, slots=True)
class FitUp:
    """A face against the plane that fits it best.

    Parameters
    ----------
    readings
        What it was computed from.
    tilt_rad
        Lean of the best plane against a plane square to the axis.
    high_at_rad
        Angle at which the best plane stands furthest out.
    tilt_mm
        The same lean across the circle of the outermost readings: from its low to its high side.
    warp_mm
        What the plane leaves: from the deepest to the highest reading about it. Also the largest gap to a flat face
        that is pressed down to seat along with the tilt.
    runout_mm
        From the lowest to the highest reading. Also the largest gap to a flat face held square to the axis, as by a
        tailstock.
    wobble_mm
        Run of the blank's rim to and fro as it turns, from the tilt; None when its diameter is not known.
    left_mm
        Reading minus plane, for each reading.
    """

    readings: FaceReadings
    tilt_rad: float
    high_at_rad: float
    tilt_mm: float
    warp_mm: float
    runout_mm: float
    wobble_mm: float | None
    left_mm: npt.NDArray[np.float64]
    findings: tuple[Finding, ...] = ()


def fit_up_of(
    readings: FaceReadings,
    *,
    blank_diameter_mm: float | None = None,
    glue_family: GlueFamily | None = None,
) -> FitUp:
    """Tilt and warp of a face apart, the gaps they leave, and how the blank's rim will wobble.

    The least-squares plane h = c + a x + b y through the readings; sqrt(a^2 + b^2) is its tilt. Source: mechanics.

    Parameters
    ----------
    readings
        Three readings or more around the face.
    blank_diameter_mm
        Diameter of the blank to be glued to it [mm].
    glue_family
        Family of the glue, for the gap it bridges; that of white glue when not known.

    Raises
    ------
    InputError
        Fewer than three readings, or all on one line.

    Examples
    --------
    >>> face = FaceReadings.equally_spaced([0.1, 0.0, -0.1, 0.0], radius_mm=50.0)
    >>> fit = fit_up_of(face, blank_diameter_mm=300.0)
    >>> round(fit.tilt_mm, 3), round(fit.warp_mm, 3), round(fit.wobble_mm, 3)
    (0.2, 0.0, 0.6)
    """
    if not goes_around(readings):
        told = "three readings or more are needed, not all on one line"
        raise InputError(Problem(told, column="reading_mm", value=str(len(readings.height_mm))), subject="the readings")
    x_mm = readings.radius_mm * np.cos(readings.angle_rad)
    y_mm = readings.radius_mm * np.sin(readings.angle_rad)
    design = np.column_stack([np.ones_like(x_mm), x_mm, y_mm])
    plane, *_ = np.linalg.lstsq(design, readings.height_mm, rcond=None)
    left_mm = readings.height_mm - design @ plane
    left_mm.setflags(write=False)
    slope = float(np.hypot(plane[1], plane[2]))
    fit = FitUp(
        readings=readings,
        tilt_rad=float(np.arctan(slope)),
        high_at_rad=float(np.arctan2(plane[2], plane[1]) % (2.0 * np.pi)),
        tilt_mm=slope * 2.0 * float(readings.radius_mm.max()),
        warp_mm=float(np.ptp(left_mm)),
        runout_mm=float(np.ptp(readings.height_mm)),
        wobble_mm=None if blank_diameter_mm is None else slope * blank_diameter_mm,
        left_mm=left_mm,
    )
    return replace(fit, findings=tuple(_findings(fit, glue_family)))


def _findings(fit: FitUp, glue_family: GlueFamily | None) -> Iterator[Finding]:
    count = len(fit.readings.height_mm)
    if count < ENOUGH_READINGS:
        text = (
            f"{count} readings: a warp can hide between them. The trade reads at some {USUAL_READINGS} places around."
        )
        yield Finding(FindingCode.FEW_READINGS, Severity.WARNING, text)
    yield from gap_findings(fit.warp_mm, glue_family=glue_family)
    if fit.tilt_mm > FLAT_MM:
        bad = fit.tilt_mm >= OUT_OF_TRUE_MM
        told = "not good enough to glue to" if bad else "more than the quarter of a millimetre the trade glues to"
        wobble = "" if fit.wobble_mm is None else f" The blank's rim will run {fit.wobble_mm:.2g} mm to and fro."
        text = f"The face leans {fit.tilt_mm:.2g} mm across: {told}. Take a cut across it.{wobble}"
        yield Finding(FindingCode.FACE_TILTED, Severity.WARNING, text)


class Stage(StrEnum):
    """What happened since the runout of a mount was read before."""

    MOUNTING = "mounting"
    ROUGHING = "roughing"
    REMOUNTING = "remounting"


@dataclass(frozen=True, slots=True)
class RunoutChange:
    """The same face of the same mount, read again.

    Parameters
    ----------
    stage
        What happened in between.
    grown_mm
        How much more it runs than before; below 0 where it runs less.
    moved_mm
        How far the lean has moved across the readings, its turn around the axis counted; it means something only where
        both rounds of readings begin at the same mark.
    limit_mm
        More than this of either asks for a look.
    """

    stage: Stage
    grown_mm: float
    moved_mm: float
    limit_mm: float = RUNOUT_LIMIT_MM
    findings: tuple[Finding, ...] = ()


def runout_change(before: FitUp, after: FitUp, *, stage: Stage) -> RunoutChange:
    """How a face runs now beside how it ran when last read, and what to do where it changed beyond the limit.

    Parameters
    ----------
    before, after
        The same face read on the same mount, earlier and now.
    stage
        What happened in between.

    Examples
    --------
    >>> before, after = (
    ...     fit_up_of(FaceReadings.equally_spaced([lean, 0.0, -lean, 0.0], radius_mm=50.0)) for lean in (0.1, 0.3)
    ... )
    >>> change = runout_change(before, after, stage=Stage.ROUGHING)
    >>> round(change.grown_mm, 3), round(change.moved_mm, 3), len(change.findings)
    (0.4, 0.4, 1)
    """
    turned = abs(_lean(after) - _lean(before))
    moved_mm = turned * 2.0 * float(max(before.readings.radius_mm.max(), after.readings.radius_mm.max()))
    change = RunoutChange(stage, after.runout_mm - before.runout_mm, moved_mm)
    return replace(change, findings=tuple(_change_findings(change, before, after)))


def _lean(fit: FitUp) -> complex:
    """Slope of the best plane and whither it leans."""
    return complex(np.tan(fit.tilt_rad) * np.exp(1j * fit.high_at_rad))


def _change_findings(change: RunoutChange, before: FitUp, after: FitUp) -> Iterator[Finding]:
    look = "Stop, and look at the joint, the screws and the seat of the plate before it turns again."
    if change.grown_mm > change.limit_mm:
        text = (
            f"The runout has grown by {change.grown_mm:.2f} mm, from {before.runout_mm:.2f} to {after.runout_mm:.2f} "
            f"mm, since {change.stage}: more than {change.limit_mm:.2g} mm. {look}"
        )
        yield Finding(FindingCode.RUNOUT_GREW, Severity.WARNING, text)
    elif change.moved_mm > change.limit_mm:
        text = (
            f"The lean has moved by {change.moved_mm:.2f} mm since {change.stage}, more than {change.limit_mm:.2g} mm, "
            f"though the runout is much the same: did both rounds begin at the same mark? If they did, {look.lower()}"
        )
        yield Finding(FindingCode.RUNOUT_GREW, Severity.QUESTION, text)
