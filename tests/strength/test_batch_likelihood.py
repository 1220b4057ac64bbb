import math

import mpmath
import numpy as np
import pytest

from jointlab.strength.batch_likelihood import BatchLikelihood, Places
from jointlab.strength.known_ratio import centre_and_spread
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import climb

BATCH = np.array([0, 0, 0, 1, 1])
EXACT = np.array([[1.0, 1.5, 0.2, 2.4, 3.0]])
MIXED = Samples(np.array([[1.0, 1.5, -np.inf, 2.4, 2.0]]), np.array([[1.0, np.inf, 0.4, 2.9, np.inf]]), np.ones((1, 5)))


def test_exact_strengths_have_the_density_of_the_multivariate_normal() -> None:
    hill = BatchLikelihood.of(Samples(EXACT, EXACT, np.ones((1, 5))), BATCH, ratio=0.7)
    a, b = 1.3, 2.1
    v = (np.eye(5) + 0.49 * (BATCH[:, None] == BATCH)) / a**2
    away = EXACT[0] - b / a
    exact = -0.5 * (away @ np.linalg.solve(v, away) + np.linalg.slogdet(v)[1] + 5 * math.log(2 * math.pi))
    assert hill.sums(np.array([a]), np.array([b])).log[0] == pytest.approx(exact, rel=1e-12)


def test_censored_strengths_have_the_likelihood_of_its_definition() -> None:
    a, b = 1.3, 2.1
    got = BatchLikelihood.of(MIXED, BATCH, ratio=1.0).sums(np.array([a]), np.array([b])).log[0]

    def given(shift: float, pulls: list[int]) -> mpmath.mpf:
        value = mpmath.npdf(shift)
        for pull in pulls:
            low, high = (a * float(end[0, pull]) - b - shift for end in (MIXED.lower, MIXED.upper))
            value *= a * mpmath.npdf(low) if low == high else mpmath.ncdf(high) - mpmath.ncdf(low)
        return value

    exact = sum(
        mpmath.log(mpmath.quad(lambda u, p=pulls: given(u, p), [-8, -3, -1, 0, 1, 3, 8]))
        for pulls in ([0, 1, 2], [3, 4])
    )
    assert got == pytest.approx(float(exact), abs=2e-4)


def test_slopes_are_those_of_the_logarithm() -> None:
    hill = BatchLikelihood.of(MIXED, BATCH, ratio=1.0)
    a, b, h = np.array([1.3]), np.array([2.1]), 1e-4
    at = hill.sums(a, b)
    assert at.a[0] == pytest.approx((hill.sums(a + h, b).log - hill.sums(a - h, b).log)[0] / (2 * h), abs=2e-3)
    assert at.b[0] == pytest.approx((hill.sums(a, b + h).log - hill.sums(a, b - h).log)[0] / (2 * h), abs=2e-3)
    assert at.aa[0] == pytest.approx((hill.sums(a + h, b).a - hill.sums(a - h, b).a)[0] / (2 * h), rel=5e-3)
    assert at.bb[0] == pytest.approx((hill.sums(a, b + h).b - hill.sums(a, b - h).b)[0] / (2 * h), rel=5e-3)


def test_the_top_of_exact_strengths_is_the_closed_form() -> None:
    hill = BatchLikelihood.of(Samples(EXACT, EXACT, np.ones((1, 5))), BATCH, ratio=1.0)
    a, b, _ = climb(hill, np.ones(1), np.zeros(1), near=1e-12)
    m, s, _ = centre_and_spread(EXACT[0], BATCH, ratio=1.0)
    assert b[0] / a[0] == pytest.approx(m, rel=1e-9)
    assert 1 / a[0] == pytest.approx(s * math.sqrt(4 / 5), rel=1e-9)


def test_some_samples_of_many_are_the_same_alone() -> None:
    rng = np.random.default_rng(4)
    x = rng.normal(size=(6, 5))
    hill = BatchLikelihood.of(Samples(x, np.where(x > 0.5, np.inf, x), np.ones((6, 5))), BATCH, ratio=1.0)
    a, b = np.linspace(0.8, 1.4, 6), np.linspace(-0.3, 0.3, 6)
    rows = np.array([4, 1])
    assert hill.of_rows(rows).sums(a[rows], b[rows]).log == pytest.approx(hill.sums(a, b).log[rows], rel=1e-13)


def test_the_search_for_a_shift_starts_where_exact_strengths_have_it() -> None:
    # by hand, prior precision 1 / 0.7^2: sum (1.3 x - 2.1) over three strengths of 1, 1.5 and 0.2, over precision + 3
    places = Places.of(Samples(EXACT[:, :3], EXACT[:, :3], np.ones((1, 3))))
    shift = places.shifts(np.array([1.3]), np.array([2.1]), 1.0 / 0.49)[0]
    assert shift == pytest.approx((1.3 * 2.7 - 3 * 2.1) / (1.0 / 0.49 + 3.0), rel=1e-14)


def test_an_interval_counts_at_its_middle_a_held_pull_beyond_its_load_and_a_handled_one_before_it() -> None:
    # 0.7 spreads are added for each pull that held and taken off for each that broke in the hand; weights count
    lower, upper = np.array([[2.0, 1.5, -np.inf]]), np.array([[3.0, np.inf, 0.4]])
    places = Places.of(Samples(lower, upper, np.array([[2.0, 1.0, 1.0]])))
    shift = places.shifts(np.array([1.0]), np.array([0.5]), 1.0)[0]
    assert shift == pytest.approx((2 * 2.5 + 1.5 + 0.4 + 0.7 - 0.7 - 4 * 0.5) / 5.0, rel=1e-14)
    held = Places.of(Samples(lower[:, 1:2], upper[:, 1:2], np.ones((1, 1)))).shifts(np.ones(1), np.zeros(1), 1.0)[0]
    assert held == pytest.approx((1.5 + 0.7) / 2.0, rel=1e-14)
