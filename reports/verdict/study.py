"""How often the verdict is right: simulated shops whose true margins are known.

    python reports/verdict/study.py            # cells not yet in cells.csv, then looks.csv, promises.csv, the figure
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

from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family
from jointlab.verdict.chance import OFFERED, settling_chance
from jointlab.verdict.shops import Design, Truth, bounds_over_truth, break_chance_at, shop_strengths, true_percentile
from jointlab.verdict.simulated import working_bounds
from jointlab.verdict.spending import share_of_look

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


def run_promises(folder: Path, *, shops: int) -> None:
    """Promised chances that more pulls settle a mount, beside what then happened in simulated shops."""
    path = folder / "promises.csv"
    done = len(read(path))
    for place, (cov, (pulls, glue_ups)) in enumerate(product((0.15, 0.25), OFFERED)):
        if place >= done:
            append(path, promise_row(Truth(Family.LOGNORMAL, cov, 1.0), pulls, glue_ups, shops=shops, place=place))


def promise_row(truth: Truth, pulls: int, glue_ups: int, *, shops: int, place: int) -> Row:
    """Mean promise and share kept over shops with six pulls in two glue-ups that do not pass yet."""
    rng = np.random.default_rng([SEED, 2000 + place])
    first, later = Design(6, 2), Design(pulls, glue_ups)
    level = {"coverage": COVERAGE, "confidence": CONFIDENCE}
    promised, kept = [], []
    while len(promised) < shops:
        seen, new = (shop_strengths(truth, design, rng, 1) for design in (first, later))
        needed = true_percentile(truth, COVERAGE) / math.exp(rng.uniform(math.log(0.5), math.log(6.0)))
        if working_bounds(seen, first.batch, **level)[0] >= needed:
            continue
        sample = StrengthSample.of_values(seen[0], batch=first.batch)
        promised.append(settling_chance(sample, pulls=pulls, glue_ups=glue_ups, needed_mpa=needed, **level))
        together = np.concatenate([seen, new], axis=1)
        batch = np.concatenate([first.batch, first.glue_ups + later.batch])
        kept.append(bool(working_bounds(together, batch, **level)[0] >= needed))
    return {
        "cov": truth.cov,
        "pulls": pulls,
        "glue_ups": glue_ups,
        "shops": shops,
        "promised": round(float(np.mean(promised)), 4),
        "kept": round(float(np.mean(kept)), 4),
    }


def draw(folder: Path) -> None:
    """Chance of a pass against the true margin: how a shop's pulls and the spread of its joints carry."""
    import pandas as pd
    import seaborn as sns
    from matplotlib.figure import Figure

    table = pd.read_csv(folder / "cells.csv")
    clean = table[(table["void_share"] == 0.0) & (table["cap"] > 2.0)]
    long = clean.melt(
        id_vars=["pulls", "glue_ups", "cov", "family", "batch_ratio"],
        value_vars=[f"pass_at_{ratio:g}" for ratio in RATIOS],
        var_name="ratio",
        value_name="chance",
    )
    long["true margin / required"] = long["ratio"].str.removeprefix("pass_at_").astype(float)
    long["pulls in glue-ups"] = long["pulls"].astype(str) + " in " + long["glue_ups"].astype(str)
    long["spread of the joints"] = (100 * long["cov"]).round().astype(int).astype(str) + " %"
    figure = Figure(figsize=(8.0, 4.8), layout="constrained")
    axes = figure.subplots()
    sns.lineplot(
        long,
        x="true margin / required",
        y="chance",
        hue="pulls in glue-ups",
        style="spread of the joints",
        markers=True,
        palette="colorblind",
        errorbar=("pi", 100),
        ax=axes,
    )
    axes.set(xscale="log", ylabel="share of shops that pass", ylim=(0.0, 1.02))
    axes.set_xticks(RATIOS, [f"{ratio:g}" for ratio in RATIOS])
    axes.minorticks_off()
    axes.axvline(1.0, color="0.5", linewidth=1.0)
    axes.axhline(0.05, color="0.5", linewidth=1.0, linestyle=":")
    axes.set_title("A mount left of the grey line should not pass; bands: all families and glue-ups simulated")
    figure.savefig(folder / "pass_chances.png", dpi=150, metadata={"Software": None})


def main() -> None:
    """Run what is missing."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=SHOPS)
    parser.add_argument("--folder", type=Path, default=HERE)
    asked = parser.parse_args()
    run_cells(asked.folder, shops=asked.shops)
    run_looks(asked.folder, shops=max(asked.shops // 10, 100))
    run_first_looks(asked.folder, shops=max(asked.shops // 20, 100))
    run_promises(asked.folder, shops=max(asked.shops // 100, 20))
    draw(asked.folder)


if __name__ == "__main__":
    main()
