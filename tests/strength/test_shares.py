import math

import numpy as np
import pytest
from statsmodels.regression.mixed_linear_model import MixedLM

from jointlab.strength import StrengthSample
from jointlab.strength.shares import GlueUps, exact_ratio_interval, glue_ups_of


def shares(x: np.ndarray, batch: list[int]) -> GlueUps:
    got = glue_ups_of(StrengthSample.of_values(x, batch=batch))
    assert got is not None
    return got


def test_unbalanced_glue_ups_have_the_components_of_a_general_library() -> None:
    rng = np.random.default_rng(8)
    batch = np.repeat([0, 1, 2, 3, 4], [3, 5, 2, 6, 4])
    logs = rng.normal(0.0, 0.1, batch.size) + rng.normal(0.0, 0.25, 5)[batch]
    got = shares(np.exp(logs), batch.tolist())
    library = MixedLM(logs, np.ones(batch.size), groups=batch).fit(reml=False)
    assert got.within == pytest.approx(math.sqrt(library.scale), rel=0.01)
    assert got.between == pytest.approx(math.sqrt(float(library.cov_re[0, 0])), rel=0.02)


def test_the_exact_interval_covers_as_often_as_it_says_whatever_the_sizes() -> None:
    rng, batch, inside = np.random.default_rng(4), np.repeat(range(5), [2, 6, 3, 4, 2]), []
    for _ in range(1500):
        logs = rng.normal(0.0, 0.1, 17) + rng.normal(0.0, 0.1, 5)[batch]
        low, high = exact_ratio_interval(logs, batch, confidence=0.95)
        inside.append((low or 0.0) <= 1.0 <= (math.inf if high is None else high))
    assert np.mean(inside) == pytest.approx(0.95, abs=0.017)  # three standard errors


def test_the_interval_of_censored_pulls_lies_near_the_exact_one_where_little_is_censored() -> None:
    rng, batch = np.random.default_rng(9), np.repeat(range(6), 4)
    x = np.exp(rng.normal(0.0, 0.1, 24) + rng.normal(0.0, 0.2, 6)[batch])
    exact = shares(x, batch.tolist()).ratio
    upper = np.where(x == x.max(), math.inf, x)
    got = glue_ups_of(StrengthSample.of_intervals(x, upper, batch=batch))
    assert got is not None
    assert exact.low is not None
    assert exact.high is not None
    assert got.ratio.low == pytest.approx(exact.low, rel=0.35)
    assert got.ratio.high == pytest.approx(exact.high, rel=0.35)


def test_alike_glue_ups_have_no_spread_between_them_and_no_lower_limit() -> None:
    x = np.array([3.0, 4.0, 5.0, 3.1, 4.0, 4.9])
    got = shares(x, [0, 0, 0, 1, 1, 1])
    assert got.between == 0.0
    assert got.ratio.low is None
    assert got.ratio.high is not None


def test_one_more_glue_up_raises_the_bound_of_complete_and_of_censored_pulls() -> None:
    x = np.array([3.0, 4.0, 5.0, 3.5, 4.4, 5.6])
    got = shares(x, [0, 0, 0, 1, 1, 1])
    assert got.bound_now_mpa is not None
    assert got.bound_with_one_more_mpa is not None
    assert got.bound_with_one_more_mpa > 1.1 * got.bound_now_mpa
    held = np.where(x > 5.0, math.inf, x)
    censored = glue_ups_of(StrengthSample.of_intervals(np.minimum(x, 5.0), held, batch=[0, 0, 0, 1, 1, 1]))
    assert censored is not None
    assert censored.within > 0.0
    assert censored.bound_now_mpa is not None
    assert censored.bound_with_one_more_mpa is not None
    # Of the same strengths, one seen only to hold 5 MPa: a little less is known now, and the gain is alike.
    gain = math.log(got.bound_with_one_more_mpa / got.bound_now_mpa)
    assert math.log(censored.bound_with_one_more_mpa / censored.bound_now_mpa) == pytest.approx(gain, rel=0.35)


def test_what_cannot_show_components_gives_none() -> None:
    assert glue_ups_of(StrengthSample.of_values([3.0, 4.0, 5.0])) is None
    assert glue_ups_of(StrengthSample.of_values([3.0, 4.0, 5.0], batch=[0, 1, 2])) is None
