"""Fitted distribution functions against scipy.stats, a general library."""

import numpy as np
import pytest
from scipy import stats

from jointlab.strength.curve import weaker_share
from jointlab.strength.values import Family, StrengthFit

STRESS_MPA = np.array([0.5, 1.0, 2.0, 4.0])


@pytest.mark.parametrize(
    ("family", "parameters", "expected"),
    [
        (Family.NORMAL, (2.0, 0.5), stats.norm(2.0, 0.5)),
        (Family.LOGNORMAL, (0.6, 0.2), stats.lognorm(0.2, scale=np.exp(0.6))),
        (Family.WEIBULL, (6.0, 2.2), stats.weibull_min(6.0, scale=2.2)),
        (Family.GUMBEL_MIN, (2.0, 0.4), stats.gumbel_l(2.0, 0.4)),
    ],
)
def test_each_family_agrees_with_a_general_library(family, parameters, expected):
    fit = StrengthFit(family, (("first", parameters[0]), ("second", parameters[1])), None, None)
    assert weaker_share(fit, stress_mpa=STRESS_MPA) == pytest.approx(expected.cdf(STRESS_MPA), rel=1e-11)


def test_a_fit_without_parameters_draws_nothing():
    with pytest.raises(ValueError, match="no break"):
        weaker_share(StrengthFit(Family.NORMAL, (), None, None, ill="no break"), stress_mpa=STRESS_MPA)
