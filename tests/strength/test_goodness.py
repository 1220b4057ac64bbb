import math

import numpy as np
import pytest

from jointlab.strength import Family, StrengthSample, fit
from jointlab.strength.goodness import _expected_distances, with_goodness
from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.likelihood import Samples

VALUES = np.array([3.0, 3.5, 4.1, 5.0, 5.2, 3.9, 4.4, 4.0])


def goodness_of(values: np.ndarray, family: Family) -> tuple[float | None, float | None]:
    sample = StrengthSample.of_values(values)
    got = with_goodness(sample, fit(sample, family=family))
    return got.anderson_darling, got.p_value


def test_the_statistic_is_that_of_its_definition() -> None:
    z = np.sort((VALUES - VALUES.mean()) / VALUES.std())
    share = [0.5 * math.erfc(-value / math.sqrt(2)) for value in z.tolist()]
    n = VALUES.size
    terms = [(2 * i + 1) * (math.log(share[i]) + math.log(1 - share[n - 1 - i])) for i in range(n)]
    assert goodness_of(VALUES, Family.NORMAL)[0] == pytest.approx(-n - sum(terms) / n, rel=1e-10)


def test_the_p_value_of_a_normal_sample_agrees_with_the_published_approximation() -> None:
    # D'Agostino & Stephens (1986), Table 4.7 (recalled): 5 % point of A*^2 = A^2 (1 + .75/n + 2.25/n^2) is .752, for
    # the n - 1 spread; here the maximum-likelihood spread is used, which for n = 200 changes the third digit alone.
    rng, n = np.random.default_rng(3), 200
    found = [goodness_of(rng.normal(size=n) + 20.0, Family.NORMAL) for _ in range(300)]
    for statistic, p_value in found:
        assert statistic is not None
        assert p_value is not None
        corrected = statistic * (1 + 0.75 / n + 2.25 / n**2)
        if corrected > 0.85:
            assert p_value < 0.05
        if corrected < 0.67:
            assert p_value > 0.05


@pytest.mark.parametrize("family", Family)
def test_the_p_value_is_uniform_under_the_family(family: Family) -> None:
    rng = np.random.default_rng(5)
    draws = {
        Family.NORMAL: lambda: 20 + rng.normal(size=6),
        Family.LOGNORMAL: lambda: np.exp(0.3 * rng.normal(size=6)),
        Family.WEIBULL: lambda: rng.weibull(3.0, size=6),
        Family.GUMBEL_MIN: lambda: 20 + np.log(rng.standard_exponential(6)),
    }
    p_values = [goodness_of(draws[family](), family)[1] for _ in range(300)]
    assert np.mean(np.array(p_values) < 0.2) == pytest.approx(0.2, abs=0.07)  # three standard errors


def test_a_gross_misfit_has_a_small_p_value() -> None:
    assert goodness_of(np.array([1.0, 1.01, 1.02, 1.03, 1.01, 1.02, 1.0, 9.0]), Family.NORMAL)[1] < 0.005


def test_an_ill_sample_has_none() -> None:
    same = StrengthSample.of_values([3.0, 3.0, 3.0])
    assert with_goodness(same, fit(same, family=Family.NORMAL)).p_value is None


def censored_p(rng: np.random.Generator, z: np.ndarray) -> float:
    strength = np.exp(1.4 + 0.25 * z)
    floor = np.floor(strength / 0.8) * 0.8
    held = floor > 4.7
    sample = StrengthSample.of_intervals(np.where(held, 4.8, floor), np.where(held, math.inf, floor + 0.8))
    p_value = with_goodness(sample, fit(sample, family=Family.LOGNORMAL)).p_value
    assert p_value is not None
    return p_value


def test_the_p_value_of_steps_with_a_cap_is_uniform_under_the_family() -> None:
    rng = np.random.default_rng(12)
    p_values = np.array([censored_p(rng, rng.normal(size=12)) for _ in range(24)])
    assert np.mean(p_values) == pytest.approx(0.5, abs=0.18)  # three standard errors of a mean of 24


def test_censored_strengths_of_two_kinds_fit_no_lognormal() -> None:
    lower = np.array([0.5, 0.5, 0.6, 0.6, 0.5, *[9.0 + 0.05 * k for k in range(14)], 9.8])
    upper = np.append(lower[:-1], math.inf)
    sample = StrengthSample.of_intervals(lower, upper)
    assert (with_goodness(sample, fit(sample, family=Family.LOGNORMAL)).p_value or 1.0) < 0.01


@pytest.mark.parametrize("values", [VALUES, np.array([1.0, 1.01, 1.02, 1.03, 1.01, 1.02, 1.0, 9.0])])
def test_for_complete_pulls_the_expected_distance_is_the_usual_statistic(values: np.ndarray) -> None:
    expected, _ = goodness_of(values, Family.NORMAL)
    found = _expected_distances(STANDARD_NORMAL, Samples(values[None], values[None], np.ones((1, values.size))))
    assert found[0] == pytest.approx(expected, rel=0.02)  # steps within a panel leave about one in a hundred


@pytest.mark.parametrize(("replicates", "told"), [(99, True), (98, False)])
def test_a_p_value_needs_ninety_nine_simulated_samples(
    monkeypatch: pytest.MonkeyPatch, replicates: int, told: bool
) -> None:
    monkeypatch.setattr("jointlab.strength.goodness.CENSORED_REPLICATES", replicates)
    sample = StrengthSample.of_intervals(VALUES, np.where(VALUES == 5.2, math.inf, VALUES))
    assert (with_goodness(sample, fit(sample, family=Family.NORMAL)).p_value is not None) is told
