"""Frames in a notebook: samples and fits of every combination, by one pass, by hand, or by an engine of many parts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import jointlab
from jointlab.app.notebook import COMBINATION
from jointlab.strength.values import Family

BONDS = Path("datasets/adhesive_bond_336/pulls.csv")


@pytest.fixture(scope="module")
def pulls():
    return jointlab.read_pulls(BONDS)


@pytest.mark.parametrize("family", Family)
def test_every_combination_of_a_frame_is_fitted_in_one_pass(pulls, family):
    fits = jointlab.fit_combinations(pulls, family=family)
    samples = jointlab.samples_of(pulls)
    assert list(map(tuple, fits[COMBINATION].to_numpy())) == list(samples)
    assert list(fits["n"]) == [8] * 42
    for (_, row), sample in zip(fits.iterrows(), samples.values(), strict=True):
        alone = jointlab.fit(sample, family=family)
        assert [row[name] for name, _ in alone.parameters] == pytest.approx(
            [value for _, value in alone.parameters], rel=1e-7
        )
        assert row["log_likelihood"] == pytest.approx(alone.log_likelihood, rel=1e-10)


def test_what_cannot_be_fitted_is_missing_and_says_why(pulls):
    one = pulls.iloc[:1]
    (fit,) = jointlab.fit_combinations(one, family=Family.NORMAL).to_dict("records")
    assert fit["n"] == 1
    assert np.isnan(fit["mean_mpa"])
    assert fit["ill"] == jointlab.fit(next(iter(jointlab.samples_of(one).values())), family=Family.NORMAL).ill


def test_a_frame_without_usable_pulls_gives_an_empty_table_of_the_same_columns(pulls):
    none = jointlab.fit_combinations(pulls.iloc[:0], family=Family.WEIBULL)
    assert len(none) == 0
    assert list(none.columns) == [*COMBINATION, "n", "shape", "scale_mpa", "log_likelihood", "aicc", "ill"]


def test_the_fits_run_unchanged_over_dask_with_the_same_numbers(pulls):
    import dask
    import dask.dataframe as dd

    whole = jointlab.fit_combinations(pulls, family=Family.WEIBULL)
    with dask.config.set(scheduler="synchronous"):
        parts = dd.from_pandas(pulls.sample(frac=1.0, random_state=7), npartitions=5).shuffle(COMBINATION)
        assert parts.npartitions > 1
        meta = jointlab.fit_combinations(pulls.iloc[:0], family=Family.WEIBULL)
        fits = parts.map_partitions(jointlab.fit_combinations, family=Family.WEIBULL, meta=meta).compute()
    together = fits.sort_values(COMBINATION).reset_index(drop=True)
    pd.testing.assert_frame_equal(together, whole, check_exact=True, check_dtype=False)
