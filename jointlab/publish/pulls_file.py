"""The pulls of a package as a table: SI columns of the contract, each beside what was entered, and the strength."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

from jointlab.publish.publication import PublishedPull
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


def pulls_file(pulls: Sequence[PublishedPull]) -> PullsFile:
    """Every pull in SI, with the number and unit as they were entered beside each physical column that was.

    ``strength_lower_mpa`` and ``strength_upper_mpa`` bound the strength [MPa]: equal, it was seen; no upper one, the
    joint held; both empty, nothing is known. Numbers are written so that they read back to the same value.
    """
    used: set[str] = set()
    for published in pulls:
        used.update(_cells_of(published))
    columns = tuple(name for name in _every_column() if name in used or name in ("batch", "specimen"))
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for published in pulls:  # worked out again rather than kept: of very many pulls the cells alone would fill memory
        row = _cells_of(published)
        writer.writerow([row.get(name, "") for name in columns])
    return PullsFile(columns, out.getvalue().encode("utf-8"))


def _every_column() -> list[str]:
    columns = []
    for name in COLUMNS:
        columns.append(name)
        if name in physical_columns():
            base = physical_columns()[name][0]
            columns += [base + ENTERED, base + ENTERED_UNIT]
    return list(dict.fromkeys([*columns, *STRENGTH_COLUMNS]))


def _cells_of(published: PublishedPull) -> dict[str, str]:
    cells = {name: _cell(value) for name, value in row_cells(published.pull).items() if value not in (None, "")}
    for title, text in published.pull.entered:
        column = accepted_columns().get(title)
        if column is not None and column.unit is not None and column.stored in physical_columns():
            base = physical_columns()[column.stored][0]
            cells[base + ENTERED], cells[base + ENTERED_UNIT] = text, column.unit.suffix
    stress = published.stress
    if stress.carries_information:
        cells["strength_lower_mpa"] = _cell(stress.lower_mpa)
        if stress.upper_mpa is not None:
            cells["strength_upper_mpa"] = _cell(stress.upper_mpa)
        cells["strength_u_mpa"] = _cell(stress.u_mpa)
    return cells


def _cell(value: object) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else harmless(str(value))
