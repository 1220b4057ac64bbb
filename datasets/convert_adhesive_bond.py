"""Turn the published table of 336 adhesive bond loads into pulls: ``python datasets/convert_adhesive_bond.py``.

The original holds temperature, humidity, age and load, and nothing of the specimen. What a pull needs beyond that is
invented and said to be so: a disc of 25 mm, and a test date.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent / "adhesive_bond_336"
COLUMNS = (
    "batch", "specimen", "tested_on", "glue", "substrate", "preparation", "action", "shape", "diameter_mm", "load_lbf",
    "outcome", "notes",
)  # fmt: skip


def converted(original: str) -> str:
    """The pulls, as text, of the original table's text; loads stand as they were printed."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    seen: Counter[str] = Counter()
    for row in csv.DictReader(io.StringIO(original)):
        condition = f"{row['celsius']} C {row['rh']} % RH {row['days']} d"
        seen[condition] += 1
        writer.writerow(
            (condition, seen[condition], "2000-01-01", "adhesive C", "coupon", condition, "pull", "disc", 25,
             row["pounds"], "broke", "disc size and test date are invented")
        )  # fmt: skip
    return out.getvalue()


def main() -> None:
    """Write ``pulls.csv`` beside the original."""
    original = (HERE / "original.csv").read_text(encoding="utf-8")
    (HERE / "pulls.csv").write_text(converted(original), encoding="utf-8", newline="")


if __name__ == "__main__":
    main()
