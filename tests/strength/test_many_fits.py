"""Many fits in one pass give the numbers of one fit at a time."""

import numpy as np
import pytest

from jointlab.strength.fitting import fit
from jointlab.strength.many_fits import fits
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family


def _samples():
    rng = np.random.default_rng(20261125)
    for number in range(60):
        n = int(rng.integers(2, 13))
        strength = np.round(rng.weibull(5.0, n) * 4.0, int(rng.integers(1, 4)))
        match number % 5:
            case 0 | 1:
                yield StrengthSample.of_values(strength)
            case 2:
                cap = float(np.median(strength))
                yield StrengthSample.of_intervals(
                    np.minimum(strength, cap), np.where(strength >= cap, np.inf, strength)
                )
            case 3:
                yield StrengthSample.of_intervals(np.floor(strength), np.floor(strength) + 1.0)
            case 4:
                yield StrengthSample.of_intervals([0.0, *strength[1:]], [2.0, *strength[1:]])


ODD = (
    StrengthSample.of_values([]),
    StrengthSample.of_values([3.0]),
    StrengthSample.of_values([3.0, 3.0, 3.0]),
    StrengthSample.of_values([0.0, 3.0, 4.0]),
    StrengthSample.of_intervals([3.0, 4.0, 5.0], [np.inf] * 3),
)


@pytest.mark.parametrize("family", Family)
def test_each_is_the_fit_of_its_sample_alone(family):
    samples = [*_samples(), *ODD]
    together = fits(samples, family=family)
    assert len(together) == len(samples)
    for sample, found in zip(samples, together, strict=True):
        alone = fit(sample, family=family)
        assert found.ill == alone.ill
        assert [name for name, _ in found.parameters] == [name for name, _ in alone.parameters]
        # relative 1e-7: the search ends where the height is known to 1e-13, its place to the root of that
        assert [value for _, value in found.parameters] == pytest.approx(
            [value for _, value in alone.parameters], rel=1e-7, abs=1e-9
        )
        for one, other in ((found.log_likelihood, alone.log_likelihood), (found.aicc, alone.aicc)):
            assert (one is None) == (other is None)
            assert one is None or one == pytest.approx(other, rel=1e-10, abs=1e-10)


def test_the_order_of_pulls_and_the_company_of_others_change_no_digit():
    strength = [4.1, 3.2, 5.0, 4.4]
    (alone,) = fits([StrengthSample.of_values(strength)], family=Family.WEIBULL)
    others = [StrengthSample.of_values([1.0, 2.0, 2.5, 9.0]), StrengthSample.of_values([1.0, 2.0])]
    among = fits([others[0], StrengthSample.of_values(strength[::-1]), others[1]], family=Family.WEIBULL)
    assert among[1] == alone


def test_no_samples_have_no_fits():
    assert fits([], family=Family.NORMAL) == ()
