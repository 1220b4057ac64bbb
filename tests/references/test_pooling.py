"""Random-effects means against the published analysis of the BCG vaccine trials; the data lies in data/bcg.csv."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from jointlab.compare.random_effects import Between, heterogeneity_of, random_effects

FILE = Path(__file__).parent / "data" / "bcg.csv"


@pytest.fixture(scope="module")
def trials() -> tuple[np.ndarray, np.ndarray]:
    with FILE.open(newline="", encoding="utf-8") as file:
        rows = [{name: float(row[name]) for name in ("tpos", "tneg", "cpos", "cneg")} for row in csv.DictReader(file)]
    counts = np.array([list(row.values()) for row in rows])
    tpos, tneg, cpos, cneg = counts.T
    # log risk ratio and its variance, from the counts themselves
    effect = np.log(tpos / (tpos + tneg)) - np.log(cpos / (cpos + cneg))
    return effect, 1 / tpos - 1 / (tpos + tneg) + 1 / cpos - 1 / (cpos + cneg)


def test_the_heterogeneity_of_the_bcg_trials_is_as_published(trials) -> None:
    # Colditz et al. (1994), 13 trials, as analysed in the metafor handbook: fixed -.4303, Q 152.2330 on 12 degrees of
    # freedom, I2 92.12 % by moments (four and two decimals).
    got = heterogeneity_of(*trials)
    assert trials[0].size == 13
    assert got.fixed_mean == pytest.approx(-0.4303, abs=5e-5)
    assert got.q == pytest.approx(152.2330, abs=5e-5)
    assert got.i2 == pytest.approx(0.9212, abs=5e-5)
    assert got.p_value < 1e-20


def test_the_moment_estimate_of_the_bcg_trials_is_as_published(trials) -> None:
    # DerSimonian-Laird -.7141 (-1.0644, -.3638) by the normal interval, tau2 .3088 (four decimals).
    got = random_effects(*trials, between=Between.DERSIMONIAN_LAIRD)
    assert got.mean == pytest.approx(-0.7141, abs=5e-5)
    assert got.tau2 == pytest.approx(0.3088, abs=5e-5)
    assert got.mean - 1.959964 * got.standard_error == pytest.approx(-1.0644, abs=5e-5)
    assert got.mean + 1.959964 * got.standard_error == pytest.approx(-0.3638, abs=5e-5)


def test_the_restricted_likelihood_of_the_bcg_trials_is_as_published(trials) -> None:
    # REML -.7145 (four decimals); tau2 .3132, from memory.
    got = random_effects(*trials, between=Between.REML)
    assert got.mean == pytest.approx(-0.7145, abs=5e-5)
    assert got.tau2 == pytest.approx(0.3132, abs=1e-4)


def test_iterated_moments_solve_their_own_equation(trials) -> None:
    # Paule and Mandel (1982): the weighted sum of squares about the mean equals its degrees of freedom.
    effect, variance = trials
    got = random_effects(effect, variance, between=Between.PAULE_MANDEL)
    weight = 1.0 / (variance + got.tau2)
    mean = (weight * effect).sum() / weight.sum()
    assert (weight * (effect - mean) ** 2).sum() == pytest.approx(12.0, rel=1e-5)
    assert got.mean == pytest.approx(mean, rel=1e-12)


def test_the_interval_is_that_of_hartung_and_knapp(trials) -> None:
    # t(.975, 12) = 2.178813 (tables); the spread about the mean is above 1 here, so it is not held at the normal one.
    effect, variance = trials
    got = random_effects(effect, variance, between=Between.DERSIMONIAN_LAIRD)
    weight = 1.0 / (variance + got.tau2)
    spread2 = (weight * (effect - got.mean) ** 2).sum() / 12.0
    assert spread2 > 1.0
    half = 2.178813 * math.sqrt(spread2 / weight.sum())
    assert (got.lower, got.upper) == pytest.approx((got.mean - half, got.mean + half), rel=1e-6)
