import mpmath
import numpy as np
import pytest

from jointlab.strength import normal


def test_the_logarithm_of_the_distribution_is_true_to_fourteen_digits_in_both_tails() -> None:
    z = np.concatenate([np.linspace(-38.0, 8.0, 93), np.linspace(-1.0, 1.0, 21)])
    with mpmath.workdps(60):
        exact = [mpmath.log(mpmath.ncdf(mpmath.mpf(float(value)))) for value in z]
        errors = [abs(mpmath.mpf(float(got)) / true - 1) for got, true in zip(normal.log_cdf(z), exact, strict=True)]
    assert max(errors) < 1e-14


def test_the_scaled_tail_is_that_of_its_definition() -> None:
    x = np.array([0.0, 0.3, 3.0, 11.0, 200.0])
    with mpmath.workdps(60):
        exact = [float(mpmath.exp(mpmath.mpf(v) ** 2) * mpmath.erfc(mpmath.mpf(v))) for v in x.tolist()]
    assert normal.scaled_tail(x) == pytest.approx(exact, rel=4e-15)


@pytest.mark.parametrize("probability", [1e-9, 0.01, 0.05, 0.3, 0.5, 0.95, 0.999])
def test_the_quantile_is_that_of_its_definition(probability: float) -> None:
    with mpmath.workdps(40):
        exact = float(mpmath.sqrt(2) * mpmath.erfinv(2 * mpmath.mpf(probability) - 1))
    assert normal.quantile(probability) == pytest.approx(exact, abs=1e-14)
