"""A strength that lies too far from the others of its sample: named, never dropped."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jointlab.strength.noncentral_t import noncentral_t_quantile
from jointlab.strength.sample import StrengthSample

SOURCE = "grubbs"

DOUBT = 0.05
"""Share of samples without a stranger in which one is named all the same (source key judgement)."""


@dataclass(frozen=True, slots=True)
class Outlier:
    """The strength furthest out [MPa], its distance in standard deviations, and the distance that is too far."""

    strength_mpa: float
    residual: float
    limit: float


def outlier_of(sample: StrengthSample) -> Outlier | None:
    """The exact strength whose normed residual on the scale of ln strength is too large; None where none is.

    Pulls that held and load steps are passed over: they have no one place.
    """
    strengths = sample.lower_mpa[sample.exact & (sample.lower_mpa > 0.0)]
    if strengths.size < 3 or float(np.ptp(strengths)) == 0.0:
        return None
    away = np.abs(np.log(strengths) - np.log(strengths).mean()) / np.log(strengths).std(ddof=1)
    place, limit = int(away.argmax()), critical_residual(strengths.size)
    if away[place] <= limit:
        return None
    return Outlier(float(strengths[place]), float(away[place]), limit)


def critical_residual(n: int, *, doubt: float = DOUBT) -> float:
    """Maximum normed residual that n normal values exceed with chance ``doubt``, n >= 3 (source key ``grubbs``).

    (n - 1) / sqrt n sqrt(t^2 / (n - 2 + t^2)), t exceeded with chance doubt / (2 n) at n - 2 degrees of freedom.

    Examples
    --------
    >>> round(critical_residual(10), 3)
    2.29
    """
    t = noncentral_t_quantile(1.0 - doubt / (2.0 * n), degrees=n - 2, offset=0.0)
    return (n - 1.0) / math.sqrt(n) * math.sqrt(t * t / (n - 2.0 + t * t))
