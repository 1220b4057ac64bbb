"""Writes the small stored book of the present schema, once, when a schema is released: python make_book.py FILE.

A book of an earlier schema is never made again: it stands for those in the shops.
"""

from __future__ import annotations

import sys
import tempfile
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from jointlab.book.book import Book
from jointlab.book.stored import PaperKind
from jointlab.record.photo import Photo
from jointlab.record.rig import Rig, RigCheck, RigKind
from jointlab.record.row import checked_row, pull_of

BASE = {"tested_on": "2026-03-14", "glue": "Yellow glue", "substrate": "MDF", "action": "pull", "shape": "disc",
        "diameter_mm": "50", "load_n": "1500", "outcome": "broke"}  # fmt: skip
ROWS: tuple[dict[str, str | None], ...] = (
    {"batch": "G1", "specimen": "1"},
    {"batch": "G1", "specimen": "2", "outcome": "held", "load_n": "2000", "cap_n": "2000", "broke_at": "jaws"},
    {"batch": "G1", "specimen": "3", "outcome": "step", "held_n": "1200", "load_step_n": "100", "load_n": "1300"},
    {"batch": "G1", "specimen": "4", "outcome": "handled", "load_n": "20", "wood_pct": "30", "adhesive_pct": "70"},
    {"batch": "Ü2", "specimen": "a", "glue": "HIDE glue", "preparation": "sanded 80", "action": "pry", "shape": "ring",
     "hole_mm": "20", "arm_mm": "300", "load_n": "123.456", "glued_on": "2026-03-12", "glue_family": "hide"},
    {"batch": "Ü2", "specimen": "b", "action": "twist", "load_n": None, "torque_nm": "0.1", "shape": "rectangle",
     "diameter_mm": None, "width_mm": "40", "depth_mm": "60.5", "notes": "two\nlines", "air_c": "-3.5"},
    {"batch": "Ü2", "specimen": "c", "action": "shear", "tested_on": "2026-03-14T16:20+01:00", "rig": "Scale in line"},
)  # fmt: skip

PAPER = {"schema": 1, "looks": 2}
PHOTO = Photo(b"\xff\xd8 stands for a picture \xff\xd9", 4, 3)
RIG = Rig("Beam", RigKind.LEVER, ratio=5.0, tare=12.5, capacity=490.3, checks=(RigCheck("2026-03-01", 98.1, 98.2),))


def _pull(changes: dict[str, str | None]) -> object:
    cells = {name: text for name, text in {**BASE, **changes}.items() if text is not None}
    return pull_of(checked_row(cells), entered=(("load_lbf", "337.2"),) if changes["specimen"] == "1" else ())


def make(target: Path) -> None:
    """Write the book."""
    minutes = count()
    start = datetime(2026, 3, 15, 8, 0, tzinfo=UTC)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "shop.db"
        with Book.open(place, clock=lambda: start + timedelta(minutes=next(minutes))) as book:
            book.record(_pull(ROWS[0]), by="Kim")
            book.import_pulls([_pull(row) for row in ROWS[1:]])
            book.correct(1, _pull({**ROWS[0], "load_n": "1400"}), reason="read the wrong needle", by="Kim")
            book.exclude(3, cause="the bar slipped")
            book.keep_rig(RIG)
            book.keep_paper(PaperKind.PLAN, PAPER, key="Spring")
            book.keep_photo(PHOTO, pull_id=2)
            book.backup(target)


if __name__ == "__main__":
    make(Path(sys.argv[1]))
