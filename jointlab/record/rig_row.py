"""The rig at the door: one flat row, its limits, and the rules between its cells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from jointlab.errors import InputError, Problem
from jointlab.record.limits import cell_problem, words_in
from jointlab.record.rig import Rig, RigCheck, RigKind
from jointlab.record.row import Length, Name, Note
from jointlab.units import Quantity, Unit, units_of

Reading = Annotated[float, Field(gt=0, le=1e7)]
Drift = Annotated[float, Field(ge=-1e6, le=1e6)]


class RigRow(BaseModel):
    """One rig as a flat row; readings in N, MPa or N m as its kind reads, the tare in N or N m as it loads."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    name: Name | None = None
    kind: RigKind | None = None
    ratio: Annotated[float, Field(gt=0, le=1e6)] | None = None
    arm_mm: Length | None = None
    tare: Drift | None = None
    zero: Drift | None = None
    capacity: Reading | None = None
    resolution: Reading | None = None
    class_pct: Annotated[float, Field(ge=0, lt=100)] | None = None
    step: Reading | None = None
    notes: Note | None = None


RIG_COLUMNS: tuple[str, ...] = tuple(RigRow.model_fields)
"""Names of a rig's columns, in order."""

RIG_REQUIRED = ("name", "kind")


def checked_rig(cells: Mapping[str, str], *, checks: tuple[RigCheck, ...] = ()) -> Rig:
    """The rig of these cells; blank cells left out.

    Raises
    ------
    InputError
        With one problem for each bad cell and each broken rule between cells.
    """
    problems: list[Problem] = []
    bad: set[str] = set()
    try:
        row = RigRow.model_validate_strings(dict(cells))
    except ValidationError as failure:
        problems = [cell_problem(RigRow, error, cells, {}) for error in failure.errors()]
        bad = {str(error["loc"][0]) for error in failure.errors()}
        row = RigRow.model_validate_strings({name: text for name, text in cells.items() if name not in bad})
    for column, message in _rules(row):
        if column not in bad:
            problems.append(Problem(message, column=column, value=cells.get(column)))
    if problems:
        raise InputError(problems, subject="the rig")
    return rig_of(row, checks=checks)


def _rules(row: RigRow) -> Iterator[tuple[str, str]]:
    if row.name is None:
        yield "name", "is needed"
    if row.kind is None:
        yield "kind", f"is needed: one of {', '.join(words_in(RigRow, 'kind') or ())}"
    if row.kind is RigKind.JACK_AND_GAUGE and row.ratio is None:
        yield "ratio", "a jack and gauge needs it: newtons on the joint for one MPa shown (the piston's area in mm2)"
    if row.kind is RigKind.LEVER and row.ratio is None:
        yield "ratio", "a lever needs it: arm of the pull over arm of the joint"
    if row.arm_mm is not None and row.kind not in (RigKind.BAR_AND_SCALE, None):
        yield "arm_mm", f"belongs to {RigKind.BAR_AND_SCALE}, not to {row.kind}: leave it blank"
    if row.capacity is not None:
        for column in ("zero", "resolution", "step"):
            value = getattr(row, column)
            if value is not None and value >= row.capacity:
                yield column, f"must be less than the capacity, {row.capacity:g}"


def rig_of(row: RigRow, *, checks: tuple[RigCheck, ...] = ()) -> Rig:
    """The rig a checked row describes."""
    assert row.name is not None
    assert row.kind is not None
    return Rig(
        name=row.name,
        kind=row.kind,
        ratio=1.0 if row.ratio is None else row.ratio,
        arm_mm=row.arm_mm,
        tare=row.tare or 0.0,
        zero=row.zero or 0.0,
        capacity=row.capacity,
        resolution=row.resolution,
        class_pct=row.class_pct,
        step=row.step,
        checks=checks,
        notes=row.notes or None,
    )


_AS_READ = ("zero", "capacity", "resolution", "step")
"""Columns in the unit of the reading; the tare is in the unit of the load."""


def cells_in_units(cells: Mapping[str, str]) -> dict[str, str]:
    """Cells of a rig written with units (``capacity_kgf``, ``tare_n``, ``arm_in``), as ``checked_rig`` takes them.

    Raises
    ------
    InputError
        With a problem for each column that is unknown, has another quantity's unit, or holds no number.
    """
    kind = cells.get("kind", "").strip()
    if kind not in [*map(str, RigKind)]:
        allowed = ", ".join(map(str, RigKind))
        raise InputError(Problem(f"must be one of {allowed}", column="kind", value=kind or None, allowed=allowed))
    found: dict[str, str] = {}
    problems: list[Problem] = []
    titles = rig_titles(RigKind(kind))
    for title, text in cells.items():
        if title not in titles:
            problems.append(Problem(f"is not a column of a {kind}: {', '.join(titles)}", column=title, value=text))
        elif (unit := titles[title]) is None or not text.strip():
            found[_column_of(title)] = text
        else:
            try:
                found[_column_of(title)] = repr(unit.to_stored(float(text)))
            except ValueError:
                problems.append(Problem("must be a number", column=title, value=text, allowed="a number"))
    if problems:
        raise InputError(problems, subject="the rig")
    return found


def _column_of(title: str) -> str:
    base = title.partition("_")[0]
    return base if base in (*_AS_READ, "tare") else f"{base}_mm" if base == "arm" else title


def rig_titles(kind: RigKind) -> dict[str, Unit | None]:
    """Every column a rig of this kind may have as a user writes it, with its unit; None where it has none."""
    titles: dict[str, Unit | None] = dict.fromkeys(("name", "kind", "ratio", "class_pct", "notes"))
    for base in _AS_READ:
        titles |= {f"{base}_{unit.suffix}": unit for unit in units_of(kind.reads)}
    titles |= {f"tare_{unit.suffix}": unit for unit in units_of(kind.loads)}
    return titles | {f"arm_{unit.suffix}": unit for unit in units_of(Quantity.LENGTH)}


def cells_of_rig(rig: Rig) -> dict[str, str]:
    """The cells of a rig as ``checked_rig`` takes them."""
    given = {name: getattr(rig, name) for name in RIG_COLUMNS}
    return {
        name: repr(value) if isinstance(value, float) else str(value)
        for name, value in given.items()
        if value is not None
    }
