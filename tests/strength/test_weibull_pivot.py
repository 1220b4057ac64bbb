import math

import numpy as np
import pytest

from jointlab.strength import Family, StrengthSample
from jointlab.strength.weibull_pivot import applies_to, weibull_bound


def stopped_at(values: list[float], broke: int) -> StrengthSample:
    """The test ends at the break of that number: the rest held its load."""
    values = sorted(values)
    stop = values[broke - 1]
    return StrengthSample.of_intervals(
        [min(value, stop) for value in values],
        [value if rank < broke else math.inf for rank, value in enumerate(values)],
    )


def test_it_applies_to_complete_pulls_and_to_those_stopped_at_a_break_alone() -> None:
    assert applies_to(StrengthSample.of_values([2.0, 3.0]))
    assert applies_to(stopped_at([2.0, 3.0, 4.0, 5.0], 2))
    assert not applies_to(StrengthSample.of_values([2.0, 2.0]))
    assert not applies_to(StrengthSample.of_intervals([2.0, 3.0, 3.5], [2.0, 3.0, math.inf]))
    assert not applies_to(StrengthSample.of_intervals([2.0, 3.0, 3.5], [2.0, 3.0, 4.0]))
    assert not applies_to(StrengthSample.of_values([0.0, 2.0, 3.0]))


def test_two_strengths_have_the_bound_of_a_double_integral() -> None:
    # Straight from the definition: the chance, over mu and a with density da dmu / a^0 ... L(mu, a) / a, that
    # mu + w/a lies above the bound, summed on a fine grid (three digits).
    x = np.log([2.0, 3.0])
    bound = math.log(
        weibull_bound(StrengthSample.of_values([2.0, 3.0]), family=Family.WEIBULL, coverage=0.9, confidence=0.7)
    )
    log_a = np.linspace(-6, 5, 701)[:, None]
    mu = np.linspace(-160, 60, 2201)[None, :]
    a = np.exp(log_a)
    log_likelihood = 2 * log_a + sum(a * (v - mu) - np.exp(np.minimum(a * (v - mu), 50)) for v in x)
    density = np.exp(log_likelihood)
    above = mu + math.log(-math.log(0.9)) / a >= bound
    assert (density * above).sum() / density.sum() == pytest.approx(0.7, abs=5e-3)


@pytest.mark.parametrize("broke", [6, 4])
def test_it_covers_as_often_as_it_says(broke: int) -> None:
    rng, truth, runs = np.random.default_rng(21), -math.log(0.9), 400
    missed = np.zeros(2)
    for _ in range(runs):
        sample = stopped_at(rng.exponential(size=6).tolist(), broke)
        for which, confidence in enumerate((0.9, 0.1)):
            bound = weibull_bound(sample, family=Family.WEIBULL, coverage=0.9, confidence=confidence)
            missed[which] += (bound > truth) if which == 0 else (bound < truth)
    assert missed / runs == pytest.approx([0.1, 0.1], abs=0.045)  # three standard errors


def test_the_smallest_extreme_value_bound_is_the_weibull_bound_of_the_exponentials() -> None:
    values = [1.0, 1.3, 1.9, 2.2]
    straight = weibull_bound(StrengthSample.of_values(values), family=Family.GUMBEL_MIN, coverage=0.95, confidence=0.95)
    exponentials = StrengthSample.of_values(np.exp(values))
    assert math.log(
        weibull_bound(exponentials, family=Family.WEIBULL, coverage=0.95, confidence=0.95)
    ) == pytest.approx(straight, rel=1e-10)


@pytest.mark.parametrize("confidence", [0.05, 0.95])
def test_many_breaks_give_the_bound_that_is_summed_by_hand(monkeypatch, confidence) -> None:
    strengths = 4.0 * np.random.default_rng(3).weibull(6.0, 90)
    sample = StrengthSample.of_values(strengths.tolist())
    asked = {"family": Family.WEIBULL, "coverage": 0.95, "confidence": confidence}
    by_library = weibull_bound(sample, **asked)
    monkeypatch.setattr("jointlab.strength.weibull_pivot.MOST_SUMMED", 90)
    assert by_library == pytest.approx(weibull_bound(sample, **asked), rel=1e-10)
