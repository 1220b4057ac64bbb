"""The k-sample Anderson-Darling test: level, power against shape, agreement with the general library."""

import numpy as np
import pytest

from jointlab.compare.anderson_darling import k_sample_anderson_darling


def test_it_keeps_its_level_on_tied_values_of_one_distribution() -> None:
    rng = np.random.default_rng(17)
    p = [
        k_sample_anderson_darling([np.round(rng.standard_normal(n), 1) for n in (6, 8, 10)]).p_value
        for _ in range(1500)
    ]
    assert np.mean(np.array(p) <= 0.05) == pytest.approx(0.05, abs=0.015)


def test_it_sees_a_spread_that_differs_where_means_do_not() -> None:
    rng = np.random.default_rng(18)
    got = k_sample_anderson_darling([rng.standard_normal(40), 4.0 * rng.standard_normal(40)])
    assert got.p_value < 0.01


def test_it_agrees_with_scipy_without_ties() -> None:
    from scipy import stats

    rng = np.random.default_rng(19)
    groups = [rng.standard_normal(8), rng.standard_normal(9) + 1.0]
    library = stats.anderson_ksamp(groups, variant="midrank")
    got = k_sample_anderson_darling(groups)
    assert got.statistic == pytest.approx(library.statistic, rel=1e-9)
    assert got.p_value == pytest.approx(library.pvalue, rel=1e-6)
