"""Battery of the working bound: how often it lies above the true percentile, and how far below it is on average.

Run ``python tests/performance/strength_battery.py [--runs 10000]``: it adds the cells that are missing to
reports/strength/battery.csv and rewrites battery.md. Each cell is seeded by its own name and a word: the samples on
which the rule was chosen had another.
"""

from __future__ import annotations

import argparse
import csv
import sys
import zlib
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt

sys.path.insert(0, str(Path(__file__).parent))
from strength_populations import Population, batch_numbers, populations, shops, true_percentile

from jointlab.strength.hanson_koopmans import factor
from jointlab.strength.known_ratio import centres_and_spreads, ratio_factor
from jointlab.strength.working import RULE, complete_bounds, stretch_of

FloatArray = npt.NDArray[np.float64]
REPORT = Path(__file__).parents[2] / "reports" / "strength"
COLUMNS = ("rule", "population", "kind", "shift", "n", "batches", "ratio", "runs", "false_pct", "mean_ratio")
SEED = "third"
LEVELS = {"coverage": 0.95, "confidence": 0.95}


def first_rule(x: FloatArray, batch: npt.NDArray[np.int64]) -> FloatArray:
    """Version 1: Hanson-Koopmans on logs, and the known ratio on square roots with its floor."""
    n = batch.size
    k = factor(n, n, **LEVELS)
    m, s, total = centres_and_spreads(np.sqrt(x), batch, ratio=1.0)
    s = np.maximum(s, 0.05 * m) if n < 10 else s
    over_batches = np.maximum(m - ratio_factor(n, total, ratio=1.0, **LEVELS) * s, 0.0) ** 2
    return np.minimum(x.min(axis=1) ** k * x.max(axis=1) ** (1 - k), over_batches)


def least_of_parts(x: FloatArray, batch: npt.NDArray[np.int64]) -> FloatArray:
    return np.minimum(*complete_bounds(x, batch, **LEVELS))


def hanson_koopmans_alone(x: FloatArray, batch: npt.NDArray[np.int64]) -> FloatArray:
    k = factor(batch.size, batch.size, **LEVELS)
    return x.min(axis=1) ** k * x.max(axis=1) ** (1 - k)


def second_rule(x: FloatArray, batch: npt.NDArray[np.int64]) -> FloatArray:
    """Version 2: the stretched bound on the largest alone, and the known ratio on logs."""
    k = stretch_of(batch) * factor(batch.size, batch.size, **LEVELS)
    on_largest = x.min(axis=1) ** k * x.max(axis=1) ** (1 - k)
    return np.minimum(on_largest, complete_bounds(x, batch, **LEVELS)[1])


RULES = {
    "working 1": first_rule,
    "working 2": second_rule,
    RULE: least_of_parts,
    "hanson_koopmans": hanson_koopmans_alone,
}


def cells() -> Iterator[tuple[Population, str, int, int, float]]:
    for population in populations():
        for shift in ("multiplicative", "additive"):
            yield from (
                (population, shift, n, batches, ratio)
                for n, batches, ratio in product((5, 10, 20, 30), (1, 2, 3, 5), (0.0, 0.5, 1.0))
                if shift == "multiplicative" or ratio > 0.0
            )


def lines_of(cell: tuple[Population, str, int, int, float], runs: int) -> Iterator[dict[str, object]]:
    population, shift, n, batches, ratio = cell
    name = f"{population.name}|{shift}|{n}|{batches}|{ratio}|{SEED}"
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    x = shops(population, rng, runs=runs, n=n, batches=batches, ratio=ratio, additive=shift == "additive")
    truth = true_percentile(population, ratio=ratio, additive=shift == "additive")
    for rule, bound_of in RULES.items():
        bound = bound_of(x, batch_numbers(n, batches))
        false_pct = 100.0 * float((bound > truth).mean())
        values = (rule, population.name, population.kind, shift, n, batches, ratio, runs)
        scores = (f"{false_pct:.2f}", f"{float((bound / truth).mean()):.4f}")
        yield dict(zip(COLUMNS, (*values, *scores), strict=True))


def write_summary(rows: list[dict[str, str]]) -> None:
    def chosen(rule: str, **wanted: str) -> list[dict[str, str]]:
        return [row for row in rows if row["rule"] == rule and all(row[key] == value for key, value in wanted.items())]

    def worst(found: list[dict[str, str]]) -> str:
        top = max(found, key=lambda row: float(row["false_pct"]))
        return f"{float(top['false_pct']):.1f} % ({top['population']}, r {top['ratio']})"

    out = [
        "# The battery of the working bound",
        "",
        "Bounds at 95/95. *False-safe*: the bound lies above the true 5th percentile over batches and joints. "
        "One-batch cells are reported and never carry a pass by themselves. Every cell is in `battery.csv`; "
        f"{rows[0]['runs']} samples a cell, so that 5 % has a standard error of 0.22 %.",
    ]
    for shift, kind in product(("multiplicative", "additive"), ("clean", "mixture", "deep voids")):
        out += ["", f"## Worst false-safe rate: {kind}, {shift} batch shifts", ""]
        out += ["| rule | batches | n 5 | n 10 | n 20 | n 30 |", "| --- | --- | --- | --- | --- | --- |"]
        for rule, batches in product(RULES, "1235"):
            each = [worst(chosen(rule, kind=kind, shift=shift, n=n, batches=batches)) for n in ("5", "10", "20", "30")]
            out.append(f"| {rule} | {batches} | " + " | ".join(each) + " |")
    out += ["", "## Mean bound / truth, two batches, multiplicative shifts", ""]
    out += ["| population | rule | n 5 | n 10 | n 20 | n 30 |", "| --- | --- | --- | --- | --- | --- |"]
    for population, rule in product(populations(), RULES):
        each = []
        for n in ("5", "10", "20", "30"):
            found = chosen(rule, population=population.name, shift="multiplicative", n=n, batches="2")
            each.append(" / ".join(f"{float(row['mean_ratio']):.2f}" for row in found))
        out.append(f"| {population.name} | {rule} | " + " | ".join(each) + " |")
    out += ["", "Three figures a cell: between-batch over within-batch spread r = 0, 0.5, 1."]
    (REPORT / "battery.md").write_text("\n".join(out) + "\n", encoding="utf-8")


def run(runs: int) -> None:
    REPORT.mkdir(parents=True, exist_ok=True)
    path = REPORT / "battery.csv"
    rows: list[dict[str, str]] = []
    if path.exists():
        with path.open(newline="", encoding="utf-8") as file:
            rows = [row for row in csv.DictReader(file) if row["rule"] in RULES and row["runs"] == str(runs)]
    done = {tuple(row[key] for key in COLUMNS[1:7]) for row in rows if row["rule"] == RULE}
    for cell in cells():
        population, shift, n, batches, ratio = cell
        key = (population.name, population.kind, shift, str(n), str(batches), str(ratio))
        if key not in done:
            rows += [{name: str(value) for name, value in line.items()} for line in lines_of(cell, runs)]
        if key not in done and (shift, n, batches, ratio) == ("additive", 30, 5, 1.0):
            write_cells(path, rows)
    write_cells(path, rows)
    write_summary(rows)


def write_cells(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=10_000)
    run(parser.parse_args().runs)
