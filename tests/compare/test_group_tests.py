"""Tests over all combinations: their question, their degrees of freedom, digits kept."""

import numpy as np
import pytest

from jointlab.compare.group_tests import bartlett, kruskal_wallis, levene, one_way_f, shifted, welch_f

GROUPS = [np.array([1.0, 1.2, 1.1]), np.array([1.5, 1.9, 1.6, 1.8]), np.array([1.0, 1.3, 1.4])]


def test_f_agrees_with_scipy_and_keeps_its_digits_beside_a_large_common_value() -> None:
    from scipy import stats

    assert one_way_f(GROUPS).statistic == pytest.approx(stats.f_oneway(*GROUPS).statistic, rel=1e-12)
    assert one_way_f(GROUPS).degrees == (2, 7)
    exact = [np.array([0.0, 2.0, 1.0]), np.array([5.0, 9.0, 6.0, 8.0]), np.array([0.0, 3.0, 4.0])]
    far = [group / 1024 + 1e6 for group in exact]  # both steps are exact in floats
    assert one_way_f(far).statistic == pytest.approx(one_way_f(exact).statistic, rel=1e-12)


def test_two_groups_make_welchs_f_the_square_of_his_t() -> None:
    from scipy import stats

    t = stats.ttest_ind(GROUPS[0], GROUPS[1], equal_var=False)
    got = welch_f(GROUPS[:2])
    assert got.statistic == pytest.approx(t.statistic**2, rel=1e-10)
    assert got.p_value == pytest.approx(t.pvalue, rel=1e-8)


@pytest.mark.parametrize("test", [one_way_f, welch_f, kruskal_wallis, levene, bartlett])
def test_every_test_names_its_question_and_its_source(test) -> None:
    from jointlab.sources import SOURCES

    got = test(GROUPS)
    assert got.asks.endswith("?")
    assert got.source in SOURCES
    assert 0.0 < got.p_value < 1.0


def test_shifting_takes_one_value_from_all() -> None:
    assert shifted(GROUPS)[1] == pytest.approx(GROUPS[1] - 1.0)
