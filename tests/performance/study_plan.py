"""Power of plans against what they promise: python tests/performance/study_plan.py [TESTS].

Plans are made for several wishes; the planned tests are then simulated and analysed by the comparison itself, or by the
working bound. Writes reports/compare/plan_power.csv; rows already there are passed over.
"""

from __future__ import annotations

import csv
import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from jointlab.compare.blocks import estimates_in_blocks
from jointlab.compare.pairs import every_pair
from jointlab.compare.simultaneous import factor_of
from jointlab.plan.plan_tests import Terms, plan_tests
from jointlab.plan.power import block_layout
from jointlab.plan.values import SeeDifference, ShowStrength, TestPlan
from jointlab.record.joint import Combination
from jointlab.strength import StrengthSample, lower_bound

TABLE = Path(__file__).parents[2] / "reports" / "compare" / "plan_power.csv"
HEADER = ["wish", "combinations", "glue_ups", "specimens_each", "looks", "tests", "promised", "reached"]
TERMS = Terms("Study", "2026-03-02")


def wishes() -> list[tuple[SeeDifference | ShowStrength, int, int, int]]:
    """Wish, combinations, glue-ups, looks."""
    return [
        (SeeDifference(1.5, 4.0, log_sd=0.2), 2, 2, 1),
        (SeeDifference(1.5, 4.0, log_sd=0.2), 4, 2, 1),
        (SeeDifference(1.5, 4.0, log_sd=0.2), 4, 2, 2),
        (SeeDifference(1.25, 4.0, log_sd=0.15), 4, 3, 1),
        (SeeDifference(1.25, 4.0, log_sd=0.2), 6, 4, 1),
        (ShowStrength(1.5, 4.0, log_sd=0.2), 1, 2, 1),
        (ShowStrength(1.5, 4.0, log_sd=0.2), 1, 3, 1),
        (ShowStrength(1.0, 4.0, log_sd=0.25), 1, 2, 2),
    ]


def seen_share(plan: TestPlan, wish: SeeDifference, tests: int, rng: np.random.Generator) -> float:
    """Share of simulated tests that show the first combination stronger than the second."""
    each = plan.specimens_each // len(plan.glue_ups)
    layout = block_layout(len(plan.combinations), len(plan.glue_ups), each)
    family = every_pair(len(plan.combinations))
    seen = 0
    for _ in range(tests):
        moved = wish.log_sd * rng.standard_normal(layout.blocks)
        y = (
            wish.log_sd * rng.standard_normal(layout.n)
            + moved[layout.block]
            + math.log(wish.ratio) * (layout.group == 0)
        )
        got = estimates_in_blocks(replace(layout, lower=y, upper=y), family=family, ratio=1.0, replicates=999, rng=rng)
        half = factor_of(got.largest, confidence=plan.confidence_at_look) * got.errors[0]
        seen += got.log_median[0] - got.log_median[1] > half
    return seen / tests


def shown_share(plan: TestPlan, wish: ShowStrength, tests: int, rng: np.random.Generator) -> float:
    """Share of simulated tests whose working bound reaches the strength."""
    batch = np.repeat(np.arange(len(plan.glue_ups)), plan.specimens_each // len(plan.glue_ups))
    shown = 0
    for _ in range(tests):
        moved = rng.standard_normal(len(plan.glue_ups))[batch]
        strengths = wish.expected_mpa * np.exp(wish.log_sd * (moved + rng.standard_normal(batch.size)))
        sample = StrengthSample.of_values(strengths, batch=batch)
        bound = lower_bound(sample, coverage=wish.coverage, confidence=plan.confidence_at_look).bound_mpa
        shown += bound is not None and bound >= wish.required_mpa
    return shown / tests


def run(tests: int) -> None:
    """Measure what is not measured yet."""
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    if not TABLE.exists():
        TABLE.write_text(",".join(HEADER) + "\n", encoding="utf-8")
    with TABLE.open(newline="", encoding="utf-8") as file:
        done = {tuple(row[:3] + row[4:5]) for row in csv.reader(file)}
    for wish, count, glue_ups, looks in wishes():
        name = f"see {wish.ratio:g}" if isinstance(wish, SeeDifference) else f"show {wish.required_mpa:g}"
        name += f" at {wish.log_sd:g}"
        if (name, str(count), str(glue_ups), str(looks)) in done:
            continue
        terms = replace(TERMS, glue_ups=glue_ups, planned_looks=looks)
        combinations = [Combination("glue", str(index)) for index in range(count)]
        plan = plan_tests(combinations, wish=wish, terms=terms, rng=np.random.default_rng(1))
        rng = np.random.default_rng(20260302)
        share = seen_share if isinstance(wish, SeeDifference) else shown_share
        reached = share(plan, wish, tests, rng)
        row = [name, count, glue_ups, plan.specimens_each, looks, tests, f"{plan.chance:.4f}", f"{reached:.4f}"]
        with TABLE.open("a", encoding="utf-8") as file:
            file.write(",".join(map(str, row)) + "\n")
        print(*row, flush=True)


if __name__ == "__main__":
    run(int(sys.argv[1]) if len(sys.argv) > 1 else 3000)
