"""All combinations fitted in one pass against a loop of a general library's fits: python study_fits.py --out FILE.csv.

Ten thousand combinations of ten complete pulls each, drawn from Weibull distributions; the loop fits a seeded share of
them one by one with scipy's maximum likelihood and counts for all by that share. Both in one run, in turn by family, in
processor time. The largest difference in log-likelihood where both ended says whether they found the same.
"""

from __future__ import annotations

import argparse
import csv
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy import stats

from jointlab.strength.many_fits import fits
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family

COMBINATIONS, PULLS, IN_THE_LOOP = 10_000, 10, 300
FloatArray = npt.NDArray[np.float64]


def by_scipy(family: Family, strength: FloatArray) -> float:
    """Log-likelihood at scipy's maximum."""
    held: dict[Family, tuple[stats.rv_continuous, dict[str, float]]] = {
        Family.NORMAL: (stats.norm, {}),
        Family.LOGNORMAL: (stats.lognorm, {"floc": 0.0}),
        Family.WEIBULL: (stats.weibull_min, {"floc": 0.0}),
        Family.GUMBEL_MIN: (stats.gumbel_l, {}),
    }
    law, fixed = held[family]
    return float(law.logpdf(strength, *law.fit(strength, **fixed)).sum())


def timed(work: Callable[[], object]) -> tuple[float, object]:
    """Processor time of some work, and what it gave."""
    started = time.process_time()
    done = work()
    return time.process_time() - started, done


def main() -> None:
    """Fit, compare, and write one line a family."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seed", type=int, default=20261125)
    asked = parser.parse_args()
    rng = np.random.default_rng(asked.seed)
    shape, scale = rng.uniform(3.0, 9.0, COMBINATIONS), rng.uniform(1.0, 8.0, COMBINATIONS)
    strength = rng.weibull(shape[:, None], (COMBINATIONS, PULLS)) * scale[:, None]
    samples = [StrengthSample.of_values(row) for row in strength]
    chosen = rng.choice(COMBINATIONS, IN_THE_LOOP, replace=False)
    fits(samples[:50], family=Family.WEIBULL)  # what is loaded once
    by_scipy(Family.WEIBULL, strength[0])
    with asked.out.open("w", encoding="utf-8", newline="") as file:
        lines = csv.writer(file)
        lines.writerow(["family", "combinations", "one_pass_s", "loop_s", "ratio", "largest_gain", "largest_loss"])
        for family in Family:
            ours_s, ours = timed(lambda family=family: fits(samples, family=family))
            loop_s, theirs = timed(lambda family=family: [by_scipy(family, strength[one]) for one in chosen])
            loop_s *= COMBINATIONS / IN_THE_LOOP
            gains = np.array([ours[one].log_likelihood for one in chosen]) - np.array(theirs)
            row = [
                f"{ours_s:.3f}",
                f"{loop_s:.1f}",
                f"{loop_s / ours_s:.0f}",
                f"{gains.max():.2g}",
                f"{gains.min():.2g}",
            ]
            lines.writerow([family, COMBINATIONS, *row])


if __name__ == "__main__":
    main()
