"""Where the centre of mass of a blank lies, when something else than its offset was measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from jointlab.app import workflow
from jointlab.errors import InputError, Problem
from jointlab.mount.face_readings import face_readings_of
from jointlab.mount.fit_up import fit_up_of
from jointlab.mount.imbalance import (
    offset_from_balance_mm,
    offset_from_density_mm,
    offset_from_face_mm,
    offset_from_missing_mm,
)
from jointlab.mount.setup import MountSetup


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of a blank's balance: one of these, or nothing.

    Parameters
    ----------
    thickness
        File of readings of its thickness around.
    density_pct
        Its halves are this much denser and lighter than the whole.
    missing
        A piece of so many kilograms is missing at so many millimetres from the axis.
    added
        It stays anywhere with so many kilograms added at so many millimetres from the axis.
    """

    thickness: Path | None = None
    density_pct: float | None = None
    missing: tuple[float, float] | None = None
    added: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Offset:
    """The offset of the centre of mass [mm], and what it comes from."""

    offset_mm: float
    told: str


def offset_of(setup: MountSetup, measured: Measured) -> Offset | None:
    """The offset what was measured comes to for this blank; None when nothing was measured.

    Raises
    ------
    InputError
        More than one thing was measured, or the offset would lie outside the blank.
    """
    blank = setup.blank
    diameter_mm, mass_kg = float(blank.diameter_mm), float(blank.mass_kg)
    found: list[Offset] = []
    if measured.thickness is not None:
        readings = face_readings_of(workflow.text_of(measured.thickness), name=measured.thickness.name)
        found.append(
            Offset(offset_from_face_mm(fit_up_of(readings), diameter_mm=diameter_mm), "from its thickness around")
        )
    if measured.density_pct is not None:
        share = measured.density_pct / 100.0
        found.append(
            Offset(
                float(offset_from_density_mm(diameter_mm=diameter_mm, density_share=share)),
                f"its halves {measured.density_pct:g} % denser and lighter than the whole",
            )
        )
    if measured.missing is not None:
        missing_kg, radius_mm = measured.missing
        offset_mm = offset_from_missing_mm(missing_kg=missing_kg, radius_mm=radius_mm, left_kg=mass_kg)
        found.append(Offset(float(offset_mm), f"{missing_kg:g} kg missing {radius_mm:g} mm from the axis"))
    if measured.added is not None:
        added_kg, radius_mm = measured.added
        offset_mm = offset_from_balance_mm(added_kg=added_kg, radius_mm=radius_mm, mass_kg=mass_kg)
        found.append(Offset(float(offset_mm), f"balanced by {added_kg:g} kg {radius_mm:g} mm from the axis"))
    return _only(found, diameter_mm)


def _only(found: list[Offset], diameter_mm: float) -> Offset | None:
    if len(found) > 1:
        told = "; ".join(each.told for each in found)
        raise InputError(Problem(f"give one measure of the balance, not several: {told}"), subject="the command")
    for each in found:
        if each.offset_mm > diameter_mm / 2.0:
            problem = Problem(
                f"would put the centre of mass {each.offset_mm:.3g} mm off, outside the blank", value=each.told
            )
            raise InputError(problem, subject="the balance")
    return found[0] if found else None


def with_offset(setup: MountSetup, offset: Offset | None) -> MountSetup:
    """The mount with its centre of mass where it was found to be."""
    return setup if offset is None else replace(setup, blank=replace(setup.blank, offset_mm=offset.offset_mm))
