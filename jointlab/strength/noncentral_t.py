"""Exact tolerance bounds of complete normal and lognormal samples, by the noncentral t distribution."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from jointlab.strength import normal
from jointlab.strength.quadrature import panels, rising_root

FloatArray = npt.NDArray[np.float64]

SOURCE = "meeker_hahn_escobar"


def noncentral_t_cdf(t: float, *, degrees: float, offset: float) -> float:
    """Probability that (Z + ``offset``) / sqrt(chi-square / ``degrees``) is at most ``t``.

    Integrated over s = sqrt(chi-square / degrees): P = E[Phi(t s - offset)]; the panels follow the two places where the
    integrand turns.
    """
    return _cdf(t, degrees, offset)


@lru_cache(maxsize=4096)
def noncentral_t_quantile(probability: float, *, degrees: float, offset: float) -> float:
    """Value the noncentral t stays below with this probability: t'(probability; degrees, offset)."""
    scale = 1.0 + abs(offset)
    return rising_root(lambda t: _cdf(t, degrees, offset) - probability, offset - scale, offset + scale)


def _cdf(t: float, degrees: float, offset: float) -> float:
    width = 1.0 / math.sqrt(2.0 * degrees)  # standard deviation of s, nearly
    end = 1.0 + 12.0 * width + (2.0 if degrees < 5 else 0.0)
    edges = [max(0.0, 1.0 - 12.0 * width), max(0.0, 1.0 - 4.0 * width), 1.0, 1.0 + 4.0 * width, end]
    if t != 0.0:
        turn, breadth = offset / t, 1.0 / abs(t)
        edges += [turn + shift * breadth for shift in (-9.0, -4.0, 0.0, 4.0, 9.0)]
    s, weight = panels([min(max(edge, edges[0]), end) for edge in edges])
    log_density = (
        math.log(2.0)
        + 0.5 * degrees * math.log(0.5 * degrees)
        - math.lgamma(0.5 * degrees)
        + (degrees - 1.0) * np.log(s)
        - 0.5 * degrees * s * s
    )
    return float((weight * np.exp(log_density) * normal.cdf(t * s - offset)).sum())


def one_sided_factor(n: int, *, coverage: float, confidence: float) -> float:
    """Factor k of the lower bound mean - k sd: k = t'(confidence; n - 1, z sqrt n) / sqrt n.

    With ``confidence`` replaced by its complement it gives the upper bound on the same percentile. Source key
    ``meeker_hahn_escobar``, section 4.6 and appendix E.

    Examples
    --------
    >>> round(one_sided_factor(10, coverage=0.95, confidence=0.95), 3)
    2.911
    """
    root = math.sqrt(n)
    offset = normal.quantile(coverage) * root
    return noncentral_t_quantile(confidence, degrees=n - 1, offset=offset) / root


def percentile_bound(values: FloatArray, *, coverage: float, confidence: float) -> float:
    """Bound on the (1 - coverage) percentile of a normal population from a complete sample of it, n >= 2.

    It lies below the percentile with probability ``confidence``, whatever mean and spread are. ``values`` may be logs.
    """
    centre = float(values.mean())
    spread = math.sqrt(float(((values - centre) ** 2).sum()) / (values.size - 1))
    return centre - one_sided_factor(values.size, coverage=coverage, confidence=confidence) * spread
