"""The two-way analysis of the 336 bond loads: python reports/compare/bond_loads.py writes bond_loads.md beside it."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from jointlab.compare import Analysis, CombinationSample, Comparison, Difference, compare_combinations
from jointlab.compare.effects import said
from jointlab.compare.grouping import MEANING
from jointlab.compare.variance_table import Factor, VarianceTable, variance_table
from jointlab.record.joint import Combination
from jointlab.strength import StrengthSample

HERE = Path(__file__).parent
ORIGINAL = HERE.parents[1] / "datasets" / "adhesive_bond_336" / "original.csv"


def rows() -> list[dict[str, str]]:
    """The loads as they were published."""
    with ORIGINAL.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def factor(name: str, levels: Iterator[str]) -> Factor:
    """One factor."""
    return Factor(name, tuple(levels))


def two_way(loads: list[dict[str, str]]) -> VarianceTable:
    """Condition (temperature and humidity) x days on ln load."""
    y = np.log([float(row["pounds"]) for row in loads])
    condition = factor("condition", (f"{row['celsius']} C {row['rh']} %" for row in loads))
    return variance_table(y, factors=[condition, factor("days", (row["days"] for row in loads))])


def three_way(loads: list[dict[str, str]]) -> VarianceTable:
    """Temperature x humidity x days on ln load."""
    y = np.log([float(row["pounds"]) for row in loads])
    named = {"celsius": "temperature", "rh": "humidity", "days": "days"}
    factors = [factor(name, (row[key] for row in loads)) for key, name in named.items()]
    return variance_table(y, factors=factors, order=3)


def by_condition(loads: list[dict[str, str]], *, days: str) -> Comparison:
    """The six conditions after so many days, eight bonds each, every bond taken as a glue-up of its own."""
    groups: dict[str, list[float]] = {}
    for row in loads:
        if row["days"] == days:
            groups.setdefault(f"{row['celsius']} C {row['rh']} % humidity", []).append(float(row["pounds"]))
    samples = []
    for name, strengths in groups.items():
        sample = StrengthSample.of_values(strengths, batch=range(len(strengths)))
        sample = replace(sample, batch_names=tuple(f"{name} {place}" for place in range(len(strengths))))
        samples.append(CombinationSample(Combination("adhesive C", "coupon", name), sample))
    return compare_combinations(samples)


def table_lines(table: VarianceTable) -> Iterator[str]:
    """A table of variance in Markdown."""
    yield "| term | degrees of freedom | sum of squares | F | p |"
    yield "| --- | ---: | ---: | ---: | ---: |"
    for line in table.lines:
        f = "-" if line.f is None else f"{line.f:.2f}"
        p = "-" if line.p_value is None else f"{line.p_value:.2g}"
        yield f"| {line.term} | {line.degrees} | {line.sum_of_squares:.4f} | {f} | {p} |"
    yield f"| left over | {table.error_degrees} | {table.error_sum_of_squares:.4f} | | |"


def comparison_lines(comparison: Comparison) -> Iterator[str]:
    """Groups and shown differences in Markdown."""
    yield "| condition | n | median [lbf] | sd of ln load | letters |"
    yield "| --- | ---: | ---: | ---: | --- |"
    for summary in comparison.summaries:
        name = summary.combination.preparation
        yield f"| {name} | {summary.n} | {summary.median_mpa:.2f} | {summary.log_sd:.3f} | {summary.letters} |"
    yield ""
    yield MEANING
    yield ""
    shown = [effect for effect in comparison.effects if effect.shown is not Difference.NOT_SHOWN]
    yield f"Shown, of {len(comparison.effects)} pairs, all intervals holding at once with {comparison.confidence:.0%}:"
    yield ""
    for effect in shown:
        yield f"- {said(effect).replace('adhesive C on coupon ', '')}"


def page() -> str:
    """The report."""
    loads = rows()
    two, three, last = two_way(loads), three_way(loads), by_condition(loads, days="64")
    spread = math.sqrt(two.error_sum_of_squares / two.error_degrees)
    lines = [
        "# 336 bond loads: conditions and days",
        "",
        "Failure loads [lbf] of adhesive bonds aged at three temperatures and two humidities for seven times, eight",
        "bonds each (`datasets/adhesive_bond_336`; the card says what is known of them). Analysis of variance on ln",
        "load, every bond taken as a glue-up of its own since nothing is known of batches. No published analysis is",
        "claimed.",
        "",
        f"## Condition x days ({two.kind})",
        "",
        *table_lines(two),
        "",
        f"The spread of one bond is {spread:.3f} in ln load, about {spread:.0%}. The interaction says that conditions",
        "do not lose strength alike: what a condition does must be read by its day.",
        "",
        "## Temperature x humidity x days",
        "",
        *table_lines(three),
        "",
        "## Conditions after 64 days",
        "",
        f"Analysis: {Analysis(last.analysis)}. {last.reason}",
        "",
        *comparison_lines(last),
        "",
        "Tests over all six: "
        + "; ".join(f"{test.name} {test.statistic:.2f}, p {test.p_value:.2g}" for test in last.tests)
        + ".",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    (HERE / "bond_loads.md").write_text(page(), encoding="utf-8")
