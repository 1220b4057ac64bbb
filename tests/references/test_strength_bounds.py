"""Tolerance factors and bounds against published numbers. Each test names source, table, digits and tolerance."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from jointlab.strength import Family, StrengthSample
from jointlab.strength.hanson_koopmans import factor
from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import maximum_of
from jointlab.strength.noncentral_t import one_sided_factor, percentile_bound
from jointlab.strength.order_statistic import rank_of_bound
from jointlab.strength.weibull_pivot import weibull_bound

DATA = Path(__file__).parent / "data"

COLUMNS = {
    "k75_95": (0.95, 0.75),
    "k95_95": (0.95, 0.95),
    "k95_90_B": (0.90, 0.95),
    "k95_99_A": (0.99, 0.95),
    "k90_95": (0.95, 0.90),
    "k75_90": (0.90, 0.75),
}


@pytest.mark.parametrize("column", COLUMNS)
def test_one_sided_normal_factors_agree_with_the_computed_table(column: str) -> None:
    # k_one_sided_normal.csv: computed reference at four decimals, n 3..200.
    coverage, confidence = COLUMNS[column]
    with (DATA / "k_one_sided_normal.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 35
    for row in rows:
        k = one_sided_factor(int(row["n"]), coverage=coverage, confidence=confidence)
        assert k == pytest.approx(float(row[column]), abs=5.1e-5), row["n"]


@pytest.mark.parametrize(
    ("n", "printed"),
    [
        (3, (6.155, 7.656, 10.553)),
        (5, (3.407, 4.203, 5.741)),
        (10, (2.355, 2.911, 3.981)),
        (20, (1.926, 2.396, 3.295)),
        (30, (1.777, 2.220, 3.064)),
    ],
)
def test_one_sided_normal_factors_agree_with_montgomery_and_runger(n: int, printed: tuple[float, ...]) -> None:
    # Montgomery & Runger, Applied Statistics and Probability, 7th ed., Table XII: confidence .95, three decimals.
    got = [one_sided_factor(n, coverage=coverage, confidence=0.95) for coverage in (0.90, 0.95, 0.99)]
    assert got == pytest.approx(printed, abs=5.1e-4)


def test_one_sided_normal_factor_of_the_nist_handbook() -> None:
    # NIST/SEMATECH e-Handbook 7.2.6.3, n 43, coverage .90, confidence .99: exact 1.873954 (it prints an
    # approximation, 1.8751896).
    assert one_sided_factor(43, coverage=0.90, confidence=0.99) == pytest.approx(1.873954, abs=6e-7)


def test_factors_of_the_timber_rule() -> None:
    # EN 14358 / ASTM D2915: 5th percentile at 75 % confidence, two decimals.
    printed = {3: 3.15, 5: 2.46, 10: 2.10, 15: 1.99, 20: 1.93, 30: 1.87, 50: 1.81, 100: 1.76}
    for n, k in printed.items():
        assert one_sided_factor(n, coverage=0.95, confidence=0.75) == pytest.approx(k, abs=5.1e-3)


def test_the_lognormal_limit_agrees_with_the_epa_guidance() -> None:
    # EPA Unified Guidance (2009) Example 17-3: upper 95/95 limit in logs 4.510032, that is 90.9247. The upper limit is
    # the mirror of a lower bound. The lower one in logs is then 2 x mean - 4.510032 = 0.507123 (computed reference).
    logs = np.log([19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7])
    upper = -percentile_bound(-logs, coverage=0.95, confidence=0.95)
    assert upper == pytest.approx(4.510032, abs=6e-6)
    assert math.exp(upper) == pytest.approx(90.9247, abs=5e-4)
    assert percentile_bound(logs, coverage=0.95, confidence=0.95) == pytest.approx(0.507123, abs=6e-6)


@pytest.mark.parametrize(
    ("coverage", "confidence", "sizes"),
    [
        (0.95, 0.75, (28, 53, 78, 102, 125, 148, 170, 193, 215, 237)),  # ASTM D2915 Table 2
        (0.95, 0.95, (59, 93, 124, 153, 181)),
        (0.90, 0.95, (29, 46, 61, 76, 89)),
        (0.99, 0.95, (299, 473, 628, 773, 913)),
    ],
)
def test_smallest_samples_whose_order_statistic_is_a_bound(
    coverage: float, confidence: float, sizes: tuple[int, ...]
) -> None:
    for rank, n in enumerate(sizes, start=1):
        assert rank_of_bound(n, coverage=coverage, confidence=confidence) == rank
        assert (rank_of_bound(n - 1, coverage=coverage, confidence=confidence) or 0) == rank - 1


def test_ranks_agree_with_meeker_hahn_and_escobar() -> None:
    # Statistical Intervals (2nd ed., 2017) Table J.11, confidence .95.
    for coverage, printed in ((0.90, {30: 1, 50: 2, 100: 5, 200: 13}), (0.95, {60: 1, 100: 2, 200: 5, 300: 9})):
        for n, rank in printed.items():
            assert rank_of_bound(n, coverage=coverage, confidence=0.95) == rank


def test_hanson_koopmans_factors_agree_with_cmh_17() -> None:
    # CMH-17-1 (2017), Table 8.5.14 (90/95), n: (r, k), three decimals.
    printed = {
        2: (2, 35.177), 3: (3, 7.859), 4: (4, 4.505), 5: (4, 4.101), 6: (5, 3.064), 7: (5, 2.858), 8: (6, 2.382),
        9: (6, 2.253), 10: (6, 2.137), 11: (7, 1.897), 12: (7, 1.814), 13: (7, 1.738), 14: (8, 1.599), 15: (8, 1.540),
        16: (8, 1.485), 17: (8, 1.434), 18: (9, 1.354), 19: (9, 1.311), 20: (10, 1.253), 21: (10, 1.218),
        22: (10, 1.184), 23: (11, 1.143), 24: (11, 1.114), 25: (11, 1.087), 26: (11, 1.060), 27: (11, 1.035),
        28: (12, 1.010),
    }  # fmt: skip
    for n, (j, k) in printed.items():
        assert factor(n, j, coverage=0.90, confidence=0.95) == pytest.approx(k, abs=5.1e-4), n


def test_hanson_koopmans_factors_at_99_95_agree_with_cmh_17() -> None:
    # CMH-17-1 (2017), 99/95 with r = n, five decimals. The entry printed for n = 2, 80.00380, is 80.00372 by the
    # equation, hence its own tolerance.
    printed = {3: 16.91220, 5: 6.89049, 10: 3.57267, 20: 2.36683, 30: 1.96975}
    for n, k in printed.items():
        assert factor(n, n, coverage=0.99, confidence=0.95) == pytest.approx(k, abs=2e-5)
    assert factor(2, 2, coverage=0.99, confidence=0.95) == pytest.approx(80.00380, abs=1e-4)


def test_hanson_koopmans_factors_at_95_95_with_the_largest() -> None:
    # Computed references at four decimals, r = n.
    for n, k in {5: 4.3832, 10: 2.2985, 20: 1.5311, 30: 1.2766}.items():
        assert factor(n, n, coverage=0.95, confidence=0.95) == pytest.approx(k, abs=6e-5)


def test_conditional_weibull_bounds_of_the_ball_bearings() -> None:
    # Lieblein & Zelen (1956), lieblein_zelen.csv; 95 % lower bounds of the 10th, 5th and 1st percentile given the
    # ancillaries, after Lawless (1978): computed references, five decimals.
    with (DATA / "lieblein_zelen.csv").open(newline="", encoding="utf-8") as file:
        sample = StrengthSample.of_values([float(row["megacycles"]) for row in csv.DictReader(file)])
    for coverage, bound in ((0.90, 16.94421), (0.95, 10.63753), (0.99, 3.67578)):
        got = weibull_bound(sample, family=Family.WEIBULL, coverage=coverage, confidence=0.95)
        assert got == pytest.approx(bound, abs=6e-6)


def test_pivots_of_the_weibull_fit_agree_with_the_simulated_table() -> None:
    # weibull_mle_pivotals_sim.csv, 2e6 samples a row: factor that unbiases the shape (standard error below 3e-4), and V
    # of the bound estimate x exp(-V / (shape sqrt n)) on the 10th percentile at 95 %, as in CMH-17. With 40,000
    # samples: tolerances of four of their standard errors, and of 2 % for V.
    with (DATA / "weibull_mle_pivotals_sim.csv").open(newline="", encoding="utf-8") as file:
        table = {int(row["n"]): row for row in csv.DictReader(file)}
    rng = np.random.default_rng(17)
    for n in (5, 10):
        logs = np.log(rng.exponential(size=(40_000, n)))
        best = maximum_of(Samples(logs, logs, np.ones_like(logs)), SMALLEST_EXTREME_VALUE)
        shape = 1.0 / best.scale
        error = 4 * shape.std() / 200 / shape.mean() ** 2
        assert 1.0 / shape.mean() == pytest.approx(float(table[n]["unbias"]), abs=error)
        share = math.log(-math.log(0.90))
        pivot = math.sqrt(n) * ((best.location - share) * shape + share)
        assert np.quantile(pivot, 0.95) == pytest.approx(float(table[n]["VB_95_10pct"]), rel=0.02)
