"""Limits and words of a door's columns, read from its model, and the sentences for cells beyond them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from jointlab.errors import Problem

Model = type[BaseModel]

_BOUND_WORDS = {"gt": "greater than", "ge": "at least", "lt": "less than", "le": "at most"}
_SAID_UNITS = ("mm", "nm", "n", "h", "c", "pct")


def limits_in(model: Model, column: str) -> dict[str, float]:
    """Limits of a numeric column: some of gt, ge, lt, le, in the column's SI unit."""
    found: dict[str, float] = {}
    for mark in _marks(model, column):
        for word in _BOUND_WORDS:
            if getattr(mark, word, None) is not None:
                found[word] = float(getattr(mark, word))
    return found


def lengths_in(model: Model, column: str) -> tuple[int, int | None]:
    """Least and largest number of letters of a column of text; None when it is not limited."""
    shortest, longest = 0, None
    for mark in _marks(model, column):
        shortest = getattr(mark, "min_length", None) or shortest
        longest = getattr(mark, "max_length", None) or longest
    return shortest, longest


def words_in(model: Model, column: str) -> tuple[str, ...] | None:
    """The closed list of words of a column; None when it is not closed."""
    for part in _parts(model, column):
        if isinstance(part, type) and hasattr(part, "__members__"):
            return tuple(str(member) for member in part.__members__.values())
    return None


def _parts(model: Model, column: str) -> tuple[Any, ...]:
    annotation = model.model_fields[column].annotation
    parts = getattr(annotation, "__args__", (annotation,))
    return tuple(part for part in parts if part is not type(None))


def _marks(model: Model, column: str) -> list[Any]:
    # limits of an optional column stand on its inner type, those of a needed one on the field
    outer = [mark for part in _parts(model, column) for mark in getattr(part, "__metadata__", ())]
    outer += model.model_fields[column].metadata
    return [mark for part in outer for mark in getattr(part, "metadata", (part,))]


def cell_problem(model: Model, error: Any, cells: Mapping[str, str], names: Mapping[str, str]) -> Problem:
    """What is wrong with one cell, from the error the model gave for it."""
    column = str(error["loc"][0])
    context = error.get("ctx") or {}
    allowed: str | None = None
    match error["type"]:
        case "enum":
            allowed = ", ".join(words_in(model, column) or ())
            message = f"must be one of: {allowed}"
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            allowed = _range(model, column)
            message = f"must be {allowed}"
        case "string_too_long" | "too_long":
            allowed = f"at most {context['max_length']} characters"
            message = f"must be {allowed}"
        case "value_error":
            message = str(context["error"])
        case _:
            message = str(error["msg"])
    return Problem(message, column=names.get(column, column), value=cells.get(column), allowed=allowed)


def _range(model: Model, column: str) -> str:
    suffix = next((f" {unit}" for unit in _SAID_UNITS if column.endswith(f"_{unit}")), "")
    limits = limits_in(model, column)
    return " and ".join(f"{_BOUND_WORDS[word]} {limit:g}" for word, limit in limits.items()) + suffix
