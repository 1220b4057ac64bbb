"""What else could raise the working bound: bound/truth and false-safe at ten pulls in two glue-ups, rule by rule.

Run ``python tests/performance/strength_tries.py [--runs 4000]``: it prints the second table of
reports/strength/working_bound.md.
"""

from __future__ import annotations

import argparse
import math
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt

sys.path.insert(0, str(Path(__file__).parent))
from strength_battery import LEVELS, first_rule, least_of_parts, second_rule
from strength_populations import batch_numbers, populations, shops, true_percentile

from jointlab.strength import normal
from jointlab.strength.hanson_koopmans import factor
from jointlab.strength.known_ratio import centres_and_spreads, known_ratio_bounds, ratio_factor
from jointlab.strength.noncentral_t import noncentral_t_quantile

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
N, BATCHES, SEED = 10, 2, "tries"
USUAL_CV, WORTH = 0.20, 8.0
"""A published coefficient of variation of glue joints in wood and the pulls it is taken to be worth (judgement)."""


def on_order(j: int) -> Callable[[FloatArray, IntArray], FloatArray]:
    def bound(x: FloatArray, batch: IntArray) -> FloatArray:
        y, k = np.sort(np.log(x), axis=1), factor(N, j, **LEVELS)
        return np.minimum(np.exp(y[:, j - 1] + k * (y[:, 0] - y[:, j - 1])), known_ratio_bounds(x, batch, **LEVELS))

    return bound


def prior_spread(x: FloatArray, batch: IntArray) -> FloatArray:
    """Spread of the pulls and a published one, weighted by degrees of freedom, in the known-ratio bound."""
    m, s, total = centres_and_spreads(np.log(x), batch, ratio=1.0)
    degrees = N - 1 + WORTH
    pooled = np.sqrt(((N - 1) * s * s + WORTH * math.log1p(USUAL_CV**2)) / degrees)
    offset = normal.quantile(0.95) * math.sqrt(2.0 * total)
    return np.exp(m - noncentral_t_quantile(0.95, degrees=degrees, offset=offset) / math.sqrt(total) * pooled)


def prior_ratio(x: FloatArray, batch: IntArray) -> FloatArray:
    """Known ratio 1/2, as a book with many glue-ups may show, in place of 1; with the extremes as the least."""
    return np.minimum(on_order(N)(x, batch), known_ratio_bounds(x, batch, ratio=0.5, **LEVELS))


def next_joint(x: FloatArray, batch: IntArray) -> FloatArray:
    """The next joint's 5 % by Student's t on logs, shifts between glue-ups counted: a prediction, not 95 % sure."""
    m, s, total = centres_and_spreads(np.log(x), batch, ratio=1.0)
    from scipy import stats

    return np.exp(m - stats.t.ppf(0.95, N - 1) * s * math.sqrt(2.0 + 1.0 / total))


def smallest_seen(x: FloatArray, batch: IntArray) -> FloatArray:
    """Distribution-free prediction: the next joint exceeds the smallest of ten with chance 10/11."""
    return x.min(axis=1)


def mixture(x: FloatArray, batch: IntArray) -> FloatArray:
    """Least over supposed void shares 0 to 30 % at 45 or 70 % strength, the lowest pulls taken for the voided ones.

    Supposing a share, the sound strengths are lognormal with glue-ups of ratio 1; it is kept while its likelihood is
    within two of the best.
    """
    order = np.argsort(x, axis=1)
    bounds, heights = [], []
    for voided, strength in ((0, 1.0), *((count, share) for count in (1, 2, 3) for share in (0.45, 0.70))):
        mended = x.copy()
        np.put_along_axis(mended, order[:, :voided], np.take_along_axis(x, order[:, :voided], 1) / strength, axis=1)
        m, s, total = centres_and_spreads(np.log(mended), batch, ratio=1.0)
        coverage = 0.95 if not voided else max(1.0 - 0.05 / (voided / N), 0.5)
        k = ratio_factor(N, total, ratio=1.0, coverage=coverage, confidence=0.95)
        bounds.append(np.exp(m - k * s) * (strength if voided else 1.0))
        chance = math.lgamma(N + 1) - math.lgamma(voided + 1) - math.lgamma(N - voided + 1)
        chance += voided * math.log(max(voided / N, 1e-9)) + (N - voided) * math.log(1.0 - voided / N)
        heights.append(chance - (N - 1) * np.log(s))
    height = np.array(heights)
    return np.where(height > height.max(axis=0) - 2.0, np.array(bounds), np.inf).min(axis=0)


def shared(x: FloatArray, batch: IntArray) -> FloatArray:
    """Spread shared by four combinations of ten in two glue-ups each: each shop with the three after it."""
    m, s, total = centres_and_spreads(np.log(x), batch, ratio=1.0)
    pooled = np.sqrt(np.mean([np.roll(s, turn) ** 2 for turn in range(4)], axis=0))
    offset = normal.quantile(0.95) * math.sqrt(2.0 * total)
    return np.exp(m - noncentral_t_quantile(0.95, degrees=4.0 * (N - 1), offset=offset) / math.sqrt(total) * pooled)


RULES: dict[str, Callable[[FloatArray, IntArray], FloatArray]] = {
    "version 1": first_rule,
    "version 2": second_rule,
    "spread shared by four combinations": shared,
    "published CV of 20 %, worth eight pulls": prior_spread,
    "ratio of batches 1/2 from the shop's book": prior_ratio,
    "next joint at 95 %, Student's t": next_joint,
    "next joint, smallest seen (91 %)": smallest_seen,
    "mixture with supposed voids": mixture,
    "Hanson-Koopmans on the ninth of ten": on_order(N - 1),
    "Hanson-Koopmans on the sixth of ten": on_order(6),
    "version 3": least_of_parts,
}


def table(runs: int) -> None:
    worst: dict[tuple[str, str], tuple[float, str]] = {}
    gains: dict[tuple[str, str], list[float]] = {}
    for population in populations():
        for ratio in (0.0, 0.5, 1.0):
            rng = np.random.default_rng(zlib.crc32(f"{population.name}|{ratio}|{SEED}".encode()))
            x = shops(population, rng, runs=runs, n=N, batches=BATCHES, ratio=ratio, additive=False)
            truth = true_percentile(population, ratio=ratio, additive=False)
            for name, rule in RULES.items():
                bound = rule(x, batch_numbers(N, BATCHES))
                found = (100.0 * float((bound > truth).mean()), f"{population.name}, r {ratio:g}")
                worst[name, population.kind] = max(worst.get((name, population.kind), found), found)
                if population.name in ("normal 0.15", "normal 0.25"):
                    gains.setdefault((name, population.name), []).append(float((bound / truth).mean()))
    print("| tried | bound/truth CV 15 % / 25 % | worst clean | worst mixture | deep voids |")
    print("| --- | --- | --- | --- | --- |")
    for name in RULES:
        gain = " / ".join(f"{np.mean(gains[name, cv]):.3f}" for cv in ("normal 0.15", "normal 0.25"))
        cells = (worst[name, kind] for kind in ("clean", "mixture", "deep voids"))
        print(f"| {name} | {gain} | " + " | ".join(f"{rate:.1f} % ({where})" for rate, where in cells) + " |")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=4_000)
    table(parser.parse_args().runs)
