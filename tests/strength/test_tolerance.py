import math

import numpy as np
import pytest

from jointlab.strength import Family, LowerBound, Method, StrengthSample, lower_bound
from jointlab.strength.tolerance import every_bound

ORDER = [
    (Method.NONCENTRAL_T, Family.NORMAL),
    (Method.NONCENTRAL_T, Family.LOGNORMAL),
    (Method.WEIBULL_PIVOT, Family.WEIBULL),
    (Method.WEIBULL_PIVOT, Family.GUMBEL_MIN),
    *((Method.LIKELIHOOD_RATIO, family) for family in Family),
    (Method.HANSON_KOOPMANS, None),
    (Method.KNOWN_RATIO, None),
    (Method.ORDER_STATISTIC, None),
    (Method.SUCCESS_RUN, None),
    (Method.WORKING, None),
]


def bounds_of(sample: StrengthSample) -> dict[tuple[Method, Family | None], LowerBound]:
    working = lower_bound(sample, replicates=60)
    lines = every_bound(sample, working, coverage=0.95, confidence=0.95, replicates=60)
    return {(line.method, line.family): line for line in lines}


SAMPLES = {
    "complete": StrengthSample.of_values([3.1, 4.0, 4.4, 5.2]),
    "held": StrengthSample.of_intervals([3.0, 4.0, 5.0], [3.0, 4.0, math.inf]),
    "identical": StrengthSample.of_values([3.0, 3.0, 3.0]),
    "one": StrengthSample.of_values([3.0]),
    "none": StrengthSample.of_values([]),
}


@pytest.mark.parametrize("sample", SAMPLES.values(), ids=SAMPLES)
def test_every_method_is_listed_and_one_without_bound_says_why(sample: StrengthSample) -> None:
    bounds = bounds_of(sample)
    assert list(bounds) == ORDER
    for bound in bounds.values():
        assert (bound.bound_mpa is None) == (bound.why_none is not None)


def test_a_complete_sample_has_the_noncentral_t_bounds_of_mean_and_spread() -> None:
    bounds = bounds_of(SAMPLES["complete"])
    # k 95/95 of n = 4 is 5.1439 (computed table, four decimals).
    values = np.array([3.1, 4.0, 4.4, 5.2])
    normal = values.mean() - 5.1439 * values.std(ddof=1)
    lognormal = math.exp(np.log(values).mean() - 5.1439 * np.log(values).std(ddof=1))
    assert bounds[Method.NONCENTRAL_T, Family.NORMAL].bound_mpa == pytest.approx(normal, abs=1e-4)
    assert bounds[Method.NONCENTRAL_T, Family.LOGNORMAL].bound_mpa == pytest.approx(lognormal, abs=1e-4)


def test_identical_strengths_have_no_bound_that_lives_on_their_spread() -> None:
    bounds = bounds_of(SAMPLES["identical"])
    assert bounds[Method.NONCENTRAL_T, Family.NORMAL].bound_mpa is None
    assert bounds[Method.NONCENTRAL_T, Family.LOGNORMAL].bound_mpa is None


def test_sixty_held_pulls_are_a_success_run() -> None:
    sample = StrengthSample.of_intervals([5.0] * 60, [math.inf] * 60)
    bounds = bounds_of(sample)
    assert bounds[Method.SUCCESS_RUN, None].bound_mpa == 5.0
    assert bounds[Method.ORDER_STATISTIC, None].bound_mpa == 5.0
    assert bounds[Method.WORKING, None].bound_mpa is None


def test_a_joint_of_no_strength_leaves_logarithms_without_a_bound_and_plain_strengths_with_one() -> None:
    lines = bounds_of(StrengthSample.of_values([0.0, 4.0, 4.4, 5.2, 4.9]))
    assert lines[Method.NONCENTRAL_T, Family.LOGNORMAL].bound_mpa is None
    # by hand: mean 3.7, deviation 2.11896; k for n 5 at 95/95 is 4.203 (ISO 16269-6, one-sided, sigma unknown)
    assert lines[Method.NONCENTRAL_T, Family.NORMAL].bound_mpa == pytest.approx(3.7 - 4.203 * 2.11896, abs=2e-3)
