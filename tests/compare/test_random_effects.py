import numpy as np
import pytest

from jointlab.compare.random_effects import Between, heterogeneity_of, random_effects
from jointlab.errors import AnalysisError

EACH = pytest.mark.parametrize("between", Between)


@EACH
def test_studies_that_agree_have_no_variance_between_them_and_the_fixed_mean(between):
    effect, variance = np.array([1.0, 1.01, 0.99, 1.0]), np.array([0.1, 0.2, 0.1, 0.4])
    got = random_effects(effect, variance, between=between)
    assert got.tau2 == 0.0
    assert got.mean == pytest.approx(heterogeneity_of(effect, variance).fixed_mean)
    # and the interval is not narrower than the errors of the studies alone would have it
    assert got.upper - got.mean == pytest.approx(3.182446 * got.standard_error, rel=1e-6)


@EACH
def test_for_equal_errors_every_estimator_is_the_variance_of_the_effects_less_that_of_the_errors(between):
    effect = np.array([0.2, 1.9, -0.7, 1.1, 3.0])
    got = random_effects(effect, np.full(5, 0.3), between=between)
    assert got.tau2 == pytest.approx(effect.var(ddof=1) - 0.3, rel=1e-4)
    assert got.mean == pytest.approx(effect.mean())


@EACH
def test_a_shift_moves_the_mean_and_nothing_else(between):
    rng = np.random.default_rng(7)
    effect, variance = rng.normal(0.0, 1.0, 6), rng.uniform(0.05, 0.5, 6)
    one, other = (random_effects(values, variance, between=between) for values in (effect, effect + 10.0))
    assert other.mean - one.mean == pytest.approx(10.0, rel=1e-6)
    assert other.tau2 == pytest.approx(one.tau2, rel=1e-4)


def test_too_few_studies_or_one_without_an_error_are_refused():
    with pytest.raises(AnalysisError, match="two studies"):
        random_effects(np.array([1.0]), np.array([0.1]), between=Between.REML)
    with pytest.raises(AnalysisError, match="above 0"):
        random_effects(np.array([1.0, 2.0]), np.array([0.1, 0.0]), between=Between.REML)
