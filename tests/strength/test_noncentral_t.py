import numpy as np
import pytest
from scipy import special

from jointlab.strength.noncentral_t import noncentral_t_cdf, noncentral_t_quantile, one_sided_factor, percentile_bound


@pytest.mark.parametrize("degrees", [1, 2, 4, 9, 60])
@pytest.mark.parametrize("offset", [-2.0, 0.0, 1.5, 9.0])
def test_the_distribution_agrees_with_scipy(degrees: int, offset: float) -> None:
    for t in (-1.0, 0.0, 0.7, 5.0, 30.0):
        expected = special.nctdtr(degrees, offset, t)
        assert noncentral_t_cdf(t, degrees=degrees, offset=offset) == pytest.approx(expected, abs=1e-9)


def test_without_offset_it_is_students_t() -> None:
    # The quantile of Student's t with one degree is tan(pi (p - 1/2)).
    assert noncentral_t_quantile(0.95, degrees=1, offset=0.0) == pytest.approx(np.tan(np.pi * 0.45), rel=1e-11)


def test_the_quantile_undoes_the_distribution() -> None:
    for degrees, offset, p in ((1, 2.3, 0.95), (9, 5.2, 0.05), (335, 30.0, 0.95), (4, 3.7, 0.999)):
        t = noncentral_t_quantile(p, degrees=degrees, offset=offset)
        assert noncentral_t_cdf(t, degrees=degrees, offset=offset) == pytest.approx(p, abs=1e-12)


def test_the_bound_is_the_mean_less_k_standard_deviations() -> None:
    values = np.array([3.0, 4.0, 5.0, 8.0])
    k = one_sided_factor(4, coverage=0.9, confidence=0.95)
    assert percentile_bound(values, coverage=0.9, confidence=0.95) == pytest.approx(5.0 - k * np.std(values, ddof=1))


def test_the_bound_covers_as_often_as_it_says() -> None:
    samples = np.random.default_rng(5).normal(size=(20_000, 5))
    k = one_sided_factor(5, coverage=0.95, confidence=0.9)
    below = samples.mean(axis=1) - k * samples.std(axis=1, ddof=1) < -1.6448536269514722
    assert below.mean() == pytest.approx(0.9, abs=0.0064)  # three standard errors


@pytest.mark.parametrize(("offset", "t"), [(3.0, 2394.0), (5.2, 15957.7), (1.6, 180.0)])
def test_two_pulls_have_their_far_tail_too(offset: float, t: float) -> None:
    # one degree of freedom: the factors of two pulls lie thousands of deviations out
    expected = special.nctdtr(1, offset, t)
    assert noncentral_t_cdf(t, degrees=1, offset=offset) == pytest.approx(expected, abs=1e-10)
    assert noncentral_t_quantile(float(expected), degrees=1, offset=offset) == pytest.approx(t, rel=1e-4)
