"""The pulls of a package as a table: SI columns of the contract, each beside what was entered, and the strength."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from jointlab.publish.publication import PublishedPull
from jointlab.publish.tables import Columns, columns_of
from jointlab.record.columns import accepted_columns, physical_columns
from jointlab.record.csv_file import harmless
from jointlab.record.row import COLUMNS, row_cells

ENTERED, ENTERED_UNIT = "_entered", "_entered_unit"
STRENGTH_COLUMNS = ("strength_lower_mpa", "strength_upper_mpa", "strength_u_mpa")


@dataclass(frozen=True, slots=True)
class PullsFile:
    """Columns in order, and the file's bytes: UTF-8, comma-separated, one row a pull."""

    columns: tuple[str, ...]
    content: bytes


def pulls_file(pulls: Sequence[PublishedPull], found: Columns | None = None) -> PullsFile:
    """Every pull in SI, with the number and unit as they were entered beside each physical column that was.

    ``strength_lower_mpa`` and ``strength_upper_mpa`` bound the strength [MPa]: equal, it was seen; no upper one, the
    joint held; both empty, nothing is known. Numbers are written so that they read back to the same value. ``found``:
    the ``columns_of`` these pulls, where it is known already.
    """
    stated = _stated(columns_of(pulls) if found is None else found)
    used = {*stated, *_entered_columns(pulls), *_strength_columns(pulls)}
    columns = tuple(name for name in _every_column() if name in used or name in ("batch", "specimen"))
    content = io.BytesIO()  # bytes as they are written: text would take four times the memory
    out = io.TextIOWrapper(content, encoding="utf-8", newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for published in pulls:
        row = _cells_of(published, stated)
        writer.writerow([row.get(name, "") for name in columns])
    out.flush()
    return PullsFile(columns, content.getvalue())


def _stated(found: Columns) -> tuple[str, ...]:
    """Columns in which something stands in at least one pull."""
    return (*(name for name, value in found.same.items() if value not in (None, "")), *found.varying)


def _entered_columns(pulls: Sequence[PublishedPull]) -> set[str]:
    titles = {title for published in pulls for title, _ in published.pull.entered}
    return {name for title in titles for name in (_entered_as(title) or ())[:2]}


def _strength_columns(pulls: Sequence[PublishedPull]) -> set[str]:
    said = [published.stress for published in pulls if published.stress.carries_information]
    seen = any(stress.upper_mpa is not None for stress in said)
    lower, upper, u = STRENGTH_COLUMNS
    return ({lower, u} if said else set()) | ({upper} if seen else set())


def _every_column() -> list[str]:
    columns = []
    for name in COLUMNS:
        columns.append(name)
        if name in physical_columns():
            base = physical_columns()[name][0]
            columns += [base + ENTERED, base + ENTERED_UNIT]
    return list(dict.fromkeys([*columns, *STRENGTH_COLUMNS]))


def _cells_of(published: PublishedPull, stated: Sequence[str]) -> dict[str, str]:
    known = row_cells(published.pull)
    cells = {name: _cell(known[name]) for name in stated}
    for title, text in published.pull.entered:
        entered = _entered_as(title)
        if entered is not None:
            number, unit, suffix = entered
            cells[number], cells[unit] = text, suffix
    return cells | _strength_cells(published)


@cache
def _entered_as(title: str) -> tuple[str, str, str] | None:
    """Columns that keep a cell entered under this title and its unit, and the unit; None where it is no measure."""
    column = accepted_columns().get(title)
    if column is None or column.unit is None or column.stored not in physical_columns():
        return None
    base = physical_columns()[column.stored][0]
    return base + ENTERED, base + ENTERED_UNIT, column.unit.suffix


def _strength_cells(published: PublishedPull) -> dict[str, str]:
    stress = published.stress
    if not stress.carries_information:
        return {}
    upper = {} if stress.upper_mpa is None else {"strength_upper_mpa": repr(stress.upper_mpa)}
    return {"strength_lower_mpa": repr(stress.lower_mpa), **upper, "strength_u_mpa": repr(stress.u_mpa)}


def _cell(value: object) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else harmless(str(value))
