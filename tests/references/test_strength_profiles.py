"""Profile likelihood intervals against published and computed numbers; data files lie in data/."""

import csv
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy import optimize

from jointlab.strength import Family, StrengthSample, fit
from jointlab.strength.fitting import kernel_of
from jointlab.strength.likelihood import Likelihood, Samples

DATA = Path(__file__).parent / "data"
HALF_CHI_SQUARE = 1.920729410347062  # half the 95 % quantile of chi-square with one degree of freedom


def rows_of(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def profile_interval(
    sample: StrengthSample, family: Family, profiled: Callable[[float, float], tuple[float, float]], start: float
) -> tuple[float, float]:
    """Ends of the 95 % interval of one parameter: ``profiled`` maps it and another to location and scale."""
    with np.errstate(divide="ignore"):
        lower, upper = np.log(sample.lower_mpa), np.log(sample.upper_mpa)
    likelihood = Likelihood.of(Samples(lower[None], upper[None], np.ones((1, sample.n))), kernel_of(family))

    def height(location: float, scale: float) -> float:
        return float(likelihood.sums(np.array([1.0 / scale]), np.array([location / scale])).log[0])

    best = fit(sample, family=family)
    named = dict(best.parameters)
    if family is Family.WEIBULL:
        location, scale = math.log(named["scale_mpa"]), 1.0 / named["shape"]
    else:
        location, scale = named["log_mean"], named["log_sd"]
    top = height(location, scale)

    def short(value: float) -> float:
        found = optimize.minimize_scalar(
            lambda other: -height(*profiled(value, other)), bracket=(start, start + 0.1), tol=1e-12
        )
        return -float(found.fun) - top + HALF_CHI_SQUARE

    value = {True: scale, False: location}[profiled(1.0, 2.0)[1] == 1.0]
    reach = 3.0 * scale
    low = value / 4.0 if profiled(1.0, 2.0)[1] == 1.0 else value - reach
    high = value * 5.0 if profiled(1.0, 2.0)[1] == 1.0 else value + reach
    return float(optimize.brentq(short, low, value)), float(optimize.brentq(short, value, high))


def scale_first(value: float, other: float) -> tuple[float, float]:
    return other, value


def location_first(value: float, other: float) -> tuple[float, float]:
    return value, math.exp(other)


def test_the_intervals_of_the_nist_units_are_the_computed_ones() -> None:
    # NIST/SEMATECH e-Handbook 8.4.1.3 data; computed reference: shape (.90565, 2.88574), scale (437.557, 1118.878).
    rows = rows_of("nist_8413_weibull_censored.csv")
    hours = [float(row["hours"]) for row in rows for _ in range(int(row["count"]))]
    failed = [row["status"] == "fail" for row in rows for _ in range(int(row["count"]))]
    sample = StrengthSample.of_intervals(hours, [h if f else math.inf for h, f in zip(hours, failed, strict=True)])
    low, high = profile_interval(sample, Family.WEIBULL, scale_first, start=6.4)
    assert (1.0 / high, 1.0 / low) == pytest.approx((0.90565, 2.88574), abs=6e-6)
    low, high = profile_interval(sample, Family.WEIBULL, location_first, start=-0.5)
    assert (math.exp(low), math.exp(high)) == pytest.approx((437.557, 1118.878), abs=6e-4)


def test_the_interval_of_the_epa_manganese_mean_is_the_guidances() -> None:
    # EPA 530/R-09-007 (2009), Example 15-1: profile 95 % interval of meanlog (1.595062, 2.771197), six decimals.
    rows = rows_of("epa_manganese_leftcens.csv")
    upper = [float(row["ppb"]) for row in rows]
    lower = [0.0 if row["left_censored"] == "1" else float(row["ppb"]) for row in rows]
    got = profile_interval(StrengthSample.of_intervals(lower, upper), Family.LOGNORMAL, location_first, start=0.3)
    assert got == pytest.approx((1.595062, 2.771197), abs=2e-6)


def test_the_intervals_of_the_ball_bearings_are_the_computed_ones() -> None:
    # Lieblein and Zelen (1956), n 23; computed reference: shape (1.50399, 2.79127), scale (65.6946, 100.8729).
    sample = StrengthSample.of_values([float(row["megacycles"]) for row in rows_of("lieblein_zelen.csv")])
    low, high = profile_interval(sample, Family.WEIBULL, scale_first, start=4.4)
    assert (1.0 / high, 1.0 / low) == pytest.approx((1.50399, 2.79127), abs=6e-6)
    low, high = profile_interval(sample, Family.WEIBULL, location_first, start=-0.7)
    assert (math.exp(low), math.exp(high)) == pytest.approx((65.6946, 100.8729), abs=6e-5)
