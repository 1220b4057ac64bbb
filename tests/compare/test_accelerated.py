"""Censored regression: closed forms, single fits, many rows at once, rows without a fit."""

import math

import numpy as np
import pytest

from jointlab.compare.accelerated import regression_of
from jointlab.strength import Family, StrengthSample, fit
from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE, STANDARD_NORMAL

GROUPS = np.kron(np.eye(3), np.ones((10, 1)))


@pytest.fixture
def logs() -> np.ndarray:
    return np.random.default_rng(2).normal(size=(1, 30)) * 0.2 + np.repeat([0.0, 0.3, 0.5], 10)


def test_complete_normal_logs_give_means_and_pooled_scale(logs: np.ndarray) -> None:
    got = regression_of(logs, logs, design=GROUPS, kernel=STANDARD_NORMAL)
    means = logs.reshape(3, 10).mean(axis=1)
    scale = math.sqrt(((logs.reshape(3, 10) - means[:, None]) ** 2).mean())
    assert got.coefficients[0] == pytest.approx(means, rel=1e-10)
    assert got.scale[0] == pytest.approx(scale, rel=1e-10)
    errors = np.sqrt(np.diag(got.covariance[0]))
    assert errors == pytest.approx([scale / math.sqrt(10)] * 3 + [scale / math.sqrt(60)], rel=1e-8)
    height = -15 * (1 + math.log(2 * math.pi * scale**2))
    assert got.log_likelihood[0] == pytest.approx(height, rel=1e-12)


def test_one_group_is_the_single_fit_whatever_the_censoring() -> None:
    lower = np.array([1.0, 1.4, 0.0, 1.2, 1.8, 2.0, 0.7])
    upper = np.array([1.0, 1.4, 0.5, 1.6, 1.8, math.inf, math.inf])
    single = dict(fit(StrengthSample.of_intervals(lower, upper), family=Family.WEIBULL).parameters)
    with np.errstate(divide="ignore"):
        rows = np.log(lower)[None], np.log(upper)[None]
    got = regression_of(*rows, design=np.ones((7, 1)), kernel=SMALLEST_EXTREME_VALUE)
    assert 1 / got.scale[0] == pytest.approx(single["shape"], rel=1e-7)
    assert math.exp(got.coefficients[0, 0]) == pytest.approx(single["scale_mpa"], rel=1e-7)


def test_rows_do_not_mind_their_neighbours(logs: np.ndarray) -> None:
    rows = np.vstack([logs, 2.0 * logs + 1.0, logs[:, ::-1]])
    cap = 0.9 * rows.max(axis=1, keepdims=True)
    lower, upper = np.minimum(rows, cap), np.where(rows > cap, np.inf, rows)
    together = regression_of(lower, upper, design=GROUPS, kernel=STANDARD_NORMAL)
    for row in range(3):
        alone = regression_of(lower[[row]], upper[[row]], design=GROUPS, kernel=STANDARD_NORMAL)
        assert together.coefficients[row] == pytest.approx(alone.coefficients[0], rel=1e-8, abs=1e-10)
    assert together.scale[1] == pytest.approx(2.0 * together.scale[0], rel=0.2)


def test_a_row_whose_group_never_broke_has_no_fit_and_leaves_the_others_alone(logs: np.ndarray) -> None:
    lower, upper = np.vstack([logs, logs]), np.vstack([logs, logs]).copy()
    upper[1, 20:] = np.inf
    got = regression_of(lower, upper, design=GROUPS, kernel=STANDARD_NORMAL)
    assert list(got.found) == [True, False]
    assert np.isfinite(got.coefficients[0]).all()
    assert np.isnan(got.coefficients[1]).all()


@pytest.mark.parametrize("kernel", [STANDARD_NORMAL, SMALLEST_EXTREME_VALUE])
def test_the_top_of_the_likelihood_is_flat(logs: np.ndarray, kernel) -> None:
    cap = 0.4
    lower, upper = np.minimum(logs, cap), np.where(logs > cap, np.inf, logs)
    got = regression_of(lower, upper, design=GROUPS, kernel=kernel)
    centre, scale = GROUPS @ got.coefficients[0], got.scale[0]

    def height(move: float, stretch: float) -> float:
        z = (lower[0] - centre - move) / (scale * stretch)
        held = np.isinf(upper[0])
        exact = kernel.exact(z[~held]).log - math.log(scale * stretch)
        return float(exact.sum() + kernel.right(z[held]).log.sum())

    top = height(0.0, 1.0)
    assert top == pytest.approx(got.log_likelihood[0], rel=1e-10)
    assert top > max(height(1e-4, 1.0), height(-1e-4, 1.0), height(0.0, 1.001), height(0.0, 0.999))
