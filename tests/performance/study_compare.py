"""Simultaneous coverage and family-wise error of comparisons: python tests/performance/study_compare.py [SAMPLES].

Appends a row a cell to reports/compare/coverage.csv; cells already there with as many samples are passed over, so that
the study can be stopped and taken up again.
"""

from __future__ import annotations

import csv
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from compare_layouts import COLUMNS, LOG_SDS, Cell, measured

from jointlab.compare.values import Analysis
from jointlab.strength.values import Family

TABLE = Path(__file__).parents[2] / "reports" / "compare" / "coverage.csv"
HEADER = [*COLUMNS.split(","), "samples", "replicates", "coverage", "standard_error", "refused"]
SAMPLES = 2000
REPLICATES = 399
CENSORED_REPLICATES = 199
CENSORED = (Analysis.CENSORED_LOGNORMAL, Analysis.CENSORED_WEIBULL)


def cells() -> list[Cell]:
    """Every cell, cheap ones first."""
    sizes = (5, 10)
    own = [Cell(Analysis.OWN_SPREADS, spreads, n) for spreads in LOG_SDS for n in sizes]
    control = [Cell(Analysis.OWN_SPREADS, spreads, n, against_control=True) for spreads in LOG_SDS for n in sizes]
    nested = [Cell(Analysis.OWN_SPREADS, "equal", 10, glue_ups="pairs", ratio=ratio) for ratio in (0.0, 0.5, 1.0)]
    weibull = [Cell(Analysis.OWN_SPREADS, "equal", n, family=Family.WEIBULL) for n in sizes]
    blocks = [
        Cell(Analysis.BLOCKS, spreads, n, glue_ups="blocks", ratio=ratio)
        for n in sizes
        for spreads in LOG_SDS
        for ratio in (0.0, 1.0)
    ]
    censored = [Cell(Analysis.CENSORED_LOGNORMAL, spreads, n, held=0.2) for spreads in LOG_SDS for n in sizes]
    blocked = [
        Cell(Analysis.CENSORED_LOGNORMAL, spreads, n, held=0.2, glue_ups="blocks", ratio=1.0)
        for n in sizes
        for spreads in LOG_SDS
    ]
    apart = [Cell(Analysis.CENSORED_LOGNORMAL, "equal", 10, held=0.2, glue_ups="pairs", ratio=1.0)]
    extreme = [replace(cell, analysis=Analysis.CENSORED_WEIBULL, family=Family.WEIBULL) for cell in censored]
    extreme += [replace(cell, analysis=Analysis.CENSORED_WEIBULL, family=Family.WEIBULL) for cell in blocked]
    return [*own, *control, *nested, *weibull, *blocks, *blocked, *apart, *censored, *extreme]


def done() -> set[str]:
    """Names of the cells in the table."""
    if not TABLE.exists():
        return set()
    with TABLE.open(newline="", encoding="utf-8") as file:
        return {",".join(row[: len(COLUMNS.split(","))]) for row in csv.reader(file)}


def run(samples: int) -> None:
    """Measure what is not measured yet."""
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    if not TABLE.exists():
        TABLE.write_text(",".join(HEADER) + "\n", encoding="utf-8")
    for cell in cells():
        if cell.name in done():
            continue
        start = time.perf_counter()
        replicates = CENSORED_REPLICATES if cell.analysis in CENSORED else REPLICATES
        got = measured(cell, samples=samples, replicates=replicates, seed=20260301)
        share = got.covered
        error = (share * (1.0 - share) / samples) ** 0.5
        with TABLE.open("a", encoding="utf-8") as file:
            file.write(f"{cell.name},{samples},{replicates},{share:.4f},{error:.4f},{got.refused:.4f}\n")
        took = time.perf_counter() - start
        print(f"{cell.name}: {share:.4f} +- {error:.4f}, refused {got.refused:.4f}, in {took:.0f} s", flush=True)


if __name__ == "__main__":
    run(int(sys.argv[1]) if len(sys.argv) > 1 else SAMPLES)
