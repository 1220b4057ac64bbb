"""Coverage of calibrated bounds, not inverted: one covers when the root at the truth is below its quantile.

Run ``python tests/performance/strength_coverage.py [--runs 600]``: it adds cells to reports/strength/coverage.csv.
"""

from __future__ import annotations

import argparse
import csv
import math
import zlib
from itertools import product
from pathlib import Path

import numpy as np

from jointlab.strength import Family, StrengthSample
from jointlab.strength.likelihood_ratio import _FEWEST, _observed, _simulated
from jointlab.strength.replay import Replay
from jointlab.strength.signed_root import Model
from jointlab.strength.working import ON_LOGS

PATH = Path(__file__).parents[2] / "reports" / "strength" / "coverage.csv"
COLUMNS = ("model", "n", "censoring", "runs", "inner", "no_bound_pct", "covered_pct", "standard_error_pct")
INNER = 199
CV = 0.25
MODELS = {"weibull": Model.of(Family.WEIBULL), "lognormal": Model.of(Family.LOGNORMAL), "known_ratio": ON_LOGS}
CENSORING = {"complete": (1.0, 0.0), "a fifth held": (0.8, 0.0), "half held": (0.5, 0.0), "steps": (1.0, 0.8)}
CENSORING |= {"steps, a fifth held": (0.8, 0.8)}


def shop(model: Model, rng: np.random.Generator, n: int, share: float, step_sd: float) -> StrengthSample:
    """Strengths of CV near 25 %, capped at the given share of the population, read in steps of that many sd."""
    batch = np.arange(n) % 2 if model.ratio else np.zeros(n, np.int64)
    x = np.exp(CV * model.draws(rng, batch, 1)[0] / math.sqrt(1.0 + model.ratio**2))
    population = np.exp(
        CV * model.draws(np.random.default_rng(1), batch, 4000).ravel() / math.sqrt(1.0 + model.ratio**2)
    )
    cap = float(np.quantile(population, share)) if share < 1.0 else math.inf
    step = step_sd * CV
    cap = math.ceil(cap / step) * step if step and math.isfinite(cap) else cap
    lower, upper = (np.floor(x / step) * step, np.floor(x / step) * step + step) if step else (x, x)
    held = x > cap
    return StrengthSample(
        lower_mpa=np.where(held, cap, lower),
        upper_mpa=np.where(held, np.inf, upper),
        batch=batch,
        batch_names=tuple(str(number) for number in range(int(batch.max()) + 1)),
        cap_mpa=np.full(n, cap),
        load_step_mpa=np.full(n, step),
        handled=np.zeros(n, np.bool_),
    )


def covered(sample: StrengthSample, model: Model, truth: float, rng: np.random.Generator) -> bool | None:
    if sample.n < _FEWEST or sample.held.all():
        return None
    replay, observed = Replay.of(sample), _observed(sample, model, 0.95)
    point = (math.log(truth) - observed.centre) / observed.spread
    standard = model.draws(rng, replay.batch, INNER)
    return observed.root_at(point)[0] <= _simulated(observed, replay, standard, point, 0.95).level


def line_of(name: str, n: int, censoring: str, runs: int) -> tuple[object, ...]:
    model = MODELS[name]
    rng = np.random.default_rng(zlib.crc32(f"{name}|{n}|{censoring}".encode()))
    truth = math.exp(CV * model.percentile(0.95) / math.sqrt(1.0 + model.ratio**2))
    told = [covered(shop(model, rng, n, *CENSORING[censoring]), model, truth, rng) for _ in range(runs)]
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
    for name, n, censoring in product(MODELS, (5, 10, 20), CENSORING):
        if (name, str(n), censoring, str(runs)) in done:
            continue
        rows.append(line_of(name, n, censoring, runs))
        with PATH.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=600)
    run(parser.parse_args().runs)
