"""A table to start from: the columns most shops fill, and one row for each way a pull can end."""

from __future__ import annotations

TITLES = (
    "batch", "specimen", "tested_on", "glue", "glue_family", "substrate", "substrate_kind", "preparation", "blank_wood",
    "action", "shape", "diameter_mm", "arm_mm", "load_kgf", "held_kgf", "cap_kgf", "outcome", "broke_at", "wood_pct",
    "adhesive_pct", "glued_on", "clamp_h", "moisture_pct", "rig", "notes",
)  # fmt: skip

_SAME = {
    "batch": "example", "tested_on": "2026-01-17", "glue": "yellow wood glue", "glue_family": "pva",
    "substrate": "maple scrap", "substrate_kind": "solid_face", "blank_wood": "cherry", "action": "pry",
    "shape": "disc", "diameter_mm": "50", "arm_mm": "300", "cap_kgf": "25", "glued_on": "2026-01-10", "clamp_h": "12",
    "moisture_pct": "8", "rig": "luggage scale on a bar",
}  # fmt: skip

_ROWS = (
    {"specimen": "1", "load_kgf": "16.7", "outcome": "broke", "broke_at": "glue_line", "wood_pct": "40",
     "adhesive_pct": "60", "notes": "broke at this load; delete these rows before you import"},
    {"specimen": "2", "load_kgf": "25", "outcome": "held", "notes": "held all the scale could pull"},
    {"specimen": "3", "load_kgf": "18", "held_kgf": "17", "outcome": "step", "broke_at": "blank",
     "notes": "held 17, broke on the way to 18"},
    {"specimen": "4", "load_kgf": "0.5", "outcome": "handled", "broke_at": "glue_line",
     "notes": "came apart in the hand, below what the scale shows"},
)  # fmt: skip

ROWS: tuple[tuple[str, ...], ...] = tuple(tuple((_SAME | row).get(title, "") for title in TITLES) for row in _ROWS)
"""Invented pulls, one for each outcome, in the order of ``TITLES``; they read as they stand."""
