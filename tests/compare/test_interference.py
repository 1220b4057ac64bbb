"""The chance to be stronger, for families mixed and alike."""

import pytest

from jointlab.compare.interference import chance_stronger
from jointlab.strength import Family, StrengthSample, fit
from jointlab.strength.values import StrengthFit

STRONG = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2, 4.1])
WEAK = StrengthSample.of_values([2.1, 3.0, 3.4, 2.2, 3.1])


@pytest.mark.parametrize("family", list(Family))
@pytest.mark.parametrize("other", list(Family))
def test_the_two_chances_of_a_pair_add_to_one(family: Family, other: Family) -> None:
    one, two = fit(STRONG, family=family), fit(WEAK, family=other)
    assert chance_stronger(one, two) + chance_stronger(two, one) == pytest.approx(1.0, abs=2e-4)
    assert chance_stronger(one, two) > 0.8


def test_like_against_like_is_even() -> None:
    one = fit(STRONG, family=Family.GUMBEL_MIN)
    assert chance_stronger(one, one) == pytest.approx(0.5, abs=1e-4)


def test_a_fit_without_parameters_gives_no_chance() -> None:
    empty = StrengthFit(Family.NORMAL, (), None, None, ill="no pull broke")
    with pytest.raises(ValueError, match="without parameters"):
        chance_stronger(empty, fit(WEAK, family=Family.NORMAL))
