"""The field record of a package: how mounts went, one row each, without a name, a date or a note."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from jointlab.errors import InputError, Problem
from jointlab.mount.setup import CatchClass
from jointlab.pool.values import FieldEntry
from jointlab.verdict.field_record import End, Removal
from jointlab.verdict.values import Outcome

FIELD_FILE = "field_records.csv"
MOST_ROWS = 100_000


class FieldRow(BaseModel):
    """One row as it is read: closed lists and limits."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    diameter_mm: float = Field(gt=0, le=10_000)
    length_mm: float = Field(gt=0, le=10_000)
    worst_catch: CatchClass | None
    end: End | None
    verdict: Outcome
    margin_lower: float | None = Field(ge=0)
    hours: float = Field(ge=0, lt=1e6)
    top_rpm: float | None = Field(ge=0, lt=1e6)
    proofed: float | None = Field(ge=0, lt=1e6)
    removal: Removal | None


FIELD_COLUMNS: tuple[dict[str, Any], ...] = (
    {"name": "diameter_mm", "type": "number", "title": "blank across", "unit": "mm"},
    {"name": "length_mm", "type": "number", "title": "length of the blank", "unit": "mm"},
    {"name": "worst_catch", "type": "string", "title": "heaviest class of catch it met"},
    {"name": "end", "type": "string", "title": "how it ended; empty while in use"},
    {"name": "verdict", "type": "string", "title": "what was said before turning"},
    {"name": "margin_lower", "type": "number", "title": "margin that was said to be kept"},
    {"name": "hours", "type": "number", "title": "hours turned", "unit": "h"},
    {"name": "top_rpm", "type": "number", "title": "highest speed told", "unit": "rpm"},
    {"name": "proofed", "type": "number", "title": "times the named catch it was proofed at"},
    {"name": "removal", "type": "string", "title": "how the block came off"},
)


def field_file(entries: Iterable[FieldEntry]) -> bytes:
    """The table of these mounts; their order tells nothing of when they were made."""
    names = [column["name"] for column in FIELD_COLUMNS]
    rows = [[_cell(getattr(entry, name)) for name in names] for entry in in_order(entries)]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8")


def in_order(entries: Iterable[FieldEntry]) -> tuple[FieldEntry, ...]:
    """The mounts in the one order they are always written in."""
    return tuple(sorted(entries, key=repr))


def _cell(value: object) -> str:
    return "" if value is None else repr(value) if isinstance(value, float) else str(value)


def field_entries(content: bytes, *, name: str) -> tuple[FieldEntry, ...]:
    """The mounts of such a table.

    Raises
    ------
    InputError
        It is no such table, or a cell is out of its limits.
    """
    names = [column["name"] for column in FIELD_COLUMNS]
    try:
        rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline=""), strict=True))
    except (ValueError, csv.Error):
        raise InputError(Problem("cannot be read as a table", column=FIELD_FILE), subject=name) from None
    if not rows or rows[0] != names or len(rows) > MOST_ROWS or any(len(row) != len(names) for row in rows):
        raise InputError(Problem("has other columns than ours, or too many rows", column=FIELD_FILE), subject=name)
    entries = []
    for number, row in enumerate(rows[1:], start=2):
        cells = {title: cell or None for title, cell in zip(names, row, strict=True)}
        try:
            entries.append(FieldEntry(**FieldRow.model_validate(cells).model_dump(mode="json")))
        except ValidationError as failure:
            where = ".".join(str(part) for part in failure.errors()[0]["loc"])
            problem = Problem(f"{where}: {failure.errors()[0]['msg']}", row=number, column=FIELD_FILE)
            raise InputError(problem, subject=name) from None
    return tuple(entries)
