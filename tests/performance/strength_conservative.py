"""Coverage at 95/95 of bounds that promise at least as much: extremes, order statistic, success run, working bound.

Run ``python tests/performance/strength_conservative.py [--minutes 7]``: it adds cells to
reports/strength/conservative.csv until the time is over.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
import time
import zlib
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt

sys.path.insert(0, str(Path(__file__).parent))
from strength_coverage import CENSORING, CONFIDENCE, Chances, Rig, told_by
from strength_populations import Population, batch_numbers, populations, shops, true_percentile

from jointlab.strength import StrengthSample, hanson_koopmans
from jointlab.strength.hanson_koopmans import extremes_of
from jointlab.strength.order_statistic import order_statistic_bound, success_run_bound
from jointlab.strength.replay import Replay
from jointlab.strength.working import MOST_HELD, ON_LOGS, complete_bounds, stretch_of

FloatArray = npt.NDArray[np.float64]
PATH = Path(__file__).parents[2] / "reports" / "strength" / "conservative.csv"
COLUMNS = (
    "method", "population", "batches", "n", "censoring", "shops", "no_bound_pct", "covered_pct", "standard_error_pct"
)  # fmt: skip
SHOPS, INNER, SPREADS = 4_000, 1_000, 10
LEVELS = {"coverage": 0.95, "confidence": 0.95}
TRUTHS = ("Weibull 4", "normal 0.20", "lognormal 0.25", "smallest extreme value 0.15")
SIZES = (3, 5, 10, 20, 30)
RATIO = 1.0


def rig_of(population: Population, batches: int, n: int, rig: Rig) -> Replay:
    """The rig as in the study of calibrated bounds: share held, step in spreads of the sound joints."""
    ratio = RATIO if batches > 1 else 0.0
    share = 1.0 - rig.share
    cap = true_percentile(population, ratio=ratio, additive=False, share=1.0 - share) if share > 0.0 else math.inf
    step = rig.step_sd * population.cv
    cap = math.ceil(cap / step) * step if step and math.isfinite(cap) else cap
    stepped = (np.arange(n) // 2 % 2 == 0) if rig.every_other else np.full(n, step > 0.0)
    return Replay(np.full(n, cap), np.where(stepped, step, 0.0), np.zeros(n), np.zeros(n), batch_numbers(n, batches))


def recorded(replay: Replay, strengths: FloatArray) -> Iterator[StrengthSample]:
    lower, upper = replay.recorded(strengths)
    names = tuple(str(number) for number in range(int(replay.batch.max()) + 1))
    for low, high in zip(np.maximum(lower, 0.0), upper, strict=True):
        yield StrengthSample(
            low, high, replay.batch, names, replay.cap_mpa, replay.step_mpa, np.zeros(low.size, np.bool_)
        )


def extremes(sample: StrengthSample) -> float | None:
    found = extremes_of(sample)
    return None if found is None else hanson_koopmans.bound_from(found, **LEVELS)


def steadied(sample: StrengthSample) -> float | None:
    """The part of the working bound that needs no simulation."""
    found = extremes_of(sample)
    if found is None or sample.held.sum() > MOST_HELD * sample.n:
        return None
    return hanson_koopmans.steadied_bound_from(found, **LEVELS, stretch=stretch_of(sample.batch))


def order_statistic(sample: StrengthSample) -> float | None:
    return order_statistic_bound(sample, **LEVELS)


def success_run(sample: StrengthSample) -> float | None:
    return success_run_bound(sample, **LEVELS)


def by_sample(
    bound_of: Callable[[StrengthSample], float | None], replay: Replay, x: FloatArray, truth: float
) -> tuple[float, float]:
    """Shares without a bound, and covered."""
    bounds = [bound_of(sample) for sample in recorded(replay, x)]
    return bounds.count(None) / len(bounds), float(np.mean([bound is None or bound <= truth for bound in bounds]))


def working(replay: Replay, x: FloatArray, truth: float, rng: np.random.Generator) -> tuple[float, float]:
    """The least of both parts lies below the truth where one of them does; the simulated one is not inverted."""
    if not np.isfinite(replay.cap_mpa).any() and not replay.step_mpa.any():
        return 0.0, float((np.minimum(*complete_bounds(x, replay.batch, **LEVELS)) <= truth).mean())
    alone = [steadied(sample) for sample in recorded(replay, x)]
    below = np.array([bound is None or bound <= truth for bound in alone])
    told = told_by(ON_LOGS, replay, x, math.log(truth), 0.2)
    chances = Chances.of(ON_LOGS, rng, replay, math.log(truth), told.spread, inner=INNER, number=SPREADS)
    return alone.count(None) / len(alone), float((below | (chances.of_so_large(told) >= 1.0 - CONFIDENCE)).mean())


def line_of(method: str, population: Population, batches: int, n: int, censoring: str) -> tuple[object, ...]:
    name = f"{method}|{population.name}|{batches}|{n}|{censoring}"
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    ratio = RATIO if batches > 1 else 0.0
    runs = SHOPS if method in ("hanson_koopmans", "working") else 4 * SHOPS
    x = shops(population, rng, runs=runs, n=n, batches=batches, ratio=ratio, additive=False)
    truth = true_percentile(population, ratio=ratio, additive=False)
    rig = Rig(share=0.0501) if censoring == "held just above" else CENSORING[censoring]
    replay = rig_of(population, batches, n, rig)
    if method == "working":
        none, share = working(replay, x, truth, rng)
    else:
        rule = {"hanson_koopmans": extremes, "order_statistic": order_statistic, "success_run": success_run}[method]
        none, share = by_sample(rule, replay, x, truth)
    error = math.sqrt(share * (1.0 - share) / runs)
    told = (f"{100 * none:.1f}", f"{100 * share:.2f}", f"{100 * error:.2f}")
    return (method, population.name, batches, n, censoring, runs, *told)


def cells() -> Iterator[tuple[str, Population, int, int, str]]:
    chosen = [population for population in populations() if population.name in TRUTHS]
    for population, n, censoring in product(chosen, (59, 100), ("complete", "half held", "steps")):
        yield "order_statistic", population, 1, n, censoring
    for n in (59, 100):
        yield "success_run", chosen[0], 1, n, "held just above"
    for population, n, censoring in product(chosen, SIZES, CENSORING):
        yield "hanson_koopmans", population, 1, n, censoring
    for n, population, censoring in product(SIZES, chosen, CENSORING):
        yield "working", population, 2, n, censoring
    for n, population in product(SIZES, chosen):
        yield "working", population, 1, n, "complete"


def run(minutes: float) -> None:
    begin = time.monotonic()
    rows: list[tuple[object, ...]] = []
    if PATH.exists():
        with PATH.open(newline="", encoding="utf-8") as file:
            rows = [tuple(row) for row in csv.reader(file)][1:]
    done = {tuple(map(str, row[:5])) for row in rows}
    for cell in cells():
        if (cell[0], cell[1].name, *map(str, cell[2:])) in done:
            continue
        if time.monotonic() - begin > 60.0 * minutes:
            print("time is over; run again for the rest")
            break
        rows.append(line_of(*cell))
        with PATH.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=7.0)
    run(parser.parse_args().minutes)
