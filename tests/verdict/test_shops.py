"""Simulated shops: their truths are what they are said to be, and the verdict on them is right often enough."""

from __future__ import annotations

import math

import numpy as np
import pytest

from jointlab.strength.values import Family
from jointlab.verdict.shops import (
    VOID_STRENGTH,
    Design,
    Truth,
    bounds_over_truth,
    break_chance_at,
    joint_cdf,
    shop_strengths,
    sound_cdf,
    sound_strengths,
    true_percentile,
    weibull_shape,
)

LEVEL = {"coverage": 0.95, "confidence": 0.95}


@pytest.mark.parametrize(("cov", "shape"), [(0.10, 12.15), (0.15, 7.91), (0.20, 5.80), (0.25, 4.54)])
def test_weibull_shapes_of_the_usual_spreads(cov, shape):
    # printed to three digits in the table of Weibull shapes by coefficient of variation (derived)
    assert weibull_shape(cov) == pytest.approx(shape, abs=0.006)


@pytest.mark.parametrize("family", list(Family))
def test_draws_and_distribution_function_agree_and_have_mean_one(family):
    truth = Truth(family, 0.25, 0.0)
    drawn = sound_strengths(truth, np.random.default_rng(1), (200_000,))
    assert drawn.mean() == pytest.approx(1.0, abs=0.003)
    assert drawn.std() == pytest.approx(0.25, abs=0.004)
    for share in (0.05, 0.5, 0.95):
        assert sound_cdf(truth, np.array([np.quantile(drawn, share)]))[0] == pytest.approx(share, abs=0.003)


@pytest.mark.parametrize("truth", [Truth(Family.WEIBULL, 0.25, 1.0, 0.1), Truth(Family.LOGNORMAL, 0.15, 0.5)])
def test_the_true_percentile_is_that_of_joints_of_new_glue_ups(truth):
    drawn = shop_strengths(truth, Design(1, 1), np.random.default_rng(2), 400_000).ravel()
    percentile = true_percentile(truth, 0.95)
    assert (drawn < percentile).mean() == pytest.approx(0.05, abs=0.0015)
    assert joint_cdf(truth, np.array([percentile]))[0] == pytest.approx(0.05, abs=1e-8)


def test_lognormal_percentile_in_closed_form():
    spread = math.sqrt(math.log1p(0.15**2))
    both = math.hypot(spread, 0.15)
    expected = math.exp(-(spread**2) / 2.0 - 1.6448536269514722 * both)
    assert true_percentile(Truth(Family.LOGNORMAL, 0.15, 1.0), 0.95) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("truth", [Truth(Family.NORMAL, 0.15, 1.0), Truth(Family.WEIBULL, 0.25, 0.5)])
def test_two_glue_ups_overstate_seldom(truth):
    found = bounds_over_truth(truth, Design(10, 2), shops=20_000, rng=np.random.default_rng(4), **LEVEL)
    assert (found > 1.0).mean() < 0.065
    assert found.mean() > 0.2


def test_a_rig_whose_limit_is_reached_gives_no_bound_and_a_coarse_reading_changes_little():
    truth = Truth(Family.NORMAL, 0.15, 0.0)
    capped = bounds_over_truth(truth, Design(10, 2, cap=0.9), shops=500, rng=np.random.default_rng(5), **LEVEL)
    assert (capped == 0.0).all()
    plain = bounds_over_truth(truth, Design(10, 2), shops=500, rng=np.random.default_rng(5), **LEVEL)
    coarse = bounds_over_truth(truth, Design(10, 2, resolution=0.01), shops=500, rng=np.random.default_rng(5), **LEVEL)
    assert coarse.mean() == pytest.approx(plain.mean(), abs=0.01)


def test_chance_of_a_break_of_two_lognormals_in_closed_form():
    # ln strength minus ln load is normal: mean and sd add up
    truth = Truth(Family.LOGNORMAL, 0.25, 1.0)
    joint = math.sqrt(math.log1p(0.25**2))
    load = math.sqrt(math.log1p(0.5**2))
    mean = -(joint**2) / 2.0 - (math.log(true_percentile(truth, 0.95) / 1.5) - 1.6448536269514722 * load)
    expected = 0.5 * math.erfc(mean / math.sqrt(2.0 * (joint**2 + 0.25**2 + load**2)))
    found = break_chance_at(truth, true_margin=1.5, coverage=0.95, catch_cov=0.5)
    assert found == pytest.approx(expected, rel=1e-6)


def test_a_break_is_likelier_with_less_margin_and_with_the_class_mistaken():
    truth = Truth(Family.WEIBULL, 0.15, 0.5)
    level = {"coverage": 0.95, "catch_cov": 0.3}
    wide, thin = (break_chance_at(truth, true_margin=margin, **level) for margin in (3.0, 1.5))
    assert wide < thin
    assert break_chance_at(truth, true_margin=3.0, class_mistaken=3.0, **level) > thin


@pytest.mark.parametrize("cov", [0.005, 0.002])
def test_nearly_identical_joints_have_a_shape_too(cov):
    # the spread of ln strength is pi / (sqrt 6 shape); to second order the strength's own is a little less:
    # cov^2 = pi^2 / (6 k^2) - 2 zeta(3) / k^3 + ..., from the cumulants of the Gumbel distribution
    shape = weibull_shape(cov)
    squared = math.pi**2 / (6.0 * shape**2) - 2.0 * 1.2020569031595942 / shape**3
    assert math.sqrt(squared) == pytest.approx(cov, rel=2e-4)


def test_where_every_joint_is_voided_all_are_as_much_weaker():
    sound, voided = Truth(Family.LOGNORMAL, 0.2, 0.5), Truth(Family.LOGNORMAL, 0.2, 0.5, 1.0)
    strength = np.array([0.1, 0.3, 0.6])
    assert joint_cdf(voided, strength) == pytest.approx(joint_cdf(sound, strength / VOID_STRENGTH), rel=1e-12)
    half = Truth(Family.LOGNORMAL, 0.2, 0.5, 0.5)
    mean = (joint_cdf(sound, strength) + joint_cdf(voided, strength)) / 2.0
    assert joint_cdf(half, strength) == pytest.approx(mean, rel=1e-12)
