"""Coverage of calibrated bounds, not inverted: one covers when the root at the truth is below its quantile.

Run ``python tests/performance/strength_coverage.py [--runs 600]``: it adds cells to reports/strength/coverage.csv.
"""

from __future__ import annotations

import argparse
import csv
import math
import zlib
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np

from jointlab.strength import Family, StrengthSample
from jointlab.strength.likelihood_ratio import _FEWEST, LUMP, _observed, _Place, _simulated
from jointlab.strength.replay import Replay
from jointlab.strength.signed_root import Model
from jointlab.strength.working import ON_LOGS

PATH = Path(__file__).parents[2] / "reports" / "strength" / "coverage.csv"
COLUMNS = ("model", "n", "censoring", "runs", "inner", "no_bound_pct", "covered_pct", "standard_error_pct")
INNER = 199
CV = 0.25
SIZES = (10, 3, 5, 20, 30)
MODELS = {family.value: Model.of(family) for family in Family} | {"known_ratio": ON_LOGS}


@dataclass(frozen=True)
class Rig:
    """Share of the population it can break, its load step in spreads, and whether every other pull is read exactly."""

    share: float = 1.0
    step_sd: float = 0.0
    every_other: bool = False


CENSORING = {
    "complete": Rig(),
    "a fifth held": Rig(share=0.8),
    "half held": Rig(share=0.5),
    "steps": Rig(step_sd=0.8),
    "steps, a fifth held": Rig(share=0.8, step_sd=0.8),
    "mixed": Rig(share=0.8, step_sd=0.8, every_other=True),
}


def strengths_of(model: Model, standard: np.ndarray) -> np.ndarray:
    """Strengths of median near 1 and CV near 25 %: on logs for those families, else 1 + CV z (never below 0.01)."""
    spread = CV / math.sqrt(1.0 + model.ratio**2)
    return np.exp(spread * standard) if model.power == 0.0 else np.maximum(1.0 + spread * standard, 0.01)


def shop(model: Model, rng: np.random.Generator, n: int, rig: Rig) -> StrengthSample:
    """Strengths of CV near 25 %, capped at the given share of the population, read in steps of that many sd."""
    batch = np.arange(n) % 2 if model.ratio else np.zeros(n, np.int64)
    x = strengths_of(model, model.draws(rng, batch, 1)[0])
    population = strengths_of(model, model.draws(np.random.default_rng(1), batch, 4000).ravel())
    cap = float(np.quantile(population, rig.share)) if rig.share < 1.0 else math.inf
    step = rig.step_sd * CV
    cap = math.ceil(cap / step) * step if step and math.isfinite(cap) else cap
    stepped = (np.arange(n) // 2 % 2 == 0) if rig.every_other else np.full(n, step > 0.0)
    floor = np.floor(x / step) * step if step else x
    lower, upper = np.where(stepped, floor, x), np.where(stepped, floor + step, x)
    held = x > cap
    return StrengthSample(
        lower_mpa=np.where(held, cap, lower),
        upper_mpa=np.where(held, np.inf, upper),
        batch=batch,
        batch_names=tuple(str(number) for number in range(int(batch.max()) + 1)),
        cap_mpa=np.full(n, cap),
        load_step_mpa=np.where(stepped, step, 0.0),
        handled=np.zeros(n, np.bool_),
    )


def covered(sample: StrengthSample, model: Model, truth: float, rng: np.random.Generator) -> bool | None:
    if sample.n < _FEWEST or sample.held.all():
        return None
    replay, observed = Replay.of(sample), _observed(sample, model, 0.95)
    if math.isinf(observed.tops.height[0]):
        return None
    point = float(model.scaled(np.array([truth]))[0] - observed.centre) / observed.spread
    standard = model.draws(rng, replay.batch, INNER)
    root, spread = observed.root_at(point)
    return root <= _simulated(observed, replay, standard, _Place(point, spread), 0.95).level + LUMP


def line_of(name: str, n: int, censoring: str, runs: int) -> tuple[object, ...]:
    model = MODELS[name]
    rng = np.random.default_rng(zlib.crc32(f"{name}|{n}|{censoring}".encode()))
    truth = float(strengths_of(model, np.array([model.percentile(0.95)]))[0])
    told = [covered(shop(model, rng, n, CENSORING[censoring]), model, truth, rng) for _ in range(runs)]
    share = sum(answer is not False for answer in told) / runs
    error = math.sqrt(share * (1.0 - share) / runs)
    return (
        name,
        n,
        censoring,
        runs,
        INNER,
        f"{100 * told.count(None) / runs:.1f}",
        f"{100 * share:.1f}",
        f"{100 * error:.1f}",
    )


def run(runs: int) -> None:
    rows: list[tuple[object, ...]] = []
    if PATH.exists():
        with PATH.open(newline="", encoding="utf-8") as file:
            rows = [tuple(row) for row in list(csv.reader(file))[1:]]
    done = {tuple(map(str, row[:4])) for row in rows}
    for n, name, censoring in product(SIZES, MODELS, CENSORING):
        if (name, str(n), censoring, str(runs)) in done:
            continue
        rows.append(line_of(name, n, censoring, runs))
        with PATH.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=600)
    run(parser.parse_args().runs)
