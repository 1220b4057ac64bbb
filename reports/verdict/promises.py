"""Promised chances that more pulls settle a mount, beside what followed in simulated shops.

    python reports/verdict/promises.py --most N   # up to N more shops of each kind, then the table of groups

Each shop is drawn from all those of the study: spread, family, unlikeness of glue-ups, pulls, plan and true margin. A
shop can hold the tool to what it was promised, so shops are put together by that. Every part of a hundred shops has its
own seed, so a run that was stopped goes on where it ended.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

import numpy as np

from jointlab.strength.hanson_koopmans import extremes_of, steadied_bound_from
from jointlab.strength.likelihood_ratio import calibrated_bound
from jointlab.strength.replay import Replay
from jointlab.strength.sample import FloatArray, IntArray, StrengthSample
from jointlab.strength.values import Family
from jointlab.strength.working import MOST_HELD, ON_LOGS, stretch_of
from jointlab.verdict.chance import OFFERED, settling_chances
from jointlab.verdict.plausible import RATIOS, VOID_SHARES, plausible_shops
from jointlab.verdict.shops import Design, Truth, joint_cdf, shop_strengths, true_percentile
from jointlab.verdict.simulated import working_bounds
from jointlab.verdict.spending import Look

HERE = Path(__file__).parent
SEED = 20261125
COVERAGE, CONFIDENCE = 0.95, 0.95
COVS = (0.15, 0.25)
LEAST_MARGIN, MOST_MARGIN = 0.5, 6.0
PART = 100

FIRST = (Design(6, 2), Design(10, 2))
LOOKS = {"none": Look(1), "two looks": Look(1, planned_looks=2)}
"""Plans under which the first look is taken: the next one has to meet its own share."""

EDGES = (0.0, 0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)
"""Promised chances between which shops are put together; below the first step nothing is offered."""

Row = dict[str, str | float | int]
Choice = TypeVar("Choice")


@dataclass(frozen=True, slots=True)
class Kind:
    """What a population of shops tests: shares of voided joints, and how the rig records, in means of sound joints."""

    void_shares: tuple[float, ...]
    limits: tuple[tuple[float, float], ...] = ((math.inf, 0.0),)

    def recorded(self, strengths: FloatArray, batch: IntArray, rig: tuple[float, float]) -> StrengthSample:
        """The sample that such strengths make on a rig of this limit and load step."""
        cap, step = np.full(strengths.size, rig[0]), np.full(strengths.size, rig[1])
        least = np.zeros(strengths.size)
        lower, upper = Replay(cap, step, least, least, batch).recorded(strengths[None])
        names = tuple(f"glue-up {number + 1}" for number in range(int(batch.max()) + 1))
        handled = np.zeros(strengths.size, np.bool_)
        return StrengthSample(np.maximum(lower[0], 0.0), upper[0], batch, names, cap, step, handled)


KINDS = {
    "solid": Kind(VOID_SHARES[:1]),
    "sheet": Kind(VOID_SHARES),
    "held": Kind(VOID_SHARES[:1], ((1.15, 0.0), (1.3, 0.0))),
    "stepped": Kind(VOID_SHARES[:1], ((2.5, 0.1), (1.3, 0.2))),
}
"""Solid wood, and sheet goods of which half has one joint in ten voided, every pull read; a rig whose limit some joints
reach; one that is loaded in steps."""


def meets(sample: StrengthSample, needed_mpa: float, *, confidence: float) -> bool:
    """Whether the working bound reaches what is needed, part by part: the last is simulated, and seldom asked."""
    level = {"coverage": COVERAGE, "confidence": confidence}
    extremes = extremes_of(sample)
    if extremes is None or sample.held.sum() > MOST_HELD * sample.n:
        return False
    if steadied_bound_from(extremes, stretch=stretch_of(sample.batch), **level) < needed_mpa:
        return False
    if sample.complete:
        return bool(working_bounds(sample.lower_mpa[None], sample.batch, **level)[0] >= needed_mpa)
    bound = calibrated_bound(sample, ON_LOGS, **level)
    return bound is not None and bound.bound_mpa >= needed_mpa


def shop_row(name: str, rng: np.random.Generator) -> Row:
    """A shop that does not pass at its first look: what it is promised of one of the offers, and what follows."""
    kind = KINDS[name]
    while True:
        truth = Truth(_one(list(Family), rng), _one(COVS, rng), _one(RATIOS, rng), _one(kind.void_shares, rng))
        first, (pulls, glue_ups), plan = _one(FIRST, rng), _one(OFFERED, rng), _one(list(LOOKS), rng)
        look, later, rig = LOOKS[plan], Design(pulls, glue_ups), _one(kind.limits, rng)
        margin = math.exp(rng.uniform(math.log(LEAST_MARGIN), math.log(MOST_MARGIN)))
        seen, new = (shop_strengths(truth, design, rng, 1)[0] for design in (first, later))
        needed, share = true_percentile(truth, COVERAGE) / margin, look.spent_next(CONFIDENCE)
        assert share is not None
        now = kind.recorded(seen, first.batch, rig)
        if not meets(now, needed, confidence=1.0 - look.spent(CONFIDENCE)):
            break
    (more,) = settling_chances(
        now,
        needed_mpa=needed,
        coverage=COVERAGE,
        confidence=1.0 - share,
        void_shares=kind.void_shares,
        offered=[(pulls, glue_ups)],
    )
    both = np.concatenate([first.batch, first.glue_ups + later.batch])
    then = kind.recorded(np.concatenate([seen, new]), both, rig)
    return {
        "kind": name,
        "family": str(truth.family),
        "cov": truth.cov,
        "batch_ratio": truth.batch_ratio,
        "void_share": truth.void_share,
        "pulls": first.pulls,
        "plan": plan,
        "more": pulls,
        "true_margin": round(margin, 3),
        "promised": round(more.chance, 4),
        "kept": int(meets(then, needed, confidence=1.0 - share)),
    }


def _one(choices: Sequence[Choice], rng: np.random.Generator) -> Choice:
    return choices[int(rng.integers(len(choices)))]


def run_shops(folder: Path, name: str, *, most: int) -> None:
    """So many more parts of a kind of shops."""
    path = folder / "promised_shops.csv"
    done = sum(row["kind"] == name for row in read(path)) // PART
    for part in range(done, done + most // PART):
        rng = np.random.default_rng([SEED, 2000 + list(KINDS).index(name), part])
        rows = [shop_row(name, rng) for _ in range(PART)]
        fresh = not path.exists()
        with path.open("a", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, fieldnames=list(rows[0]))
            if fresh:
                writer.writeheader()
            writer.writerows(rows)
        print(name, part, file=sys.stderr)


def read(path: Path) -> list[dict[str, str]]:
    """Rows already there."""
    if not path.exists():
        return []
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def groups_of(shops: Sequence[dict[str, str]]) -> Iterator[Row]:
    """Promised and kept over shops of each kind that were promised nearly the same, and over other parts of them."""
    for name in KINDS:
        of_kind = [row for row in shops if row["kind"] == name]
        if not of_kind:
            continue
        for low, high in pairwise(EDGES):
            chosen = [row for row in of_kind if low <= float(row["promised"]) < high + (high == 1.0)]
            yield group_row(name, "promised", f"{low:g} to {high:g}", chosen)
        offered = [row for row in of_kind if float(row["promised"]) >= EDGES[1]]
        yield group_row(name, "all", "offered", offered)
        for column in ("cov", "more", "pulls", "plan", "family", "batch_ratio", "void_share"):
            for value in sorted({row[column] for row in offered}):
                yield group_row(name, column, value, [row for row in offered if row[column] == value])


def group_row(kind: str, column: str, value: str, shops: Sequence[dict[str, str]]) -> Row:
    """Mean promise, share kept, their difference and its standard error."""
    promised, kept = (np.array([float(row[name]) for row in shops]) for name in ("promised", "kept"))
    off = promised - kept
    told: Callable[[float], float] = partial(round, ndigits=4)
    return {
        "kind": kind,
        "by": column,
        "value": value,
        "shops": len(shops),
        "promised": told(float(promised.mean())) if shops else "",
        "kept": told(float(kept.mean())) if shops else "",
        "off": told(float(off.mean())) if shops else "",
        "off_se": told(float(off.std(ddof=1) / math.sqrt(off.size))) if len(shops) > 1 else "",
    }


def write_groups(folder: Path) -> None:
    """The table, made anew from the shops there are."""
    rows = list(groups_of(read(folder / "promised_shops.csv")))
    with (folder / "promises.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


STRENGTHS = (0.15, 0.2, 0.3, 0.4, 0.5, 0.6)
"""Strengths over the mean of sound joints at which the share of weaker joints is foretold."""


def write_next_joints(folder: Path, *, shops: int) -> None:
    """Mean share of weaker joints that ten pulls in two glue-ups foretell, beside the true one, over shops."""
    rng, design, asked = np.random.default_rng([SEED, 2900]), Design(10, 2), np.array(STRENGTHS)
    true, told = np.zeros((shops, asked.size)), np.zeros((shops, asked.size))
    for number in range(shops):
        truth = Truth(_one(list(Family), rng), _one(COVS, rng), _one(RATIOS, rng))
        sample = StrengthSample.of_values(shop_strengths(truth, design, rng, 1)[0], batch=design.batch)
        true[number] = joint_cdf(truth, asked)
        told[number] = plausible_shops(sample, void_shares=(0.0,)).share_below(asked)
    with (folder / "next_joints.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["strength", "shops", "true", "foretold", "foretold_se"])
        for column, strength in enumerate(STRENGTHS):
            error = told[:, column].std(ddof=1) / math.sqrt(shops)
            shares = (true[:, column].mean(), told[:, column].mean(), error)
            writer.writerow([strength, shops, *(float(f"{share:.3g}") for share in shares)])


def main() -> None:
    """More shops, then the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int, default=0)
    parser.add_argument("--kinds", nargs="+", choices=list(KINDS), default=list(KINDS))
    parser.add_argument("--folder", type=Path, default=HERE)
    asked = parser.parse_args()
    for name in asked.kinds:
        run_shops(asked.folder, name, most=asked.most)
    write_groups(asked.folder)
    if not (asked.folder / "next_joints.csv").exists():
        write_next_joints(asked.folder, shops=400)


if __name__ == "__main__":
    main()
