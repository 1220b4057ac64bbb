"""From the fields of a form to the columns of a pull, and from problems with columns back to the fields."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from jointlab.app.benching import BREAKS
from jointlab.app.web.rendering import problems_of
from jointlab.errors import JointlabError
from jointlab.record.columns import accepted_columns, physical_columns
from jointlab.record.row import COLUMNS, SHARES
from jointlab.record.vocabulary import Action, Outcome, Shape
from jointlab.units import Quantity, units_of

LENGTHS = ("diameter", "hole", "width", "depth", "arm", "offset", "gap")
LENGTH_UNITS = tuple(unit.suffix for unit in units_of(Quantity.LENGTH))
SIZES = {Shape.DISC: {"diameter"}, Shape.RING: {"diameter", "hole"}, Shape.RECTANGLE: {"width", "depth"}}
ARM_OF = {Action.PRY: {"arm"}, Action.PULL: {"offset"}}
TEXTS = tuple(column for column in COLUMNS if column not in physical_columns() and column not in ("outcome", "grit"))
NUMBERS = ("void_pct", *SHARES, "cure_h", "clamp_h", "air_c", "humidity_pct", "moisture_pct", "spread_g_m2", "grit",
           "uncertainty_pct", "cap_n", "cap_nm", "load_step_n", "load_step_nm")  # fmt: skip
COMMA = re.compile(r"([+-]?\d+),(\d+)")


def load_units() -> tuple[str, ...]:
    """Columns a load may be written in, the force units first; then what a rig's instrument shows."""
    columns = accepted_columns()
    loads = tuple(title for title, column in columns.items() if column.stored in ("load_n", "torque_nm"))
    return (*loads, *(title for title in columns if title.startswith("reading_")))


def number_text(text: str) -> str:
    """A number as it may be typed at the bench: one comma in it is the decimal mark."""
    bare = text.strip()
    found = COMMA.fullmatch(bare)
    return f"{found[1]}.{found[2]}" if found else bare


def cells_from(form: Mapping[str, Any]) -> dict[str, str]:
    """Columns of the pull that the bench form describes; what does not belong to its shape or action is left out."""
    typed = {name: value for name, value in form.items() if isinstance(value, str) and value.strip()}
    cells = {name: typed[name] for name in TEXTS if name in typed}
    cells |= {name: number_text(typed[name]) for name in NUMBERS if name in typed}
    cells |= _lengths(typed)
    cells |= _load(typed)
    cells |= _broke(typed, cells)
    if "entered_at" in typed and typed["entered_at"].startswith(cells.get("tested_on", "?")):
        cells["tested_on"] = typed["entered_at"]
    return cells


def _lengths(typed: Mapping[str, str]) -> dict[str, str]:
    unit = typed.get("length_unit", "mm")
    left_out = {name for names in SIZES.values() for name in names} - SIZES.get(_word(Shape, typed.get("shape")), set())
    left_out |= {"arm", "offset"} - ARM_OF.get(_word(Action, typed.get("action")), set())
    return {f"{name}_{unit}": number_text(typed[name]) for name in LENGTHS if name in typed and name not in left_out}


def _word(words: Any, text: str | None) -> Any:
    return next((word for word in words if word == text), None)


def _load(typed: Mapping[str, str]) -> dict[str, str]:
    title = typed.get("load_unit", "load_n")
    suffix = title.partition("_")[2] or "n"
    outcome = typed.get("outcome")
    cells = {} if outcome is None else {"outcome": outcome}
    if "load" in typed:
        cells[title] = number_text(typed["load"])
    if "held" in typed and outcome == Outcome.STEP:
        cells[f"held_{suffix}"] = number_text(typed["held"])
    return cells


def _broke(typed: Mapping[str, str], cells: Mapping[str, str]) -> dict[str, str]:
    if typed.get("outcome") == Outcome.HELD:
        return {}
    said = BREAKS.get(typed.get("break", ""), {})
    own_shares = any(name in cells for name in SHARES)
    return {name: text for name, text in said.items() if name not in cells and not (own_shares and name in SHARES)}


def fields_from(cells: Mapping[str, str]) -> dict[str, str]:
    """What stands in the bench form for these columns: lengths in one unit, the load's unit apart."""
    fields = dict(cells)
    lengths = {title: title.rpartition("_") for title in cells if title.rpartition("_")[0] in LENGTHS}
    units = {unit for _, _, unit in lengths.values()}
    unit = units.pop() if len(units) == 1 else "mm"
    for title, (name, _, own) in lengths.items():
        column = accepted_columns()[title]
        fields[name] = cells[title] if own == unit else f"{float(column.to_stored(cells[title])):.10g}"
    return fields | {"length_unit": unit}


def field_problems(error: JointlabError) -> dict[str, list[str]]:
    """Problems by the field of the bench form they belong to."""
    found: dict[str, list[str]] = {}
    for column, said in problems_of(error).items():
        found.setdefault(_field_of(column), []).extend(said)
    return found


def _field_of(column: str) -> str:
    base, _, suffix = column.rpartition("_")
    if base in LENGTHS:
        return base
    if base in ("load", "torque", "reading") and suffix != "step":
        return "load"
    return "held" if base == "held" else column
