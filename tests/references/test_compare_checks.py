"""Comparisons against published numbers: each names source, table, digits and tolerance; data files lie in data/."""

import csv
from pathlib import Path

import numpy as np
import pytest

from jointlab.compare.accelerated import regression_of
from jointlab.compare.anderson_darling import k_sample_anderson_darling, k_sample_statistic, statistic_spread
from jointlab.compare.group_tests import bartlett, kruskal_wallis, levene, one_way_f, welch_f
from jointlab.compare.interference import chance_stronger
from jointlab.compare.log_rank import log_rank
from jointlab.compare.many_to_one import ManyToOne
from jointlab.compare.pairs import dunn, games_howell, tukey_kramer
from jointlab.strength import Family, StrengthFit
from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE

DATA = Path(__file__).parent / "data"


def groups_of(name: str, group: str, value: str) -> dict[str, np.ndarray]:
    with (DATA / name).open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    found: dict[str, list[float]] = {}
    for row in rows:
        found.setdefault(row[group], []).append(float(row[value]))
    return {key: np.array(values) for key, values in found.items()}


# NIST/SEMATECH e-Handbook 7.4.7.1 (and 7.4.3): four groups of five.
HANDBOOK = [
    np.array(group)
    for group in (
        [6.9, 5.4, 5.8, 4.6, 4.0],
        [8.3, 6.8, 7.8, 9.2, 6.5],
        [8.0, 10.5, 8.1, 6.9, 9.3],
        [5.8, 3.8, 6.1, 5.6, 6.2],
    )
]


@pytest.mark.parametrize(
    ("file", "certified"),
    [("nist_SiRstv.csv", 1.18046237440255), ("nist_AtmWtAg.csv", 15.9467335677930)],
)
def test_the_one_way_f_agrees_with_the_certified_values_to_nine_digits(file: str, certified: float) -> None:
    # NIST StRD, one-way analysis of variance, certified to fifteen digits. AtmWtAg holds its differences in the sixth
    # to ninth digit of numbers that a float knows to sixteen, so that about ten digits of F are there to be had.
    got = one_way_f(list(groups_of(file, "group", "y").values()))
    assert got.statistic == pytest.approx(certified, rel=5e-10)


def test_tukeys_intervals_agree_with_the_nist_handbook() -> None:
    # NIST 7.4.7.1, 95 % intervals, two decimals.
    printed = {
        (2, 0): (1.13, 5.31),
        (1, 0): (0.29, 4.47),
        (0, 3): (-2.25, 1.93),
        (1, 2): (-2.93, 1.25),
        (1, 3): (0.13, 4.31),
        (2, 3): (0.97, 5.15),
    }
    got = {}
    for pair in tukey_kramer(HANDBOOK, confidence=0.95):
        got[pair.one, pair.other] = (pair.lower, pair.upper)
        got[pair.other, pair.one] = (-pair.upper, -pair.lower)
    for pair, ends in printed.items():
        assert got[pair] == pytest.approx(ends, abs=0.0051)  # one end, 5.15 of pair 3-4, is rounded at the half


def test_three_groups_of_the_nist_handbook_have_its_f() -> None:
    assert one_way_f(HANDBOOK[:3]).statistic == pytest.approx(9.59, abs=0.005)  # NIST 7.4.3, two decimals


def test_dunns_z_agrees_with_ranks_added_by_hand() -> None:
    # Computed reference: rank sums 28, 70, 82.5, 29.5; variance N(N+1)/12 less that of two tied pairs, each
    # (8 - 2) / (12 x 19), times 1/5 + 1/5. Other computed values, -2.24668 -2.91530 -.08020 -.66867 2.16642 2.83509,
    # are not differences of one set of mean ranks; they agree with these to 5e-5.
    ranks = [28.0, 70.0, 82.5, 29.5]
    got = {(d.one, d.other): d.z for d in dunn(HANDBOOK)}
    variance = (20 * 21 / 12 - 2 * 6 / (12 * 19)) * 0.4
    for (one, other), z in got.items():
        assert z == pytest.approx((ranks[one] - ranks[other]) / 5 / variance**0.5, rel=1e-12)
    circulating = [-2.24668, -2.91530, -0.08020, -0.66867, 2.16642, 2.83509]
    assert list(got.values()) == pytest.approx(circulating, abs=5e-5)


def test_levene_and_bartlett_agree_with_the_nist_handbook() -> None:
    # NIST 1.3.5.10 (median) 1.7059176930 and 1.3.5.7 20.785873428, gear diameters, ten and nine decimals.
    gears = list(groups_of("nist_gear.csv", "batch", "diameter").values())
    assert levene(gears).statistic == pytest.approx(1.7059176930, abs=6e-11)
    assert bartlett(gears).statistic == pytest.approx(20.785873428, abs=6e-10)


def test_welch_and_games_howell_agree_on_pain_and_hair() -> None:
    # McClave & Dietrich, pain threshold by hair colour: Welch F 5.8901, df2 8.3298, p .0188; Games-Howell p of the six
    # pairs, four decimals, by name here since their order differs between prints.
    pain = groups_of("pain_hair.csv", "Hair color", "Pain threshold")
    names = list(pain)
    got = welch_f(list(pain.values()))
    assert got.statistic == pytest.approx(5.8901, abs=5e-5)
    assert got.degrees[1] == pytest.approx(8.3298, abs=5e-5)
    assert got.p_value == pytest.approx(0.0188, abs=5e-5)
    p = {
        frozenset((names[d.one], names[d.other])): d.p_value for d in games_howell(list(pain.values()), confidence=0.95)
    }
    for one, other, printed in (
        ("Dark Blond", "Dark Brunette", 0.1401),
        ("Dark Blond", "Light Blond", 0.5228),
        ("Dark Blond", "Light Brunette", 0.3715),
        ("Dark Brunette", "Light Blond", 0.0148),
        ("Dark Brunette", "Light Brunette", 0.6980),
        ("Light Blond", "Light Brunette", 0.0378),
    ):
        assert p[frozenset((one, other))] == pytest.approx(printed, abs=6e-5)


def test_the_k_sample_anderson_darling_test_agrees_with_its_authors() -> None:
    # Scholz & Stephens (1987), paper smoothness of four laboratories: A2akN 8.3926, sigma 1.2038, T 4.480, p .0022.
    paper = list(groups_of("scholz_stephens_smoothness.csv", "lab", "y").values())
    assert k_sample_statistic(paper) == pytest.approx(8.3926, abs=5e-5)
    assert statistic_spread([group.size for group in paper]) == pytest.approx(1.2038, abs=5e-5)
    got = k_sample_anderson_darling(paper)
    assert got.statistic == pytest.approx(4.480, abs=5e-4)
    assert got.p_value == pytest.approx(0.0022, abs=5e-5)


def test_the_batches_of_vangel_have_his_f() -> None:
    # Vangel (1992), five batches of five: SSB 4163.36, SSE 1578.40, F 13.188545 (six decimals).
    batches = list(groups_of("vangel1992_batches.csv", "batch", "y").values())
    assert one_way_f(batches).statistic == pytest.approx(13.188545, abs=6e-7)


@pytest.mark.parametrize(
    ("others", "degrees", "printed"),
    # Dunnett (1964), Biometrics 20, Table II, two-sided 5 %, two decimals, equal numbers (recalled from memory).
    [(1, 10, 2.23), (2, 10, 2.57), (3, 16, 2.59), (4, 20, 2.65), (8, 60, 2.73), (2, 5, 3.03)],
)
def test_dunnetts_factor_agrees_with_his_table(others: int, degrees: int, printed: float) -> None:
    assert ManyToOne.of_sizes(5, [5] * others, degrees=degrees).factor(0.95) == pytest.approx(printed, abs=0.0051)


def test_the_chance_to_outlast_agrees_with_interference_of_textbooks() -> None:
    # Normal stress (20, 6) against normal strength (40, 7): P(failure) 1.50298 %. Weibull of one shape 3, scales 100
    # and 60: R = eS^b / (eS^b + eL^b) = .8223684211.
    def fit(family: Family, first: float, second: float) -> StrengthFit:
        return StrengthFit(family, (("first", first), ("second", second)), 0.0, None)

    failing = 1 - chance_stronger(fit(Family.NORMAL, 40, 7), fit(Family.NORMAL, 20, 6))
    assert failing == pytest.approx(0.0150298, abs=5e-8)
    weibull = chance_stronger(fit(Family.WEIBULL, 3, 100), fit(Family.WEIBULL, 3, 60))
    assert weibull == pytest.approx(0.8223684211, abs=5e-11)
    near = chance_stronger(fit(Family.WEIBULL, 3.000001, 100), fit(Family.WEIBULL, 3, 60))  # by quadrature
    assert near == pytest.approx(0.8223684211, abs=1e-6)


def test_the_censored_regression_agrees_with_single_fits_of_nelsons_fluid() -> None:
    # Nelson (1982), insulating fluid, 38 kV: scale 1.00092672, shape 1.36299929 (eighth digit of the shape one off).
    times = groups_of("survival_ifluid.csv", "voltage", "time")["38"]
    y = np.log(times)[None]
    got = regression_of(y, y, design=np.ones((times.size, 1)), kernel=SMALLEST_EXTREME_VALUE)
    assert np.exp(got.coefficients[0, 0]) == pytest.approx(1.00092672, abs=1e-8)
    assert 1 / got.scale[0] == pytest.approx(1.36299929, abs=1e-8)


def test_the_log_rank_test_agrees_with_the_leukaemia_trial() -> None:
    # Freireich et al. (1963), 6-MP against placebo, as in Kalbfleisch & Prentice and Collett: chi-square 16.79, 1 df.
    treated = [(6, 0), (6, 0), (6, 0), (6, 1), (7, 0), (9, 1), (10, 0), (10, 1), (11, 1), (13, 0), (16, 0), (17, 1)]
    treated += [(19, 1), (20, 1), (22, 0), (23, 0), (25, 1), (32, 1), (32, 1), (34, 1), (35, 1)]
    placebo = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
    weeks = np.array([week for week, _ in treated] + placebo, dtype=np.float64)
    held = np.array([bool(h) for _, h in treated] + [False] * len(placebo))
    group = np.repeat([0, 1], [len(treated), len(placebo)])
    assert log_rank(weeks, held, group).statistic == pytest.approx(16.79, abs=0.005)


def test_kruskal_and_wallis_agree_on_the_four_groups() -> None:
    # Computed reference: H = 12 / (N (N + 1)) sum R^2 / 5 - 3 (N + 1), over the ties' correction.
    rank_sums = [28.0, 70.0, 82.5, 29.5]
    h = 12 / 420 * sum(total**2 for total in rank_sums) / 5 - 63
    assert kruskal_wallis(HANDBOOK).statistic == pytest.approx(h / (1 - 2 * 6 / (8000 - 20)), rel=1e-12)
