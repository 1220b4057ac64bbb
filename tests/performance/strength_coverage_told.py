"""The tables of reports/strength/coverage.md, from coverage.csv and conservative.csv: python FILE."""

from __future__ import annotations

import csv
from itertools import product
from pathlib import Path

REPORT = Path(__file__).parents[2] / "reports" / "strength"
LEAST, MOST = 94.0, 96.0
SIZES = ("3", "5", "10", "20", "30")
Row = dict[str, str]

HEAD = """# How often bounds cover

Bounds at 95/95. Covered: the bound lies below the true 5th percentile; a sample without a bound counts as covered, and
the share of those is printed in brackets where it is 1 % or more. Exact and calibrated methods are to cover 94 to 96 %,
conservative ones 94 % or more. Spreads are a quarter of the median on logarithms and an eighth on strength itself, load
steps .8 spreads wide; *held*: the rig holds that share of the population. `known_ratio` has two glue-ups of ratio 1.

A bound need not be worked out to see whether it covers: it does where 5 % of the simulated samples or more have, at the
true percentile, a root as large as the sample's own. Those are drawn from the fit that has its percentile at the truth,
so that only its spread matters: 4,000 samples at each of 16 spreads serve all 8,000 shops of a cell. Standard error
.11 % (closed form, 40,000 shops), .24 % (pivot), .15 to .42 % (calibrated; the shared simulation counted in). Some 10 s
of processor time a cell, where simulating each shop anew took minutes for 300 shops.

`python tests/performance/strength_coverage.py`, `strength_conservative.py` and `strength_coverage_told.py`, seeds from
the cells' names, 2026-11-25, Python 3.11.7, NumPy 2.4.6, SciPy 1.17.1.
"""

CAUSES = """Causes. *Above*: three or five pulls in load steps of .8 spreads make few different samples; the one at hand
is a lump among the simulated ones and is counted whole, so that the bound is somewhat too low: the side that harms
nobody. *Below*: three pulls of which some are read in steps. Their fit at the truth says too little of the spread for
the simulation to stand on it, which no calibration by one fit can mend. Three pulls carry no pass (five are asked).
From five pulls on no cell lies below 94 % beyond its standard error.
"""
KEPT = (
    "Rules that promise at least 95 %. Order statistic and success run exist from 59 pulls on. Hanson-Koopmans: one",
    "glue-up; working bound: two glue-ups that differ by the spread within (one, complete, is reported beside it).",
    "Both rest on a log-concave distribution of the logarithm; `battery.md` has the families that strain it.",
)


def rows_of(name: str) -> list[Row]:
    with (REPORT / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def shown(row: Row | None, *, least: float = LEAST, most: float = 100.0) -> str:
    if row is None:
        return ""
    covered, error = float(row["covered_pct"]), float(row["standard_error_pct"])
    told = f"{covered:.1f}"
    if covered < least - error or covered > most + error:
        told = f"**{told}**"
    return told + (f" ({float(row['no_bound_pct']):.0f})" if float(row["no_bound_pct"]) >= 1.0 else "")


def table(rows: list[Row], keys: tuple[str, ...], sizes: tuple[str, ...], most: float) -> list[str]:
    names = list(dict.fromkeys(tuple(row[key] for key in keys) for row in rows))
    found = {(tuple(row[key] for key in keys), row["n"]): row for row in rows}
    lines = [f"| {' | '.join(keys)} | " + " | ".join(f"n {n}" for n in sizes) + " |"]
    lines.append("| " + " | ".join("---" for _ in (*keys, *sizes)) + " |")
    lines.extend(
        f"| {' | '.join(name)} | " + " | ".join(shown(found.get((name, n)), most=most) for n in sizes) + " |"
        for name in sorted(names)
    )
    return lines


def outside(rows: list[Row]) -> list[str]:
    lines = []
    for row in rows:
        covered, error = float(row["covered_pct"]), float(row["standard_error_pct"])
        if covered < LEAST - error or covered > MOST + error:
            lines.append(f"- {row['model']}, n {row['n']}, {row['censoring']}: {covered:.1f} +- {error:.1f} %")
    return lines


def told() -> str:
    rows = rows_of("coverage.csv")
    kept = rows_of("conservative.csv") if (REPORT / "conservative.csv").exists() else []
    out = [HEAD, "## Exact and calibrated", "", "Bold: outside 94 to 96 % beyond its standard error.", ""]
    out += table(rows, ("method", "model", "censoring"), SIZES, MOST)
    above = [row for row in rows if float(row["covered_pct"]) > MOST + float(row["standard_error_pct"])]
    out += [
        "",
        f"{len(rows)} cells, {len(outside(rows))} outside, of which {len(above)} lie above 96 %:",
        "",
    ]
    out += outside(rows)
    out += ["", CAUSES]
    return "\n".join([*out, *conservative(kept)]).rstrip() + "\n"


def conservative(kept: list[Row]) -> list[str]:
    out = ["## Conservative", "", *KEPT, ""]
    for method, sizes in product(("order_statistic", "success_run"), (("59", "100"),)):
        out += table(
            [row for row in kept if row["method"] == method], ("method", "population", "censoring"), sizes, 100.0
        )
        out += [""]
    for method in ("hanson_koopmans", "working"):
        chosen = [row for row in kept if row["method"] == method]
        out += [*table(chosen, ("method", "population", "batches", "censoring"), SIZES, 100.0), ""]
    return out


if __name__ == "__main__":
    (REPORT / "coverage.md").write_text(told(), encoding="utf-8")
