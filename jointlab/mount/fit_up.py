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
    """When the runout of a mount is read again."""

    MOUNTED = "mounted"
    ROUGHED = "roughed"
    REMOUNTED = "remounted"


def runout_findings(before: FitUp, after: FitUp, *, stage: Stage) -> tuple[Finding, ...]:
    """Whether a face still runs as it did when last read: a warning when the runout has grown beyond the limit.

    Parameters
    ----------
    before, after
        The same face read on the same mount, earlier and now.
    stage
        What happened in between.
    """
    grown_mm = after.runout_mm - before.runout_mm
    if grown_mm <= RUNOUT_LIMIT_MM:
        return ()
    text = (
        f"The runout has grown by {grown_mm:.2g} mm, from {before.runout_mm:.2g} to {after.runout_mm:.2g} mm, since "
        f"the blank was {stage}: more than {RUNOUT_LIMIT_MM:.2g} mm. Stop, and look at the joint, the screws, the seat."
    )
    return (Finding(FindingCode.RUNOUT_GREW, Severity.WARNING, text),)
