"""The chance that a joint of one combination is stronger than a joint of another, from two fitted families."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from jointlab.strength.curve import weaker_share
from jointlab.strength.normal import cdf
from jointlab.strength.values import Family, StrengthFit

FloatArray = npt.NDArray[np.float64]

SOURCE = "interference"

_POINTS = 4001
_NEAREST = 1e-10  # share of the stronger's joints left out at each end


def chance_stronger(stronger: StrengthFit, weaker: StrengthFit) -> float:
    """Chance that a joint drawn from the first fit is stronger than one drawn from the second.

    Closed form for two normals, two lognormals, and two Weibulls of one shape (eS^b / (eS^b + eL^b)); otherwise the
    share of the second that is weaker, averaged over the first. Source key ``interference``.

    Raises
    ------
    ValueError
        One of the fits has no parameters.
    """
    if not (stronger.parameters and weaker.parameters):
        raise ValueError("a fit without parameters gives no chance")
    (first, second), (third, fourth) = ([value for _, value in fit.parameters] for fit in (stronger, weaker))
    if stronger.family is weaker.family and stronger.family in (Family.NORMAL, Family.LOGNORMAL):
        return float(cdf(np.array([(first - third) / math.hypot(second, fourth)]))[0])
    if stronger.family is weaker.family is Family.WEIBULL and math.isclose(first, third, rel_tol=1e-12):
        return 1.0 / (1.0 + math.exp(first * (math.log(fourth) - math.log(second))))
    share = np.linspace(_NEAREST, 1.0 - _NEAREST, _POINTS)
    stress = _strength_at(stronger, share)
    below = np.where(stress > 0.0, weaker_share(weaker, stress_mpa=np.maximum(stress, 1e-300)), 0.0)
    return float(np.trapezoid(below, share))


def _strength_at(fit: StrengthFit, share: FloatArray) -> FloatArray:
    from scipy.special import ndtri

    first, second = (value for _, value in fit.parameters)
    match fit.family:
        case Family.NORMAL:
            return np.asarray(first + second * ndtri(share))
        case Family.LOGNORMAL:
            return np.asarray(np.exp(first + second * ndtri(share)))
        case Family.WEIBULL:
            return second * (-np.log1p(-share)) ** (1.0 / first)
        case Family.GUMBEL_MIN:
            return first + second * np.log(-np.log1p(-share))
