"""Coverage of the bound on a new shop's joint: python tests/performance/study_pool.py [POOLS].

Shops are drawn around a common median, glue-ups within shops, joints within glue-ups.
Some tests stop at the limit of the rig.
The chance that a joint of a further shop exceeds the bound is integrated, not drawn, and averaged over the pools.
Writes reports/pool/coverage.csv; rows already there are passed over.
"""

from __future__ import annotations

import csv
import math
import sys
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from jointlab.compare.shops import LEAST_SHOPS, ShopSample, _says_enough, _shop_mean, next_joint_bound, spreads_of
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family
from jointlab.verdict.shops import Truth, joint_cdf, sound_strengths

TABLE = Path(__file__).parents[2] / "reports" / "pool" / "coverage.csv"
HEADER = ["shops", "pulls_each", "glue_ups_each", "family", "cov", "batch_ratio", "shop_sd", "held_at", "pools",
          "coverage_pct", "standard_error_pct", "bound_over_truth"]  # fmt: skip
DRAWS = 10_000


@dataclass(frozen=True)
class Cell:
    """One kind of pool; ``held_at``: limit of the rig as a share of the mean, infinite for none."""

    shops: int
    pulls: int
    glue_ups: int
    family: Family
    cov: float
    batch_ratio: float
    shop_sd: float
    held_at: float = math.inf

    @property
    def key(self) -> list[str]:
        """First cells of its row."""
        return [str(self.shops), str(self.pulls), str(self.glue_ups), str(self.family), str(self.cov),
                str(self.batch_ratio), str(self.shop_sd), str(self.held_at)]  # fmt: skip


def cells() -> Iterator[Cell]:
    """Every kind that is studied."""
    for shops in (5, 10):
        for family in (Family.LOGNORMAL, Family.WEIBULL, Family.NORMAL, Family.GUMBEL_MIN):
            for shop_sd in (0.0, 0.15, 0.4):
                for batch_ratio in (0.0, 1.0):
                    yield Cell(shops, 8, 2, family, 0.2, batch_ratio, shop_sd)
        yield Cell(shops, 5, 1, Family.LOGNORMAL, 0.2, 1.0, 0.15)
        yield Cell(shops, 20, 4, Family.WEIBULL, 0.25, 0.5, 0.25)
        yield Cell(shops, 8, 2, Family.LOGNORMAL, 0.2, 0.5, 0.15, held_at=1.2)
        yield Cell(shops, 8, 2, Family.WEIBULL, 0.2, 0.5, 0.4, held_at=1.2)


def pool_of(cell: Cell, truth: Truth, rng: np.random.Generator) -> list[ShopSample]:
    """One pool of shops."""
    batch = np.arange(cell.pulls) % cell.glue_ups
    drawn = []
    for number in range(cell.shops):
        moved = cell.shop_sd * rng.standard_normal() + truth.batch_spread * rng.standard_normal(cell.glue_ups)[batch]
        strengths = sound_strengths(truth, rng, (cell.pulls,)) * np.exp(moved)
        upper = np.where(strengths > cell.held_at, np.inf, strengths)
        lower = np.minimum(strengths, cell.held_at)
        drawn.append(ShopSample(str(number), StrengthSample.of_intervals(lower, upper, batch=batch)))
    return drawn


def covered(cell: Cell, pools: int) -> tuple[int, float, float, float]:
    """Pools that got a bound; of them the share of further joints above it, its standard error, bound over truth.

    A pool with fewer than three shops whose joints broke gets no bound and makes no promise.
    """
    truth = Truth(cell.family, cell.cov, cell.batch_ratio)
    around = Truth(cell.family, cell.cov, math.hypot(truth.batch_spread, cell.shop_sd) / cell.cov)
    rng = np.random.default_rng([20261127, zlib.crc32(" ".join(cell.key).encode())])
    given = []
    for _ in range(pools):
        shops = [each for each in pool_of(cell, truth, rng) if _says_enough(each.sample)]
        if len(shops) < LEAST_SHOPS:
            continue
        spreads = spreads_of([each.sample for each in shops])
        means = [_shop_mean(each, spreads) for each in shops]
        effect = np.array([mean.log_mean for mean in means])
        given.append(math.exp(next_joint_bound(effect, means, spreads, confidence=0.95, draws=DRAWS)))
    bounds = np.array(given)
    chance = 1.0 - joint_cdf(around, bounds)
    grid = np.geomspace(1e-3, 5.0, 4001)
    at_five = float(np.interp(0.05, joint_cdf(around, grid), grid))
    error = float(chance.std(ddof=1)) / math.sqrt(bounds.size)
    return bounds.size, float(chance.mean()), error, float(np.median(bounds)) / at_five


def run(pools: int) -> None:
    """Measure what is not measured yet."""
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    if not TABLE.exists():
        TABLE.write_text(",".join(HEADER) + "\n", encoding="utf-8")
    with TABLE.open(encoding="utf-8", newline="") as file:
        done = {tuple(row[:8]) for row in csv.reader(file)}
    for cell in cells():
        if tuple(cell.key) in done:
            continue
        got, share, error, ratio = covered(cell, pools)
        with TABLE.open("a", encoding="utf-8", newline="") as file:
            row = [*cell.key, got, f"{100 * share:.2f}", f"{100 * error:.2f}", f"{ratio:.3f}"]
            csv.writer(file, lineterminator="\n").writerow(row)


if __name__ == "__main__":
    run(int(sys.argv[1]) if len(sys.argv) > 1 else 1500)
