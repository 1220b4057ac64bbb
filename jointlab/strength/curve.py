"""The fitted share of joints weaker than a stress."""

from __future__ import annotations

import numpy as np

from jointlab.strength.normal import cdf
from jointlab.strength.sample import FloatArray
from jointlab.strength.values import Family, StrengthFit


def weaker_share(fit: StrengthFit, *, stress_mpa: FloatArray) -> FloatArray:
    """Share of joints weaker than each stress, by a fitted family; same shape as ``stress_mpa`` [MPa].

    Parameters
    ----------
    stress_mpa
        Positive stresses [MPa].

    Raises
    ------
    ValueError
        The fit has no parameters: its ``ill`` says why.
    """
    if not fit.parameters:
        raise ValueError(f"the {fit.family} fit has no parameters: {fit.ill}")
    first, second = (value for _, value in fit.parameters)
    match fit.family:
        case Family.NORMAL:
            return cdf((stress_mpa - first) / second)
        case Family.LOGNORMAL:
            return cdf((np.log(stress_mpa) - first) / second)
        case Family.WEIBULL:
            return -np.expm1(-((stress_mpa / second) ** first))
        case Family.GUMBEL_MIN:
            return -np.expm1(-np.exp((stress_mpa - first) / second))
