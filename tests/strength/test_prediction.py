import math

import numpy as np
import pytest
from scipy import stats

from jointlab.strength import StrengthSample
from jointlab.strength.known_ratio import centre_and_spread
from jointlab.strength.prediction import Prediction, prediction_of

X, BATCH = [3.1, 4.0, 4.4, 5.2, 3.7, 4.9], [0, 0, 0, 1, 1, 1]


def foretold(sample: StrengthSample, stress_mpa: float, following: int = 1) -> Prediction:
    got = prediction_of(sample, stress_mpa=stress_mpa, following=following)
    assert got is not None
    return got


@pytest.mark.parametrize("stress_mpa", [1.0, 2.0, 3.0, 4.5])
def test_one_joint_of_complete_pulls_is_foretold_by_students_t(stress_mpa: float) -> None:
    m, s, w = centre_and_spread(np.log(X), np.array(BATCH), ratio=1.0)
    # A strength of a new glue-up lies at m with variance s^2 (1 + ratio^2 + 1/w); five degrees of freedom.
    exact = stats.t.sf((math.log(stress_mpa) - m) / (s * math.sqrt(2.0 + 1.0 / w)), 5)
    got = foretold(StrengthSample.of_values(X, batch=BATCH), stress_mpa)
    assert got.next_holds == pytest.approx(float(exact), abs=5e-4)
    assert got.all_hold == got.next_holds


def test_the_weakest_of_more_joints_holds_less_surely() -> None:
    sample = StrengthSample.of_values(X, batch=BATCH)
    chances = [foretold(sample, 2.5, k).all_hold for k in (1, 2, 5, 20)]
    assert chances == sorted(chances, reverse=True)
    # Joints of one glue-up share its luck: two hold more often than two of different glue-ups would.
    assert chances[1] > chances[0] ** 2


def test_the_weakest_is_as_simulated_from_the_posterior() -> None:
    sample = StrengthSample.of_values(X, batch=BATCH)
    m, s, w = centre_and_spread(np.log(X), np.array(BATCH), ratio=1.0)
    rng = np.random.default_rng(3)
    sd = s * np.sqrt(5.0 / rng.chisquare(5, 40_000))
    mean = m + sd * rng.normal(size=40_000) / math.sqrt(w) + sd * rng.normal(size=40_000)
    weakest = (mean[:, None] + sd[:, None] * rng.normal(size=(40_000, 4))).min(axis=1)
    expected = float((weakest > math.log(2.5)).mean())
    assert foretold(sample, 2.5, 4).all_hold == pytest.approx(expected, abs=0.008)  # three standard errors


def test_the_strongest_seen_only_to_hold_foretells_more_of_high_stresses() -> None:
    broke = foretold(StrengthSample.of_values(X, batch=BATCH), 5.5).next_holds
    upper = [x if x < 5.0 else math.inf for x in X]
    assert foretold(StrengthSample.of_intervals(X, upper, batch=BATCH), 5.5).next_holds > broke + 0.02


def test_too_little_foretells_nothing() -> None:
    assert prediction_of(StrengthSample.of_values([3.0, 4.0]), stress_mpa=1.0) is None
    held = StrengthSample.of_intervals([3.0, 4.0, 5.0], [3.0, math.inf, math.inf])
    assert prediction_of(held, stress_mpa=1.0) is None
    assert prediction_of(StrengthSample.of_values([3.0, 3.0, 3.0]), stress_mpa=1.0) is None
