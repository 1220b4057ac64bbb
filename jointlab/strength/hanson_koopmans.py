"""Hanson-Koopmans bound on logarithms: no family assumed beyond a log-concave distribution function of ln strength."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from jointlab.strength.order_statistic import lower_ends
from jointlab.strength.quadrature import panels, rising_root
from jointlab.strength.sample import StrengthSample

SOURCE = "hanson_koopmans"

SECOND = 0.25
"""Weight of the second largest strength in the bound that stands on three (source key battery)."""


@dataclass(frozen=True, slots=True)
class Extremes:
    """The strengths the bound stands on: the smallest, the j-th smallest of n, and the one before that [MPa].

    ``before_mpa`` is None where it would be the smallest itself.
    ``unresolved``: the smallest broke when handled and nothing says what the rig can show, so that it counts as zero.
    """

    first_mpa: float
    jth_mpa: float
    before_mpa: float | None
    j: int
    n: int
    unresolved: bool


def extremes_of(sample: StrengthSample) -> Extremes | None:
    """Smallest strength by its lower end, largest break below the lowest held load by its upper end; None without two.

    True order statistics lie on the side of these ends that keeps the bound below its exact value.
    """
    lowest_held = float(sample.lower_mpa[sample.held].min(initial=np.inf))
    below = np.sort(sample.upper_mpa[~sample.held & (sample.upper_mpa <= lowest_held)])
    if below.size < 2:
        return None
    first = float(lower_ends(sample).min())
    before = float(below[-2]) if below.size > 2 else None
    return Extremes(first, float(below[-1]), before, int(below.size), sample.n, unresolved=first == 0.0)


def bound_from(extremes: Extremes, *, coverage: float, confidence: float, stretch: float = 1.0) -> float:
    """Lower bound x_1^k x_j^(1-k) [MPa]; source key ``hanson_koopmans``, factor by :func:`factor` times ``stretch``."""
    if extremes.first_mpa == 0.0:
        return 0.0
    k = stretch * factor(extremes.n, extremes.j, coverage=coverage, confidence=confidence)
    log_first, log_jth = math.log(extremes.first_mpa), math.log(extremes.jth_mpa)
    return math.exp(log_jth + k * (log_first - log_jth))


def steadied_bound_from(
    extremes: Extremes, *, coverage: float, confidence: float, stretch: float = 1.0, second: float = SECOND
) -> float:
    """Weighted geometric mean of the bounds on the j-th smallest and on the one before it [MPa].

    The largest of a handful is the most capricious of them: a part of the second largest steadies the bound.
    Source keys ``hanson_koopmans`` and ``battery`` (the weight).
    """
    alone = bound_from(extremes, coverage=coverage, confidence=confidence, stretch=stretch)
    if extremes.before_mpa is None or alone == 0.0:
        return alone
    shorter = replace(extremes, jth_mpa=extremes.before_mpa, before_mpa=None, j=extremes.j - 1)
    other = bound_from(shorter, coverage=coverage, confidence=confidence, stretch=stretch)
    return math.exp((1.0 - second) * math.log(alone) + second * math.log(other))


@lru_cache(maxsize=4096)
def factor(n: int, j: int, *, coverage: float, confidence: float) -> float:
    """Factor k >= 1 for the smallest and the j-th smallest of n, 2 <= j <= n.

    It solves P(U_1^k U_j^(1-k) <= 1 - coverage) = confidence for uniform order statistics: U_1/U_j is the least of
    j - 1 uniforms, apart from U_j ~ Beta(j, n - j + 1).

    Examples
    --------
    >>> round(factor(10, 6, coverage=0.90, confidence=0.95), 3)
    2.137
    """
    share = 1.0 - coverage

    def excess(k: float) -> float:
        return _confidence_of(k, n, j, share) - confidence

    return 1.0 if excess(1.0) >= 0.0 else rising_root(excess, 1.0, 2.0)


def _confidence_of(k: float, n: int, j: int, share: float) -> float:
    mean = j / (n + 1)
    width = math.sqrt(mean * (1.0 - mean) / (n + 2))
    edges = [mean + shift * width for shift in (-8.0, -4.0, -2.0, 0.0, 2.0, 4.0, 8.0)]
    edges += [share * (1.0 + step * k / j) for step in (0.5, 2.0, 8.0)]
    u, weight = panels([share, 1.0, *(edge for edge in edges if share < edge < 1.0)])
    log_beta = math.lgamma(j) + math.lgamma(n - j + 1) - math.lgamma(n + 1)
    log_density = (j - 1) * np.log(u) + (n - j) * np.log1p(-u) - log_beta
    missed = -np.expm1(np.log(share / u) / k)
    return 1.0 - float((weight * np.exp(log_density + (j - 1) * np.log(missed))).sum())
