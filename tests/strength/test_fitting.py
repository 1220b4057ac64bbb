import math

import mpmath
import numpy as np
import pytest

from jointlab.strength import Family, StrengthSample, fit
from jointlab.strength.likelihood import Ill

DISTRIBUTIONS = {
    Family.NORMAL: lambda p: lambda x: mpmath.ncdf((x - p["mean_mpa"]) / p["sd_mpa"]),
    Family.LOGNORMAL: lambda p: lambda x: mpmath.ncdf((mpmath.log(x) - p["log_mean"]) / p["log_sd"]),
    Family.WEIBULL: lambda p: lambda x: 1 - mpmath.exp(-((x / p["scale_mpa"]) ** p["shape"])),
    Family.GUMBEL_MIN: lambda p: lambda x: 1 - mpmath.exp(-mpmath.exp((x - p["location_mpa"]) / p["scale_mpa"])),
}
MIXED = StrengthSample.of_intervals(
    [3.0, 4.25, 3.5, 2.5, 4.0, 0.0, 5.0, 3.0], [3.0, 4.25, 4.0, 3.0, math.inf, 1.5, math.inf, 3.0]
)


def log_likelihood(sample: StrengthSample, family: Family, parameters: dict[str, float]) -> mpmath.mpf:
    """Straight from the definition of censoring, with forty digits."""
    with mpmath.workdps(40):
        cdf = DISTRIBUTIONS[family]({name: mpmath.mpf(value) for name, value in parameters.items()})
        total = mpmath.mpf(0)
        for low, high in zip(sample.lower_mpa.tolist(), sample.upper_mpa.tolist(), strict=True):
            if low == high:
                total += mpmath.log(mpmath.diff(cdf, mpmath.mpf(low)))
                continue
            below = cdf(mpmath.mpf(low)) if low > 0 else 0
            total += mpmath.log((1 if math.isinf(high) else cdf(mpmath.mpf(high))) - below)
        return total


@pytest.mark.parametrize("family", Family)
def test_the_likelihood_of_mixed_censoring_is_that_of_its_definition(family: Family) -> None:
    got = fit(MIXED, family=family)
    assert got.log_likelihood == pytest.approx(float(log_likelihood(MIXED, family, dict(got.parameters))), abs=1e-10)


@pytest.mark.parametrize("family", Family)
def test_no_neighbour_of_a_fit_is_more_likely(family: Family) -> None:
    got = fit(MIXED, family=family)
    best = log_likelihood(MIXED, family, dict(got.parameters))
    for name, value in got.parameters:
        for factor in (1 - 1e-4, 1 + 1e-4):
            assert log_likelihood(MIXED, family, dict(got.parameters) | {name: value * factor}) < best


def test_a_complete_normal_sample_has_its_mean_and_root_mean_square() -> None:
    named = dict(fit(StrengthSample.of_values([1.0, 2.0, 3.0, 6.0]), family=Family.NORMAL).parameters)
    assert named == {"mean_mpa": 3.0, "sd_mpa": pytest.approx(math.sqrt(14 / 4), rel=1e-15)}


def test_ties_count_as_often_as_they_occur() -> None:
    sample = StrengthSample.of_values([2.0, 2.0, 2.0, 3.0, 5.0])
    named = dict(fit(sample, family=Family.WEIBULL).parameters)
    shape = named["shape"]
    powers = [2.0**shape] * 3 + [3.0**shape, 5.0**shape]
    assert named["scale_mpa"] == pytest.approx((sum(powers) / 5) ** (1 / shape), rel=1e-12)


def test_aicc_needs_more_pulls_than_parameters_and_one() -> None:
    assert fit(StrengthSample.of_values([1.0, 2.0, 3.0]), family=Family.NORMAL).aicc is None
    four = fit(StrengthSample.of_values([1.0, 2.0, 3.0, 4.0]), family=Family.NORMAL)
    assert four.log_likelihood is not None
    assert four.aicc == pytest.approx(4 - 2 * four.log_likelihood + 12)


ILL = {
    "nothing at all": ([], [], Ill.NO_BREAK),
    "all held": ([3.0, 4.0], [math.inf, math.inf], Ill.NO_BREAK),
    "all handled": ([0.0, 0.0], [1.0, 2.0], Ill.ALL_HANDLED),
    "one value": ([3.0, 3.0], [3.0, 3.0], Ill.IDENTICAL),
    "one break above every held load": ([3.0, 2.0, 1.0], [3.0, math.inf, math.inf], Ill.IDENTICAL),
    "one step": ([3.0, 3.0, 2.0], [4.0, 4.0, math.inf], Ill.ONE_STEP),
    "two adjacent steps": ([3.0, 4.0, 4.0], [4.0, 5.0, 5.0], Ill.TWO_STEPS),
    "overlapping steps": ([3.0, 3.5], [4.0, 5.0], Ill.NO_SPREAD),
    "handled below a load that every other held": ([0.0, 3.0, 3.0], [1.0, math.inf, math.inf], Ill.ENDLESS_SPREAD),
}


@pytest.mark.parametrize("family", Family)
@pytest.mark.parametrize("case", ILL)
def test_a_sample_without_maximum_says_why(family: Family, case: str) -> None:
    lower, upper, why = ILL[case]
    got = fit(StrengthSample.of_intervals(lower, upper), family=family)
    assert got.ill == why
    assert got.parameters == ()
    assert got.log_likelihood is None
    assert got.aicc is None


def test_steps_that_meet_but_for_the_last_digit_of_a_float_are_adjacent() -> None:
    sample = StrengthSample.of_intervals([0.1 + 0.2, 0.2], [0.4, 0.3])
    assert fit(sample, family=Family.WEIBULL).ill == Ill.TWO_STEPS


def test_one_break_below_a_load_held_is_enough_for_a_fit() -> None:
    got = fit(StrengthSample.of_intervals([3.0, 4.0], [3.0, math.inf]), family=Family.WEIBULL)
    named = dict(got.parameters)
    # Slope in scale zero: scale^c = 3^c + 4^c; in shape: 1/c + ln 3 = (3^c ln 3 + 4^c ln 4) / (3^c + 4^c).
    c = named["shape"]
    assert named["scale_mpa"] ** c == pytest.approx(3**c + 4**c, rel=1e-12)
    middle = (3**c * math.log(3) + 4**c * math.log(4)) / (3**c + 4**c)
    assert 1 / c + math.log(3) == pytest.approx(middle, rel=1e-12)


def test_an_interval_too_narrow_for_a_float_is_exact() -> None:
    narrow = StrengthSample.of_intervals([2.0, 3.0, 4.0], [2.0 * (1 + 1e-12), 3.0, 4.0])
    exact = StrengthSample.of_values([2.0, 3.0, 4.0])
    for family in Family:
        assert dict(fit(narrow, family=family).parameters) == pytest.approx(
            dict(fit(exact, family=family).parameters), rel=1e-9
        )


@pytest.mark.parametrize("family", Family)
def test_narrow_steps_give_nearly_the_fit_of_exact_values(family: Family) -> None:
    values = np.array([2.0, 3.0, 3.7, 4.0, 4.4])
    exact = dict(fit(StrengthSample.of_values(values), family=family).parameters)
    for width in (1e-3, 1e-5, 1e-8):
        steps = StrengthSample.of_intervals(values - width / 2, values + width / 2)
        tolerance = max(width**2, 1e-9)
        assert dict(fit(steps, family=family).parameters) == pytest.approx(exact, rel=tolerance)


def test_a_zero_reading_lies_below_the_rigs_step_and_has_no_logarithm_without_one() -> None:
    values = np.array([0.0, 2.0, 3.0])
    bare = StrengthSample.of_values(values)
    assert fit(bare, family=Family.WEIBULL).ill == Ill.ZERO_STRENGTH
    rig = StrengthSample(
        lower_mpa=values.copy(),
        upper_mpa=values.copy(),
        batch=bare.batch,
        batch_names=bare.batch_names,
        cap_mpa=bare.cap_mpa,
        load_step_mpa=np.full(3, 0.25),
        handled=bare.handled,
    )
    left = StrengthSample.of_intervals([0.0, 2.0, 3.0], [0.25, 2.0, 3.0])
    assert fit(rig, family=Family.WEIBULL).parameters == fit(left, family=Family.WEIBULL).parameters
