"""Pull <-> the cells of its row in the book."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from typing import Any

from jointlab.errors import InputError, Problem
from jointlab.record.names import matched
from jointlab.record.pull import Pull
from jointlab.record.row import COLUMNS, PullRow, limits_of, pull_of, row_cells

NAME_KEYS: dict[str, str] = {
    "batch_key": "batch",
    "specimen_key": "specimen",
    "glue_key": "glue",
    "substrate_key": "substrate",
    "preparation_key": "preparation",
}
"""Columns that hold a name as it is matched, each with the column of the name as it was written."""


def _words_class(column: str) -> type[StrEnum] | None:
    annotation = PullRow.model_fields[column].annotation
    parts = getattr(annotation, "__args__", ())
    return next((part for part in parts if isinstance(part, type) and issubclass(part, StrEnum)), None)


_COMPACT = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))
_NUMBERS = tuple(name for name in COLUMNS if limits_of(name))
_matched = lru_cache(maxsize=10_000)(matched)  # a file repeats its names row after row
_WORDS: dict[str, type[StrEnum]] = {name: words for name in COLUMNS if (words := _words_class(name)) is not None}


def cells_of(pull: Pull) -> dict[str, Any]:
    """Cells of the pull in SI, with the keys its names are matched by and the cells as they were entered.

    Raises
    ------
    InputError
        A number is not finite: databases would keep it as something else.
    """
    cells = row_cells(pull)
    for name in _NUMBERS:
        if cells[name] is not None:
            cells[name] = _number(name, cells[name])
    for name in _WORDS:
        if cells[name] is not None:
            cells[name] = str(cells[name])
    for key, name in NAME_KEYS.items():
        cells[key] = _matched(cells[name] or "")
    cells["entered"] = _COMPACT.encode(pull.entered) if pull.entered else None
    return cells


def _number(name: str, value: float) -> float:
    if not math.isfinite(value):
        raise InputError(Problem("must be a finite number", column=name, value=str(value)), subject="the pull")
    return float(value) + 0.0  # minus zero comes back from a database as zero; the digest needs one form


def pull_from(cells: Mapping[str, Any]) -> Pull:
    """The pull whose cells these are: the inverse of ``cells_of``."""
    entered = tuple((column, text) for column, text in json.loads(cells["entered"] or "[]"))
    return pull_of(PullRow.model_construct(**_row_cells(cells)), entered=entered)


def _row_cells(cells: Mapping[str, Any]) -> dict[str, Any]:
    row = {name: cells[name] for name in COLUMNS}
    for name, words in _WORDS.items():
        if row[name] is not None:
            row[name] = words(row[name])
    return row


def differing_columns(stored: Mapping[str, Any], given: Mapping[str, Any]) -> tuple[str, ...]:
    """Columns of the contract in which two rows differ, in the contract's order."""
    return tuple(name for name in COLUMNS if stored[name] != given[name])
