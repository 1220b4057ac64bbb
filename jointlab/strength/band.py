"""Where the share of weaker joints may lie at every stress at once, whatever the distribution of strength."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from jointlab.strength.sample import FloatArray, StrengthSample

SOURCE = "aldor_noiman"

REPLICATES = 20_000
"""Simulated samples behind the level of a band (source key judgement)."""


@dataclass(frozen=True, slots=True)
class Band:
    """Limits of the share of weaker joints between neighbouring stresses, holding all at once with ``confidence``.

    Parameters
    ----------
    stress_mpa
        Shape (m,): where the limits change [MPa]; they hold from each stress up to the next.
    low, high
        Shape (m,).
    high_before
        Upper limit below the first of the stresses, where no pull can have broken; the lower limit is 0 there.
    """

    stress_mpa: FloatArray
    low: FloatArray
    high: FloatArray
    high_before: float
    confidence: float


def simultaneous_band(sample: StrengthSample, *, confidence: float = 0.95) -> Band | None:
    """Limits that the true share of weaker joints stays between at every stress; None without a break.

    Of n strengths sorted, the i-th has a Beta(i, n - i + 1) share below it. Equal chances in both tails of all n, set
    so that all hold together (source key ``aldor_noiman``). At a stress, the pulls known to be weaker give the lower
    limit, those that may be weaker the upper: it holds for any censoring.
    """
    if not sample.n or sample.held.all():
        return None
    ends = np.unique(np.concatenate([sample.lower_mpa, sample.upper_mpa[np.isfinite(sample.upper_mpa)]]))
    known = (sample.upper_mpa[None, :] <= ends[:, None]).sum(axis=1)
    # From here up to the next end: exact strengths count from their place on, others from their lower end on.
    may_be = (sample.lower_mpa[None, :] <= ends[:, None]).sum(axis=1)
    low, high = _limits(sample.n, confidence)
    return Band(ends, low[known], high[may_be], float(high[0]), confidence)


@lru_cache(maxsize=256)
def _limits(n: int, confidence: float) -> tuple[FloatArray, FloatArray]:
    """Lower limit when 0 .. n are known to be weaker, upper when 0 .. n may be."""
    from scipy import special

    rank = np.arange(1, n + 1)
    draws = np.sort(np.random.default_rng(np.random.SeedSequence(n)).random((REPLICATES, n)), axis=1)
    below = special.betainc(rank, n - rank + 1, draws)
    tail = np.minimum(below, 1.0 - below).min(axis=1)
    level = float(np.quantile(tail, 1.0 - confidence, method="lower"))
    low = np.concatenate([[0.0], special.betaincinv(rank, n - rank + 1, level)])
    high = np.concatenate([special.betaincinv(rank, n - rank + 1, 1.0 - level), [1.0]])
    return low, high
