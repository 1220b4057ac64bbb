"""Homogeneity: share of glue-ups, outliers flagged, a control that drifts."""

import math

import numpy as np
import pytest

from jointlab.compare.homogeneity import batch_share, drift_of, homogeneity_of, outlier_of
from jointlab.record.finding import FindingCode
from jointlab.strength import StrengthSample


def test_an_outlier_is_flagged_and_kept(sample_of) -> None:
    part = sample_of("maple", [4.0, 4.1, 3.9, 4.05, 3.95, 1.0])
    got = homogeneity_of([part, sample_of("mdf", [1.0, 1.2, 1.1])])
    assert [(name, outlier.place) for name, outlier in got.outliers] == [("yellow on maple", 5)]
    assert [finding.code for finding in got.findings] == [FindingCode.OUTLIER]
    assert "without one it stays" in got.findings[0].text
    assert [test.name for test in got.spreads] == ["Levene (median)", "Bartlett"]


def test_an_outlier_is_seen_once_in_twenty_clean_samples() -> None:
    rng = np.random.default_rng(23)
    flagged = np.mean([outlier_of(np.exp(0.2 * rng.standard_normal(8))) is not None for _ in range(2000)])
    assert flagged == pytest.approx(0.05, abs=0.012)


def test_glue_ups_that_differ_take_their_share_of_the_variance(sample_of) -> None:
    rng = np.random.default_rng(24)
    names = [f"day {k // 5}" for k in range(40)]
    shift = np.repeat(0.3 * rng.standard_normal(8), 5)
    strengths = np.exp(shift + 0.1 * rng.standard_normal(40))
    got = batch_share([sample_of("maple", list(strengths), glue_ups=names)], confidence=0.95)
    assert got.p_value < 0.001
    assert got.share.lower < 0.9 < got.share.upper
    assert got.share.value == pytest.approx(got.ratio.value**2 / (1 + got.ratio.value**2))
    assert (got.glue_ups, got.n) == (8, 40)


def test_the_interval_of_the_share_covers_as_often_as_it_says(sample_of) -> None:
    rng = np.random.default_rng(25)
    names = [f"day {k // 4}" for k in range(20)]
    covered = 0
    for _ in range(400):
        logs = np.repeat(0.2 * rng.standard_normal(5), 4) + 0.2 * rng.standard_normal(20)
        share = batch_share([sample_of("maple", list(np.exp(logs)), glue_ups=names)], confidence=0.95).share
        covered += share.lower <= 0.5 <= share.upper
    assert covered / 400 == pytest.approx(0.95, abs=0.025)


def test_one_glue_up_or_single_pulls_show_no_share(sample_of) -> None:
    assert batch_share([sample_of("maple", [1.0, 2.0], glue_ups=["A", "A"])], confidence=0.95) is None
    assert batch_share([sample_of("maple", [1.0, 2.0])], confidence=0.95) is None


def test_a_control_that_loses_ten_percent_a_glue_up_is_seen_to_drift() -> None:
    rng = np.random.default_rng(26)
    batch = np.repeat(np.arange(6), 4)
    sample = StrengthSample.of_values(0.9**batch * np.exp(0.05 * rng.standard_normal(24)), batch=batch)
    got = drift_of(sample, order=range(6))
    assert got.ratio.lower < 0.9 < got.ratio.upper
    assert got.p_value < 0.01
    steady = drift_of(StrengthSample.of_values(np.exp(0.05 * rng.standard_normal(24)), batch=batch), order=range(6))
    assert steady.ratio.lower < 1.0 < steady.ratio.upper
    backwards = drift_of(sample, order=range(5, -1, -1))
    assert backwards.ratio.value == pytest.approx(1 / got.ratio.value)


def test_two_glue_ups_show_no_drift() -> None:
    sample = StrengthSample.of_values([1.0, 1.1, 0.9, 1.0], batch=[0, 0, 1, 1])
    assert drift_of(sample, order=[0, 1]) is None


def test_strengths_not_seen_exactly_are_passed_over(sample_of) -> None:
    part = sample_of("maple", [4.0, 4.1, 3.9, 5.0], held=[False, False, False, True])
    got = homogeneity_of([part])
    assert got.outliers == ()
    assert got.spreads == ()
    assert math.isfinite(part.sample.lower_mpa.sum())
