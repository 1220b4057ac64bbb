"""How often the verdict is right: simulated shops whose true margins are known.

    python reports/verdict/study.py            # cells not yet in cells.csv, then the other tables, the figure
    python reports/verdict/study.py --shops N  # another number of shops a cell (200,000 by default)

Every cell has its own seed, so a run that was stopped goes on where it ended, and gives what an unbroken run gives.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt

from jointlab.strength.values import Family
from jointlab.verdict.shops import (
    Design,
    Truth,
    bounds_over_truth,
    break_chance_at,
    joint_cdf,
    shop_strengths,
    true_percentile,
)
from jointlab.verdict.simulated import working_bounds
from jointlab.verdict.spending import Look, share_of_look

HERE = Path(__file__).parent
SEED = 20261125
SHOPS = 200_000
COVERAGE, CONFIDENCE, MARGIN = 0.95, 0.95, 1.5

RATIOS = (0.5, 0.7, 0.85, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
"""True margin over the required one at which the chance of a pass is told."""

CATCH_COVS = (0.3, 0.5, 0.8)
ONE_CLASS = 3.0
"""Force of a class over that of the one below, as the classes stand (300, 1000, 3000 N)."""

DESIGNS = (
    Design(6, 2, cap=2.5, resolution=0.005),
    Design(10, 2, cap=2.5, resolution=0.005),
    Design(20, 4, cap=2.5, resolution=0.005),
    Design(10, 2, cap=1.3, resolution=0.005),
)
"""Pulls and glue-ups; a rig whose limit is far above the mean, and one whose limit many joints reach."""

GRID = np.exp(np.linspace(math.log(0.5), math.log(6.0), 141))
PARTS = 20
"""Parts a cell's shops are dealt to, for the standard error of a ratio of means."""

Row = dict[str, str | float | int]
FloatArray = npt.NDArray[np.float64]


def cells() -> Iterator[tuple[Truth, Design]]:
    """Every truth under every design."""
    for design, family, cov, ratio, voids in product(DESIGNS, Family, (0.15, 0.25), (0.0, 0.5, 1.0), (0.0, 0.1)):
        yield Truth(family, cov, ratio, voids), design


def key_of(truth: Truth, design: Design) -> Row:
    """What names a cell in the table."""
    return {
        "pulls": design.pulls,
        "glue_ups": design.glue_ups,
        "cap": design.cap,
        "resolution": design.resolution,
        "family": str(truth.family),
        "cov": truth.cov,
        "batch_ratio": truth.batch_ratio,
        "void_share": truth.void_share,
    }


def row_of(truth: Truth, design: Design, *, shops: int) -> Row:
    """A cell's chances: of a pass at each true margin, of a false pass, of a break after a pass."""
    place = list(cells()).index((truth, design))
    rng = np.random.default_rng([SEED, place])
    found = bounds_over_truth(truth, design, shops=shops, coverage=COVERAGE, confidence=CONFIDENCE, rng=rng)
    passes = pass_chances(found, GRID)
    row: Row = {**key_of(truth, design), "shops": shops, "mean_bound": round(float(found.mean()), 5)}
    row |= {f"pass_at_{ratio:g}": round(float((found >= 1.0 / ratio).mean()), 5) for ratio in RATIOS}
    row["false_pass"] = round(float(passes[GRID < 1.0].mean()), 5)
    row["passing_shops"] = round(float(passes.mean()) * shops)
    for cov, mistaken in product(CATCH_COVS, (1.0, ONE_CLASS)):
        chance, error = break_after_pass(truth, found, catch_cov=cov, class_mistaken=mistaken)
        name = f"break_cov_{cov:g}" + ("" if mistaken == 1.0 else "_class_mistaken")
        row |= {name: float(f"{chance:.3g}"), f"{name}_se": float(f"{error:.2g}")}
    return row


def pass_chances(bounds: FloatArray, ratios: FloatArray) -> FloatArray:
    """Share of shops that pass at each ratio of true margin to required margin."""
    ordered = np.sort(bounds)
    return np.asarray(1.0 - np.searchsorted(ordered, 1.0 / ratios, side="left") / bounds.size, dtype=np.float64)


def break_after_pass(
    truth: Truth, bounds: FloatArray, *, catch_cov: float, class_mistaken: float
) -> tuple[float, float]:
    """Chance that a mount that passed breaks in one catch, true margins being log-uniform, and its standard error.

    Each true margin's chance of a break is integrated and weighed by the share that passes at it: nothing is counted.
    """
    chances = np.array(
        [
            break_chance_at(
                truth, true_margin=MARGIN * ratio, coverage=COVERAGE, catch_cov=catch_cov, class_mistaken=class_mistaken
            )
            for ratio in GRID[::4]
        ]
    )
    parts = np.array([_weighed(chances, pass_chances(part, GRID[::4])) for part in np.array_split(bounds, PARTS)])
    whole = _weighed(chances, pass_chances(bounds, GRID[::4]))
    known = parts[np.isfinite(parts)]
    error = float(known.std(ddof=1) / math.sqrt(known.size)) if known.size > 1 else math.nan
    return whole, error


def _weighed(chances: FloatArray, passes: FloatArray) -> float:
    return float((chances * passes).sum() / passes.sum()) if passes.sum() > 0.0 else math.nan


def looks_row(truth: Truth, *, shops: int, place: int) -> Row:
    """Chance of a false pass when a shop adds pulls one at a time until it passes, from 5 to 30.

    With its doubt shared over the looks as the verdict does, and with all of it spent at every look.
    """
    rng = np.random.default_rng([SEED, 1000 + place])
    most = Design(30, 2)
    seen = shop_strengths(truth, most, rng, shops)
    percentile = true_percentile(truth, COVERAGE)
    spent, careless = np.zeros(shops, bool), np.zeros(shops, bool)
    for look, pulls in enumerate(range(5, 31), start=1):
        share = share_of_look(confidence=CONFIDENCE, look=look, planned_looks=None)
        for passed, confidence in ((spent, 1.0 - share), (careless, CONFIDENCE)):
            bounds = working_bounds(seen[:, :pulls], most.batch[:pulls], coverage=COVERAGE, confidence=confidence)
            passed |= bounds >= percentile
    return {
        "family": str(truth.family),
        "cov": truth.cov,
        "batch_ratio": truth.batch_ratio,
        "void_share": truth.void_share,
        "shops": shops,
        "false_pass_shared": round(float(spent.mean()), 5),
        "false_pass_careless": round(float(careless.mean()), 5),
    }


def read(path: Path) -> list[Row]:
    """Rows already there."""
    if not path.exists():
        return []
    with path.open(newline="", encoding="utf-8") as file:
        return [dict(row) for row in csv.DictReader(file)]


def append(path: Path, row: Row) -> None:
    """One more row, kept before the next is begun."""
    fresh = not path.exists()
    with path.open("a", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(row))
        if fresh:
            writer.writeheader()
        writer.writerow(row)


def run_cells(folder: Path, *, shops: int) -> None:
    """Every cell that is not in the table yet."""
    path = folder / "cells.csv"
    done = {tuple(row[name] for name in key_of(*next(cells()))) for row in read(path)}
    for truth, design in cells():
        key = tuple(str(value) for value in key_of(truth, design).values())
        if key not in done:
            append(path, row_of(truth, design, shops=shops))
            print(*key, file=sys.stderr)


def run_looks(folder: Path, *, shops: int) -> None:
    """Every truth without voids under looks at growing evidence, at a true margin just short of the required one."""
    path = folder / "looks.csv"
    done = len(read(path))
    truths = [Truth(*parts) for parts in product(Family, (0.15, 0.25), (0.0, 0.5, 1.0), (0.0,))]
    for place, truth in enumerate(truths):
        if place >= done:
            append(path, looks_row(truth, shops=shops, place=place))


def first_look_row(truth: Truth, design: Design, *, shops: int, place: int) -> Row:
    """Chances of a pass when the first look spends all of the doubt, as planned, and half of it, as unplanned.

    Just at the required margin, and at three times it; and what is left of the planned one where any void seen in a
    coupon blocks.
    """
    level = {"shops": shops, "coverage": COVERAGE}
    sound = replace(truth, void_share=0.0)
    row: Row = {**key_of(truth, design), "shops": shops}
    for name, confidence in (("planned", CONFIDENCE), ("unplanned", 1.0 - (1.0 - CONFIDENCE) / 2.0)):
        rng = np.random.default_rng([SEED, 3000 + place])
        found = bounds_over_truth(truth, design, confidence=confidence, rng=rng, **level)
        row |= {f"{name}_pass_at_{ratio}": round(float((found >= 1.0 / ratio).mean()), 5) for ratio in (1, 3)}
    rng = np.random.default_rng([SEED, 3000 + place])
    unvoided = bounds_over_truth(sound, design, confidence=CONFIDENCE, rng=rng, **level)
    of_all = unvoided * true_percentile(sound, COVERAGE) / true_percentile(truth, COVERAGE)
    unseen = (1.0 - truth.void_share) ** design.pulls
    row["void_seen_blocks_pass_at_1"] = round(float((of_all >= 1.0).mean()) * unseen, 5)
    return row


def run_first_looks(folder: Path, *, shops: int) -> None:
    """Every truth under ten pulls in two glue-ups on a rig that reaches far, looked at once."""
    path = folder / "first_looks.csv"
    done = len(read(path))
    ten = [(truth, design) for truth, design in cells() if design.pulls == 10 and design.cap > 2.0]
    for place, (truth, design) in enumerate(ten):
        if place >= done:
            append(path, first_look_row(truth, design, shops=shops, place=place))


def defaults_row(truth: Truth, *, shops: int, place: int) -> Row:
    """How stern and how mild the defaults are for ten pulls in two glue-ups at their first look.

    ``passes_80_at``: true over required margin at which 80 % of shops pass. ``mild_by``: required over true margin at
    which 5 % of shops still pass; 1 or less: no mount that misses is passed by so many.
    """
    rng = np.random.default_rng([SEED, 7000 + place])
    design = Design(10, 2, cap=2.5, resolution=0.005)
    row: Row = {**key_of(truth, design), "shops": shops}
    for name, confidence in (("planned", CONFIDENCE), ("unplanned", 1.0 - (1.0 - CONFIDENCE) / 2.0)):
        found = bounds_over_truth(truth, design, shops=shops, coverage=COVERAGE, confidence=confidence, rng=rng)
        row[f"{name}_passes_80_at"] = round(1.0 / float(np.quantile(found, 0.2)), 3)
        row[f"{name}_mild_by"] = round(float(np.quantile(found, 0.95)), 3)
    return row


def run_defaults(folder: Path, *, shops: int) -> None:
    """Every truth."""
    path = folder / "defaults.csv"
    done = len(read(path))
    truths = [Truth(*parts) for parts in product(Family, (0.15, 0.25), (0.0, 0.5, 1.0), (0.0, 0.1))]
    for place, truth in enumerate(truths):
        if place >= done:
            append(path, defaults_row(truth, shops=shops, place=place))


def proofed_row(truth: Truth, *, ratio: float, shops: int, place: int) -> Row:
    """What a proof of the real mount changes where one joint in ten is voided: ten pulls in two glue-ups, one look.

    The proof asks of the mounted joint the required margin times the catch: the true percentile over ``ratio``, which
    is true over required margin. ``pass_and_short``: passes, though this very joint is weaker than that.
    """
    rng = np.random.default_rng([SEED, 6000 + place])
    design = Design(10, 2, cap=2.5, resolution=0.005)
    asked = true_percentile(truth, COVERAGE) / ratio
    survives = 1.0 - float(joint_cdf(truth, np.array([asked]))[0])
    row: Row = {**key_of(truth, design), "ratio": ratio, "shops": shops, "proof_survived": round(survives, 4)}
    for name, confidence in (("planned", CONFIDENCE), ("unplanned", 1.0 - (1.0 - CONFIDENCE) / 2.0)):
        found = bounds_over_truth(truth, design, shops=shops, coverage=COVERAGE, confidence=confidence, rng=rng)
        passes = float((found >= 1.0 / ratio).mean())
        row[f"{name}_pass"] = round(passes, 5)
        row[f"{name}_pass_and_survived"] = round(passes * survives, 5)
        row[f"{name}_pass_and_short"] = round(passes * (1.0 - survives), 5)
    return row


def run_proofed(folder: Path, *, shops: int) -> None:
    """Every truth with voids, just below the required margin and at half of it."""
    path = folder / "proofed.csv"
    done = len(read(path))
    truths = [Truth(*parts) for parts in product(Family, (0.15, 0.25), (0.0, 0.5, 1.0), (0.1,))]
    for place, (truth, ratio) in enumerate(product(truths, (0.5, 0.7, 0.99))):
        if place >= done:
            append(path, proofed_row(truth, ratio=ratio, shops=shops, place=place))


def replanned_row(truth: Truth, *, shops: int, place: int) -> Row:
    """Chance of a false pass when a shop plans again and again until it passes, at a true margin just short.

    ``once``: one plan of one look at ten pulls in two glue-ups. ``shared``: plans of two looks, each given up for a new
    one after its first, each look five pulls and a glue-up further on, up to forty in eight: all pulls count and each
    plan shares what is left. ``afresh``: four plans of one look, each on ten pulls of its own with all of the doubt,
    which is what the rule does not allow.
    """
    rng = np.random.default_rng([SEED, 4000 + place])
    most = Design(40, 8)
    seen = shop_strengths(truth, most, rng, shops)
    batch = np.arange(40) // 5
    seen = seen[:, np.argsort(most.batch, kind="stable")]
    percentile = true_percentile(truth, COVERAGE)

    def passes(pulls: slice, share: float) -> npt.NDArray[np.bool_]:
        glue_ups = batch[pulls] - batch[pulls].min()
        bounds = working_bounds(seen[:, pulls], glue_ups, coverage=COVERAGE, confidence=1.0 - share)
        return np.asarray(bounds >= percentile)

    shared, left = np.zeros(shops, bool), 1.0
    for pulls in range(10, 41, 5):
        look = Look(1, planned_looks=2, left=left)
        shared |= passes(slice(0, pulls), look.spent(CONFIDENCE))
        left -= look.fraction
    afresh = np.zeros(shops, bool)
    for first in range(0, 40, 10):
        afresh |= passes(slice(first, first + 10), 1.0 - CONFIDENCE)
    return {
        "family": str(truth.family),
        "cov": truth.cov,
        "batch_ratio": truth.batch_ratio,
        "shops": shops,
        "false_pass_once": round(float(passes(slice(0, 10), 1.0 - CONFIDENCE).mean()), 5),
        "false_pass_shared": round(float(shared.mean()), 5),
        "false_pass_afresh": round(float(afresh.mean()), 5),
    }


def run_replanned(folder: Path, *, shops: int) -> None:
    """Every truth without voids under plan after plan."""
    path = folder / "replanned.csv"
    done = len(read(path))
    truths = [Truth(*parts) for parts in product(Family, (0.15, 0.25), (0.0, 0.5, 1.0), (0.0,))]
    for place, truth in enumerate(truths):
        if place >= done:
            append(path, replanned_row(truth, shops=shops, place=place))


DRAWN = {
    (6, 2): ("#b45309", "^", ":"),
    (10, 2): ("#0f5c8c", "o", "-"),
    (20, 4): ("#333333", "s", "--"),
}
"""Colour, mark and line of each number of pulls: told apart in grey, too."""


def draw(folder: Path) -> None:
    """Chance of a pass against the true margin: how a shop's pulls and the spread of its joints carry."""
    import pandas as pd
    from matplotlib.figure import Figure

    table = pd.read_csv(folder / "cells.csv")
    clean = table[(table["void_share"] == 0.0) & (table["cap"] > 2.0)]
    figure = Figure(figsize=(4.6, 6.2), layout="constrained")
    places = figure.subplots(2, 1, sharex=True)
    for axes, cov in zip(places, (0.15, 0.25), strict=True):
        for (pulls, glue_ups), (colour, mark, line) in DRAWN.items():
            own = clean[(clean["cov"] == cov) & (clean["pulls"] == pulls)]
            chances = 100.0 * own[[f"pass_at_{ratio:g}" for ratio in RATIOS]]
            axes.fill_between(RATIOS, chances.min(), chances.max(), color=colour, alpha=0.15, linewidth=0.0)
            label = f"{pulls} pulls, {glue_ups} glue-ups"
            axes.plot(RATIOS, chances.mean(), color=colour, marker=mark, linestyle=line, label=label)
        axes.set(xscale="log", ylim=(0.0, 102.0), ylabel="shops that pass, %")
        axes.set_title(f"joints that spread by {100.0 * cov:.0f} %", fontsize=11)
        axes.axvline(1.0, color="0.3", linewidth=1.2)
        axes.axhline(5.0, color="0.4", linewidth=0.8, linestyle=":")
        axes.text(0.97, 50.0, "should not pass", rotation=90, ha="right", va="center", fontsize=9)
        axes.grid(color="0.92")
    ticks = [ratio for ratio in RATIOS if ratio not in (0.85, 4.0)]
    places[1].set_xticks(ticks, [f"{ratio:g}" for ratio in ticks])
    places[1].minorticks_off()
    places[1].set_xlabel("true margin over the required one\n(bands: all families, glue-ups alike to unlike)")
    places[0].legend(loc="lower right", fontsize=9)
    figure.savefig(folder / "pass_chances.png", dpi=150, metadata={"Software": None})


TAILS = {"normal": "normal", "lognormal": "lognormal", "weibull": "Weibull", "gumbel_min": "heavy low tail"}
"""Families as the figure names them."""


def draw_plan(folder: Path) -> None:
    """What a plan buys: the chance that a sound set-up passes at its first look, with one and without."""
    import pandas as pd
    from matplotlib.figure import Figure

    table = pd.read_csv(folder / "first_looks.csv")
    sound = table[table["void_share"] == 0.0]
    figure = Figure(figsize=(4.6, 4.4), layout="constrained")
    axes = figure.subplots()
    rows = [(cov, family) for cov in (0.25, 0.15) for family in reversed([str(each) for each in Family])]
    for height, (cov, family) in enumerate(rows):
        of_row = sound[(sound["cov"] == cov) & (sound["family"] == family)]
        for name, shift, face in (("planned", 0.14, "#0f5c8c"), ("unplanned", -0.14, "white")):
            chances = 100.0 * of_row[f"{name}_pass_at_3"]
            axes.plot([chances.min(), chances.max()], [height + shift] * 2, color="#0f5c8c", linewidth=2.0)
            axes.plot(
                chances, [height + shift] * len(chances), "o", color="#0f5c8c", markerfacecolor=face,
                label=None if height else {"planned": "planned: one look", "unplanned": "no plan: first look"}[name],
            )  # fmt: skip
    axes.set_yticks(range(len(rows)), [f"{TAILS[family]}, {100 * cov:.0f} %" for cov, family in rows])
    axes.axvline(80.0, color="0.4", linestyle=":")
    axes.set_xlim(0.0, 102.0)
    axes.set_xlabel("sound set-ups that pass, %\n(ten pulls in two glue-ups,\ntrue margin three times the required)")
    axes.grid(axis="x", color="0.9")
    axes.legend(loc="upper left", fontsize=9)
    figure.savefig(folder / "plan_buys.png", dpi=150, metadata={"Software": None})


def main() -> None:
    """Run what is missing."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=SHOPS)
    parser.add_argument("--folder", type=Path, default=HERE)
    asked = parser.parse_args()
    run_cells(asked.folder, shops=asked.shops)
    run_looks(asked.folder, shops=max(asked.shops // 10, 100))
    run_first_looks(asked.folder, shops=max(asked.shops // 2, 100))
    run_defaults(asked.folder, shops=max(asked.shops // 10, 100))
    run_proofed(asked.folder, shops=max(asked.shops // 4, 100))
    run_replanned(asked.folder, shops=max(asked.shops // 10, 100))
    draw(asked.folder)
    draw_plan(asked.folder)


if __name__ == "__main__":
    main()
