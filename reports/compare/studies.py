"""What the studies found: python reports/compare/studies.py writes studies.md from their tables."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parent
LEAST, MOST, FAMILY_ERROR, POWER_POINTS = 0.94, 0.96, 0.057, 2.0
"""Coverage aimed at, family-wise error at most, and points by which a plan may miss what it promises."""


def rows(name: str) -> list[dict[str, str]]:
    """A study's table."""
    with (HERE / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def standing(row: dict[str, str]) -> str:
    """Where a cell lies: within what is aimed at, wider than needed, or short of it, given its own chance."""
    covered, error = float(row["coverage"]), float(row["standard_error"])
    if LEAST <= covered <= MOST:
        return "within"
    if covered > MOST:
        return "wide" if covered - 2.0 * error > MOST else "within two standard errors"
    return "short" if covered + 2.0 * error < LEAST else "within two standard errors"


def coverage_lines(table: list[dict[str, str]]) -> Iterator[str]:
    """Every cell in Markdown."""
    yield "| analysis | truth | spreads | n | held | glue-ups | ratio | family | coverage | refused | |"
    yield "| --- | --- | --- | ---: | ---: | --- | ---: | --- | ---: | ---: | --- |"
    for row in table:
        held = f"{float(row['held']):.0%}" if float(row["held"]) else "-"
        covered = f"{float(row['coverage']):.2%} \N{PLUS-MINUS SIGN} {float(row['standard_error']):.2%}"
        refused = f"{float(row['refused']):.1%}" if float(row["refused"]) else "-"
        yield (
            f"| {row['analysis']} | {row['truth']} | {row['spreads']} | {row['n']} | {held} | {row['glue_ups']} "
            f"| {row['ratio']} | {row['family']} | {covered} | {refused} | {standing(row)} |"
        )


def power_lines(table: list[dict[str, str]]) -> Iterator[str]:
    """Every plan in Markdown."""
    yield "| wish | combinations | glue-ups | specimens each | looks | promised | reached | off by |"
    yield "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
    for row in table:
        promised, reached = float(row["promised"]), float(row["reached"])
        yield (
            f"| {row['wish']} | {row['combinations']} | {row['glue_ups']} | {row['specimens_each']} | {row['looks']} "
            f"| {promised:.1%} | {reached:.1%} | {100 * (reached - promised):+.1f} points |"
        )


def page() -> str:
    """The report."""
    cells, plans = rows("coverage.csv"), rows("plan_power.csv")
    short = [row for row in cells if float(row["coverage"]) < 1.0 - FAMILY_ERROR]
    worst = min(cells, key=lambda row: float(row["coverage"]))
    furthest = max(abs(float(row["reached"]) - float(row["promised"])) for row in plans)
    lines = [
        "# What intervals cover, and what plans keep",
        "",
        "## Simultaneous coverage",
        "",
        "Four combinations of one median; the share of simulated tests in which every 95 % interval of the family",
        "holds the true ratio 1, so that one less it is the family-wise error. *spreads*: equal .2 in ln strength, or",
        "unequal .1 .2 .3 .4. *glue-ups*: own (every pull its own), blocks (each holds one pull of every combination),",
        "pairs (two a combination, its own). *ratio*: true spread between glue-ups over that within; the analysis",
        "always takes 1, so that a ratio below it is covered too often where glue-ups are a combination's own. *held*:",
        "share of joints above the rig's limit. A refused test gives no interval; it says nothing false and counts as",
        "covered.",
        "",
        *coverage_lines(cells),
        "",
        f"{len(cells) - len(short)} of {len(cells)} cells keep the family-wise error at {FAMILY_ERROR:.1%} or less;",
        f"the largest is {1.0 - float(worst['coverage']):.1%} ({worst['analysis']}, {worst['spreads']} spreads, "
        f"n {worst['n']}, glue-ups {worst['glue_ups']}).",
        "",
        "- **Short**: with a fifth held, shared glue-ups and spreads that differ fourfold, the shifts of glue-ups are",
        "  taken off under one scale for all, which pulls the median of the combination that scatters most a little",
        "  down. One scale for all throughout covers 92.9 % there; a scale for each of the six breaks or more of every",
        "  combination brings what the table shows. Lending each scale two pulls' worth of that of all, taking the",
        "  shifts off again under the new scales, and correcting by the mean of the replicates were tried and changed",
        "  nothing beyond chance.",
        "- **Wide**: two glue-ups of a combination's own that differ less than is assumed, as said above; and five",
        "  pulls of unequal spread with a fifth held, where three or four breaks a combination are all there is.",
        "",
        "## Power",
        "",
        "Plans are made, the planned tests simulated and analysed by the comparison itself or by the working bound.",
        "",
        *power_lines(plans),
        "",
        f"The furthest is {100 * furthest:.1f} points off, with a standard error of .8 points; {POWER_POINTS:.0f} are "
        "allowed.",
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    (HERE / "studies.md").write_text(page(), encoding="utf-8")
