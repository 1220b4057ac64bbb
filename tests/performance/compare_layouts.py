"""Layouts and populations on which the intervals of a comparison are measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.blocks import estimates_in_blocks
from jointlab.compare.censored import estimates_of_censored
from jointlab.compare.estimates import Estimates, Pair
from jointlab.compare.layout import Layout
from jointlab.compare.own_spreads import estimates_with_own_spreads
from jointlab.compare.pairs import every_pair
from jointlab.compare.simultaneous import factor_of
from jointlab.compare.values import Analysis
from jointlab.errors import AnalysisError
from jointlab.record.joint import Combination
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

LOG_SDS = {"equal": (0.2, 0.2, 0.2, 0.2), "unequal": (0.1, 0.2, 0.3, 0.4)}
"""Standard deviation of ln strength by combination."""


@dataclass(frozen=True)
class Cell:
    """One cell of the study: an analysis on simulated tests of four combinations alike in median.

    ``glue_ups``: "own" (every pull its own), "blocks" (each holds one pull of every combination) or "pairs" (two a
    combination, its own). ``ratio``: true spread between glue-ups / within. ``held``: expected share that holds.
    """

    analysis: Analysis
    spreads: str
    n: int
    held: float = 0.0
    glue_ups: str = "own"
    ratio: float = 0.0
    family: Family = Family.LOGNORMAL
    against_control: bool = False

    @property
    def name(self) -> str:
        """Key of the cell in the table."""
        against = "control" if self.against_control else "pairs"
        design = f"{self.spreads},{self.n},{self.held:g},{self.glue_ups},{self.ratio:g}"
        return f"{self.analysis},{self.family},{design},{against}"


COLUMNS = "analysis,truth,spreads,n,held,glue_ups,ratio,family"


def layout_of(cell: Cell, rng: np.random.Generator) -> Layout:
    """One simulated test on the scale of ln strength; medians 0."""
    sds = np.array(LOG_SDS[cell.spreads])
    groups, n = sds.size, cell.n
    group = np.repeat(np.arange(groups), n)
    place = np.tile(np.arange(n), groups)
    block = {
        "own": np.arange(groups * n),
        "blocks": place,
        "pairs": group * 2 + (place >= n // 2),
    }[cell.glue_ups]
    z = _drawn(cell.family, rng, groups * n)
    moved = rng.standard_normal(block.max() + 1)[block] * cell.ratio * sds[group].mean()
    y = sds[group] * z + moved
    limit = np.full(y.size, _limit(cell))
    held = y > limit
    return Layout(
        combinations=tuple(Combination("glue", str(index)) for index in range(groups)),
        group=group,
        block=block,
        blocks=int(block.max()) + 1,
        lower=np.minimum(y, limit),
        upper=np.where(held, np.inf, y),
        limit=limit,
        step_mpa=np.zeros(y.size),
    )


def _limit(cell: Cell) -> float:
    """Ln of the rig's limit, above which the stated share of all joints lies on average."""
    if not cell.held:
        return np.inf
    rng = np.random.default_rng(1)
    sds = np.array(LOG_SDS[cell.spreads])
    joints = _drawn(cell.family, rng, sds.size * 100_000).reshape(sds.size, -1)
    return float(np.quantile(sds[:, None] * joints, 1.0 - cell.held))


def _drawn(family: Family, rng: np.random.Generator, count: int) -> FloatArray:
    """Errors of ln strength with median 0 and standard deviation 1."""
    if family is Family.WEIBULL:
        return (np.log(-np.log1p(-rng.random(count))) - np.log(np.log(2.0))) * np.sqrt(6.0) / np.pi
    return rng.standard_normal(count)


def estimated(
    cell: Cell, layout: Layout, family: list[Pair], *, ratio: float, replicates: int, rng: np.random.Generator
) -> Estimates:
    """Estimates by the cell's analysis, glue-ups taken to differ ``ratio`` times as much as joints within one."""
    asked = {"family": family, "ratio": ratio, "replicates": replicates, "rng": rng}
    if cell.analysis is Analysis.BLOCKS:
        return estimates_in_blocks(layout, **asked)
    if cell.analysis is Analysis.OWN_SPREADS:
        return estimates_with_own_spreads(layout, **asked)
    model = Family.LOGNORMAL if cell.analysis is Analysis.CENSORED_LOGNORMAL else Family.WEIBULL
    return estimates_of_censored(layout, model=model, **asked)


@dataclass(frozen=True)
class Measured:
    """Outcome of a cell: shares of simulated tests. A refused test says nothing false and counts as covered."""

    covered: float
    refused: float


def coverage(cell: Cell, *, samples: int, replicates: int, seed: int, assumed: float = 1.0) -> float:
    """Share of simulated tests whose 95 % intervals all hold the true ratio 1: one less the family-wise error."""
    return measured(cell, samples=samples, replicates=replicates, seed=seed, assumed=assumed).covered


def measured(cell: Cell, *, samples: int, replicates: int, seed: int, assumed: float = 1.0) -> Measured:
    """Simulated tests whose 95 % intervals all hold the true ratio 1, and those for which no interval was given."""
    rng = np.random.default_rng([seed, cell.n, round(100 * cell.held)])
    groups = len(LOG_SDS[cell.spreads])
    family = [(i, 0) for i in range(1, groups)] if cell.against_control else list(every_pair(groups))
    covered = refused = 0
    for _ in range(samples):
        layout = layout_of(cell, rng)
        try:
            got = estimated(cell, layout, family, ratio=assumed, replicates=replicates, rng=rng)
        except AnalysisError:
            refused += 1
            continue
        t = [
            abs(got.log_median[i] - got.log_median[j]) / error for (i, j), error in zip(family, got.errors, strict=True)
        ]
        covered += max(t) <= factor_of(got.largest, confidence=0.95)
    return Measured((covered + refused) / samples, refused / samples)
