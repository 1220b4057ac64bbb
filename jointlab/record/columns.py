"""Columns as files and flags name them: a word of the contract, and for a physical one the suffix of its unit."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cache

from jointlab.errors import Problem
from jointlab.record.reading import READINGS
from jointlab.record.row import COLUMNS, limits_of
from jointlab.units import SUFFIXES, UNITS, Quantity, Unit, units_of

_FORCE_OR_TORQUE = ("held", "cap", "load_step")

_BARE_NUMBERS = ("grit",)


@dataclass(frozen=True, slots=True)
class FileColumn:
    """A column of a file: its title as written, the stored column it fills, and its unit if it has one."""

    title: str
    stored: str
    unit: Unit | None = None

    @property
    def numeric(self) -> bool:
        """Whether its cells are numbers."""
        return self.unit is not None or self.stored in _BARE_NUMBERS

    def to_stored(self, text: str) -> str:
        """Text of the number in the stored unit; the shortest that reads back to the same value."""
        value = float(text)
        return repr(value if self.unit is None else self.unit.to_stored(value))


@cache
def physical_columns() -> dict[str, tuple[str, Quantity]]:
    """Every stored physical column: its base word and its quantity."""
    found: dict[str, tuple[str, Quantity]] = {}
    for column in COLUMNS:
        if not limits_of(column) or column in _BARE_NUMBERS:
            continue
        quantity = max(
            (quantity for quantity in Quantity if column.endswith(f"_{quantity.column_suffix}")),
            key=lambda quantity: len(quantity.column_suffix),
        )
        found[column] = (column.removesuffix(f"_{quantity.column_suffix}"), quantity)
    return found


@cache
def accepted_columns() -> dict[str, FileColumn]:
    """Every column a file may have, by its title."""
    found: dict[str, FileColumn] = {}
    for stored in COLUMNS:
        if stored not in physical_columns():
            found[stored] = FileColumn(stored, stored)
            continue
        base, quantity = physical_columns()[stored]
        for unit in units_of(quantity):
            title = f"{base}_{unit.suffix}"
            found[title] = FileColumn(title, stored, UNITS[(quantity, unit.suffix)])
    for quantity, stored in READINGS.items():
        for unit in units_of(quantity):
            found[f"reading_{unit.suffix}"] = FileColumn(f"reading_{unit.suffix}", stored, unit)
    return found


def column_of(title: str) -> FileColumn | Problem:
    """The column of this title, or the problem with it and what was probably meant."""
    columns = accepted_columns()
    if title in columns:
        return columns[title]
    bases = {base for base, _ in physical_columns().values()} | {"reading"}
    if title.lower() in columns:
        return Problem(f"write it in small letters: {title.lower()}", column=title, allowed=title.lower())
    if title in bases:
        with_units = _titles_of(title)
        return Problem(f"needs its unit: {', '.join(with_units)}", column=title, allowed=", ".join(with_units))
    base, _, suffix = title.rpartition("_")
    if base in bases:
        with_units = _titles_of(base)
        known = "that unit does not measure it" if suffix in SUFFIXES else "that unit is not known"
        return Problem(f"{known}: use {', '.join(with_units)}", column=title, allowed=", ".join(with_units))
    close = difflib.get_close_matches(title.lower(), columns, n=3, cutoff=0.6)
    hint = f": did you mean {' or '.join(close)}?" if close else ": remove it, or put the text in notes"
    return Problem(f"is not a column of a pull{hint}", column=title, allowed=", ".join(close) or None)


def _titles_of(base: str) -> list[str]:
    return [title for title, column in accepted_columns().items() if column.unit and title.rpartition("_")[0] == base]
