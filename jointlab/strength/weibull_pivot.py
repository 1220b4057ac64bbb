"""Exact bounds of Weibull and smallest extreme value samples, complete or stopped at a break.

The pivots of location and scale are taken given the configuration of the sample (its ancillary statistic): the
confidence is exact given any configuration, hence overall, and needs neither table nor simulation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength.quadrature import panels, rising_root
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family

FloatArray = npt.NDArray[np.float64]

SOURCE = "lawless_1978"

MOST_SUMMED = 60
"""Breaks up to which the Gamma distribution is summed here; beyond, the library's is worth its import."""


@dataclass(frozen=True, slots=True)
class _Posterior:
    """Distribution of a = 1/scale given the configuration, at nodes, with ln sum(exp(a y)) there."""

    breaks: int
    a: FloatArray
    mass: FloatArray
    log_total: FloatArray


def applies_to(sample: StrengthSample) -> bool:
    """Whether every pull was seen exactly, or stopped at the load at which another broke; with two different breaks."""
    exact, held = sample.exact, sample.held
    if not (exact | held).all() or np.unique(sample.lower_mpa[exact]).size < 2 or sample.lower_mpa.min() <= 0.0:
        return False
    return bool(np.isin(sample.lower_mpa[held], sample.lower_mpa[exact]).all())


def weibull_bound(sample: StrengthSample, *, family: Family, coverage: float, confidence: float) -> float:
    """Bound on the (1 - coverage) percentile [MPa]: below it with probability ``confidence`` (source ``lawless_1978``).

    ``family`` is weibull or gumbel_min. With ``confidence`` replaced by its complement it is the upper bound.

    Given a, the variable exp(-a mu) sum(exp(a y)) is Gamma(breaks), and a itself has density proportional to
    a^(breaks - 2) exp(a sum of breaks) / sum(exp(a y))^breaks.
    """
    logs = family is Family.WEIBULL
    strengths = np.log(sample.lower_mpa) if logs else sample.lower_mpa
    y, broke = np.sort(strengths), np.sort(strengths[sample.exact])
    centre, extent = float(y[-1]), float(y[-1] - y[0])
    posterior = _posterior((y - centre) / extent, (broke - centre) / extent)
    log_share = math.log(-math.log(coverage))

    def missed(bound: float) -> float:
        return confidence - _chance_above(posterior, bound, log_share)

    bound = rising_root(missed, -1.0, 0.0) * extent + centre
    return math.exp(bound) if logs else bound


def _posterior(y: FloatArray, broke: FloatArray) -> _Posterior:
    """Nodes over ln a around the mode, as far as the density matters."""
    breaks, total = broke.size, float(broke.sum())

    def log_density(log_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        a = np.exp(log_a)
        log_sum = np.log(np.exp(a[:, None] * y).sum(axis=1))  # the largest y is 0
        return (breaks - 1) * log_a + a * total - breaks * log_sum, log_sum

    grid = np.linspace(-12.0, 12.0, 481)
    height = log_density(grid)[0]
    seen = grid[height > height.max() - 45.0]
    log_a, weight = panels(list(np.linspace(seen[0] - 0.05, seen[-1] + 0.05, 9)))
    height, log_sum = log_density(log_a)
    mass = weight * np.exp(height - height.max())
    return _Posterior(breaks, np.exp(log_a), mass / mass.sum(), log_sum)


def _chance_above(posterior: _Posterior, bound: float, log_share: float) -> float:
    """Chance that the percentile lies above ``bound``: that a Gamma(breaks) variable is at most x, over the nodes."""
    log_x = np.minimum(posterior.log_total - posterior.a * bound + log_share, 50.0)
    if posterior.breaks > MOST_SUMMED:
        from scipy.special import gammainc

        return float((posterior.mass * gammainc(posterior.breaks, np.exp(log_x))).sum())
    k = np.arange(posterior.breaks)
    log_factorial = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1, posterior.breaks)))])
    terms = np.exp(k * log_x[:, None] - log_factorial - np.exp(log_x)[:, None])
    return float((posterior.mass * (1.0 - terms.sum(axis=1))).sum())
