"""Readings around a face: of a dial against the turning face, or of the thickness of a block around."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.errors import InputError, Problem
from jointlab.record.csv_file import NUMBER, NUMBER_FORM
from jointlab.units import Quantity, units_of

LEAST_READINGS = 3
"""A plane has three unknowns (mechanics)."""


@dataclass(frozen=True, slots=True)
class FaceReadings:
    """Readings around a face: read-only float64 arrays of one length; a larger height stands further out."""

    angle_rad: npt.NDArray[np.float64]
    radius_mm: npt.NDArray[np.float64]
    height_mm: npt.NDArray[np.float64]

    def __post_init__(self) -> None:
        for values in (self.angle_rad, self.radius_mm, self.height_mm):
            values.setflags(write=False)

    @classmethod
    def equally_spaced(cls, height_mm: Sequence[float], *, radius_mm: float) -> FaceReadings:
        """Readings on one circle, spaced equally, the first at angle 0."""
        count = len(height_mm)
        angles = 2.0 * np.pi * np.arange(count) / max(count, 1)
        return cls(angles, np.full(count, float(radius_mm)), np.array(height_mm, dtype=np.float64))


_LENGTHS = {unit.suffix: unit.factor for unit in units_of(Quantity.LENGTH)}
_TITLE = re.compile(rf"(?P<base>radius|reading|thickness)_(?P<suffix>{'|'.join(_LENGTHS)})")
_COLUMNS = "angle_deg, radius_mm, and reading_mm or thickness_mm (also cm, in)"


def face_readings_of(text: str, *, name: str, radius_mm: float | None = None) -> FaceReadings:
    """Readings of a comma-separated file, one a row.

    Columns: ``reading_*`` or ``thickness_*`` (mm, cm, in); ``angle_deg``, without which the rows are spaced equally;
    ``radius_*``, without which ``radius_mm`` is the radius of all.

    Raises
    ------
    InputError
        With every problem of the file: unknown or missing columns, cells that are no numbers, fewer than three
        readings, readings that do not go around.
    """
    rows = _rows_of(text, name)
    if not rows or not any(cell.strip() for cell in rows[0]):
        raise InputError(Problem("the file is empty: the first row names the columns", allowed=_COLUMNS), subject=name)
    columns = _columns_of([cell.strip() for cell in rows[0]], name, radius_mm)
    filled = [(number, row) for number, row in enumerate(rows[1:], start=2) if any(cell.strip() for cell in row)]
    problems: list[Problem] = []
    table = {base: _column(base, place, filled, problems) for base, place in columns.items()}
    if not problems and len(filled) < LEAST_READINGS:
        problems.append(Problem(f"{len(filled)} readings: a plane needs {LEAST_READINGS}, and 16 around are usual"))
    if problems:
        raise InputError(problems, subject=name)
    return _readings(table, len(filled), name, radius_mm)


def _rows_of(text: str, name: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
    except csv.Error as error:
        told = f"cannot be read as comma-separated cells ({error}): check the quotation marks"
        raise InputError(Problem(told), subject=name) from None


def _columns_of(titles: Sequence[str], name: str, radius_mm: float | None) -> dict[str, tuple[int, str, float]]:
    found: dict[str, tuple[int, str, float]] = {}
    problems: list[Problem] = []
    for place, title in enumerate(titles):
        match = _TITLE.fullmatch(title)
        base = "angle" if title == "angle_deg" else match["base"] if match else None
        base = "height" if base in ("reading", "thickness") else base
        if base is None:
            problems.append(Problem("is not a column of face readings", row=1, column=title, allowed=_COLUMNS))
        elif base in found:
            problems.append(Problem(f"{found[base][1]} says the same: keep one of them", row=1, column=title))
        else:
            found[base] = (place, title, np.pi / 180.0 if match is None else _LENGTHS[match["suffix"]])
    if "height" not in found:
        problems.append(Problem("is needed", row=1, column="reading_mm", allowed=_COLUMNS))
    if "radius" not in found and radius_mm is None:
        problems.append(Problem("is needed, or the radius of all readings beside the file", row=1, column="radius_mm"))
    if problems:
        raise InputError(problems, subject=name)
    return found


def _column(
    base: str, column: tuple[int, str, float], rows: Sequence[tuple[int, Sequence[str]]], problems: list[Problem]
) -> list[float]:
    place, title, factor = column
    values = []
    for number, row in rows:
        text = row[place].strip() if place < len(row) else ""
        if not NUMBER.fullmatch(text):
            told = f"must be {NUMBER_FORM}" if text else "is needed"
            problems.append(Problem(told, row=number, column=title, value=text, allowed="a number"))
        elif base == "radius" and float(text) < 0.0:
            problems.append(Problem("must be at least 0", row=number, column=title, value=text, allowed="0 or more"))
        else:
            values.append(float(text) * factor)
    return values


def _readings(table: dict[str, list[float]], count: int, name: str, radius_mm: float | None) -> FaceReadings:
    angles = table.get("angle") or [2.0 * np.pi * place / count for place in range(count)]
    radii = table.get("radius") or [float(radius_mm or 0.0)] * count
    readings = FaceReadings(np.array(angles), np.array(radii), np.array(table["height"]))
    if not goes_around(readings):
        told = "the readings lie on one line: read around the face"
        raise InputError(Problem(told, column="angle_deg", allowed="angles around the circle"), subject=name)
    return readings


def goes_around(readings: FaceReadings) -> bool:
    """Whether the readings fix a plane: three of them at least, and not on one line."""
    places = np.column_stack(
        [readings.radius_mm * np.cos(readings.angle_rad), readings.radius_mm * np.sin(readings.angle_rad)]
    )
    return len(places) >= LEAST_READINGS and int(np.linalg.matrix_rank(places - places.mean(axis=0), tol=1e-6)) == 2
