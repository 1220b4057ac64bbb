"""Coverage of calibrated and exact bounds at 95/95, not inverted and hardly simulated twice.

A calibrated bound covers where at least 5 % of the simulated samples have, at the true percentile, a root as large as
the sample's own. Those are drawn from the fit that has its percentile at the truth: of all that the sample says, only
the spread of that fit matters. So the simulation is made once for some spreads, and each shop looks between them.

Run ``python tests/performance/strength_coverage.py [--minutes 7]``: it adds cells to reports/strength/coverage.csv
until the time is over.
"""

from __future__ import annotations

import argparse
import csv
import math
import time
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt

from jointlab.strength import Family, weibull_pivot
from jointlab.strength.known_ratio import centres_and_spreads, ratio_factor
from jointlab.strength.likelihood import Samples
from jointlab.strength.likelihood_ratio import LUMP
from jointlab.strength.repeats import distinct, tied_within
from jointlab.strength.replay import Replay
from jointlab.strength.signed_root import Model, coarsened, signed_roots, tops_of
from jointlab.strength.working import ON_LOGS

FloatArray = npt.NDArray[np.float64]
PATH = Path(__file__).parents[2] / "reports" / "strength" / "coverage.csv"
COLUMNS = ("method", "model", "n", "censoring", "shops", "no_bound_pct", "covered_pct", "standard_error_pct")
SHOPS, INNER, SPREADS = 8_000, 4_000, 16
CONFIDENCE = 0.95
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
STOPPED = {"complete": 1.0, "stopped at four fifths": 0.8, "stopped at half": 0.5}


def spread_of(model: Model) -> float:
    """True spread, about medians of 1: a quarter on logarithms, an eighth on strength, where none may be negative."""
    return 0.25 / math.sqrt(1.0 + model.ratio**2) if model.power == 0.0 else 0.125


def middle_of(model: Model) -> float:
    return 0.0 if model.power == 0.0 else 1.0


def batches_of(model: Model, n: int) -> npt.NDArray[np.int64]:
    return np.arange(n) % 2 if model.ratio else np.zeros(n, np.int64)


def replay_of(model: Model, n: int, rig: Rig) -> Replay:
    """The rig: it holds the given share of the population, and is read in steps of that many spreads."""
    batch, spread = batches_of(model, n), spread_of(model)
    population = middle_of(model) + spread * model.draws(np.random.default_rng(1), batch, 4000).ravel()
    cap = float(np.quantile(model.strength(population), rig.share)) if rig.share < 1.0 else math.inf
    step = rig.step_sd * spread
    cap = math.ceil(cap / step) * step if step and math.isfinite(cap) else cap
    stepped = (np.arange(n) // 2 % 2 == 0) if rig.every_other else np.full(n, step > 0.0)
    return Replay(np.full(n, cap), np.where(stepped, step, 0.0), np.zeros(n), np.zeros(n), batch)


@dataclass(frozen=True)
class Told:
    """Root of each recorded sample at the true percentile, spread of the fit held there, and whether none broke."""

    root: FloatArray
    spread: FloatArray
    none_broke: npt.NDArray[np.bool_]


def told_by(model: Model, replay: Replay, strengths: FloatArray, truth: float, unit: float) -> Told:
    """Roots of samples as the rig records them; ``truth`` and ``unit`` on the model's scale."""
    share = model.percentile(0.95)
    ends = [(model.scaled(end) - truth) / unit + share for end in replay.recorded(strengths)]
    held = np.isposinf(ends[1]).all(axis=1)
    samples = coarsened(Samples(*ends, np.ones_like(ends[0])))
    if model.ratio == 0.0:
        samples, which = distinct(samples)
    else:
        samples, which = tied_within(samples, replay.batch), np.arange(len(strengths))
    tops = tops_of(samples, replay.batch, model, share=share)
    at = signed_roots(samples, replay.batch, model, tops, point=share, share=share)
    return Told(np.nan_to_num(at.root[which], nan=np.inf), unit / at.a[which], held)


def drawn(model: Model, rng: np.random.Generator, replay: Replay, runs: int, truth: float, spread: float) -> FloatArray:
    """Strengths of simulated shops whose percentile is the truth, of this spread."""
    location = truth - model.percentile(0.95) * spread
    return model.strength(location + spread * model.draws(rng, replay.batch, runs))


@dataclass(frozen=True)
class Chances:
    """Simulated roots at some spreads: how likely so large a root is, in between too."""

    spreads: FloatArray
    roots: list[FloatArray]

    @classmethod
    def of(
        cls,
        model: Model,
        rng: np.random.Generator,
        replay: Replay,
        truth: float,
        asked: FloatArray,
        *,
        inner: int = INNER,
        number: int = SPREADS,
    ) -> Chances:
        ends = np.log(np.quantile(asked[np.isfinite(asked)], [0.004, 0.996]))
        spreads = np.exp(np.linspace(*ends, number))
        told = (
            told_by(model, replay, drawn(model, rng, replay, inner, truth, float(spread)), truth, float(spread))
            for spread in spreads
        )
        return cls(spreads, [np.sort(each.root) for each in told])

    def weights(self, asked: FloatArray) -> FloatArray:
        """How much each of the spreads counts for each asked, shape (asked, spreads)."""
        number = np.arange(self.spreads.size)
        place = np.interp(np.log(asked), np.log(self.spreads), number)
        return np.maximum(1.0 - np.abs(place[:, None] - number), 0.0)

    def of_so_large(self, told: Told) -> FloatArray:
        beyond = [roots.size - np.searchsorted(roots, told.root - LUMP) for roots in self.roots]
        chance = (1.0 + np.array(beyond).T) / (self.roots[0].size + 1.0)
        return np.asarray((self.weights(told.spread) * chance).sum(axis=1))

    def error_of(self, told: Told, share: float) -> float:
        """Standard error of a coverage: of the shops, and of the simulation they share."""
        common = float((self.weights(told.spread).mean(axis=0) ** 2).sum()) / self.roots[0].size
        return math.sqrt(share * (1.0 - share) * (1.0 / told.root.size + common))


def calibrated(name: str, n: int, censoring: str) -> tuple[float, float, float]:
    """Shares without a bound, covered, and the standard error."""
    model, replay = MODELS[name], replay_of(MODELS[name], n, CENSORING[censoring])
    rng = np.random.default_rng(zlib.crc32(f"{name}|{n}|{censoring}|third".encode()))
    spread = spread_of(model)
    truth = middle_of(model) + model.percentile(0.95) * spread
    shops = told_by(model, replay, drawn(model, rng, replay, SHOPS, truth, spread), truth, spread)
    chances = Chances.of(model, rng, replay, truth, shops.spread)
    covered = shops.none_broke | (chances.of_so_large(shops) >= 1.0 - CONFIDENCE)
    share = float(covered.mean())
    return float(shops.none_broke.mean()), share, chances.error_of(shops, share)


def noncentral_t(name: str, n: int, censoring: str) -> tuple[float, float, float]:
    """Closed form of complete pulls: lognormal is normal of the logarithms; with glue-ups the known ratio."""
    model = MODELS[name]
    rng = np.random.default_rng(zlib.crc32(f"{name}|{n}|closed".encode()))
    batch = batches_of(model, n)
    m, s, total = centres_and_spreads(model.draws(rng, batch, 5 * SHOPS), batch, ratio=model.ratio)
    k = ratio_factor(n, total, ratio=model.ratio, coverage=0.95, confidence=CONFIDENCE)
    share = float((m - k * s <= model.percentile(0.95)).mean())
    return 0.0, share, math.sqrt(share * (1.0 - share) / m.size)


def pivot(name: str, n: int, censoring: str) -> tuple[float, float, float]:
    """Exact pivot of Weibull pulls, all broken or stopped when the given share of them had."""
    rng = np.random.default_rng(zlib.crc32(f"{name}|{n}|{censoring}|pivot".encode()))
    broken = max(math.ceil(STOPPED[censoring] * n), 2)
    told = 0
    for _ in range(SHOPS):
        y = np.sort(np.log(rng.standard_exponential(n)))
        y = np.where(np.arange(n) < broken, y, y[broken - 1])
        posterior = weibull_pivot._posterior((y - y[-1]) / np.ptp(y), (y[:broken] - y[-1]) / np.ptp(y))
        share = math.log(-math.log(0.95))
        told += weibull_pivot._chance_above(posterior, (share - y[-1]) / float(np.ptp(y)), share) <= CONFIDENCE
    share = told / SHOPS
    return 0.0, share, math.sqrt(share * (1.0 - share) / SHOPS)


METHODS = {
    "noncentral_t": (noncentral_t, ("normal", "known_ratio"), ("complete",)),
    "weibull_pivot": (pivot, ("weibull",), tuple(STOPPED)),
    "likelihood_ratio": (calibrated, tuple(MODELS), tuple(CENSORING)),
}


def cells() -> Iterator[tuple[str, str, int, str]]:
    for method, (_, names, censorings) in METHODS.items():
        yield from ((method, name, n, censoring) for n, name, censoring in product(SIZES, names, censorings))


def run(minutes: float) -> None:
    begin = time.monotonic()
    rows: list[tuple[object, ...]] = []
    if PATH.exists():
        with PATH.open(newline="", encoding="utf-8") as file:
            rows = [tuple(row) for row in csv.reader(file) if len(row) == len(COLUMNS)][1:]
    done = {tuple(map(str, row[:4])) for row in rows}
    for method, name, n, censoring in cells():
        if (method, name, str(n), censoring) in done:
            continue
        if time.monotonic() - begin > 60.0 * minutes:
            print("time is over; run again for the rest")
            break
        none, share, error = METHODS[method][0](name, n, censoring)
        told = (f"{100 * none:.1f}", f"{100 * share:.2f}", f"{100 * error:.2f}")
        shops = 5 * SHOPS if method == "noncentral_t" else SHOPS
        rows.append((method, name, n, censoring, shops, *told))
        with PATH.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=7.0)
    run(parser.parse_args().minutes)
