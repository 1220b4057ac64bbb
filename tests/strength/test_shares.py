import math

import numpy as np
import pytest
from scipy.stats import nct, norm
from statsmodels.regression.mixed_linear_model import MixedLM

from jointlab.strength import StrengthSample
from jointlab.strength.likelihood import Samples
from jointlab.strength.shares import (
    _RATIOS,
    GlueUps,
    _interval,
    _likeliest,
    _profile,
    exact_ratio_interval,
    glue_ups_of,
)


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


def test_the_worth_of_one_more_glue_up_of_the_usual_size_is_that_of_its_tolerance_factor() -> None:
    # V = I + J within a glue-up; 1' V^-1 1 is 3 / 4 of a glue-up of three; its percentile is 1.645 sqrt(2) spreads off
    logs = np.log([3.0, 4.0, 5.0, 3.5, 4.4, 5.6])
    got = shares(np.exp(logs), [0, 0, 0, 1, 1, 1])
    inverse = np.linalg.inv(np.kron(np.eye(2), np.eye(3) + 1.0))
    away = logs - logs.mean()
    spread = math.sqrt(float(away @ inverse @ away) / 5.0)
    for bound, n, weight in ((got.bound_now_mpa, 6, 1.5), (got.bound_with_one_more_mpa, 9, 2.25)):
        factor = nct.ppf(0.95, n - 1, norm.ppf(0.95) * math.sqrt(2.0 * weight)) / math.sqrt(weight)
        assert bound == pytest.approx(math.exp(logs.mean() - factor * spread), rel=1e-9)


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


def tent(top: int, slope: float = 1.0) -> np.ndarray:
    return -slope * np.abs(np.arange(_RATIOS.size) - top).astype(float)


def test_an_interval_of_the_ratio_ends_where_the_profile_crosses_its_limit() -> None:
    # 1.920729 below the top: between the first and the second neighbour, 0.920729 of the way
    low, high = _interval(tent(20), 0.95)
    assert low == pytest.approx(_RATIOS[19] - 0.92072941 * (_RATIOS[19] - _RATIOS[18]), rel=1e-9)
    assert high == pytest.approx(_RATIOS[21] + 0.92072941 * (_RATIOS[22] - _RATIOS[21]), rel=1e-9)


@pytest.mark.parametrize(("top", "slope"), [(2, 1.0), (1, 2.0), (_RATIOS.size - 3, 1.0), (_RATIOS.size - 2, 2.0)])
def test_an_interval_may_end_between_the_last_two_ratios_looked_at(top: int, slope: float) -> None:
    low, high = _interval(tent(top, slope), 0.95)
    share = math.modf(1.92072941 / slope)[0]
    if top < 3:
        assert low == pytest.approx(_RATIOS[1] - share * (_RATIOS[1] - _RATIOS[0]), rel=1e-9)
    else:
        assert high == pytest.approx(_RATIOS[-2] + share * (_RATIOS[-1] - _RATIOS[-2]), rel=1e-9)


def test_an_interval_that_reaches_the_first_or_last_ratio_has_no_end_there() -> None:
    assert _interval(tent(0, 2.0), 0.95)[0] is None
    assert _interval(tent(_RATIOS.size - 1, 2.0), 0.95)[1] is None
    assert _interval(np.zeros(_RATIOS.size), 0.90) == (None, None)


def test_location_and_spread_are_integrated_out_as_in_closed_form() -> None:
    # normal strengths, flat in location and ln spread: |V|^-1/2 (1' V^-1 1)^-1/2 Q^-(n-1)/2, but for a constant
    batch = np.array([0, 0, 0, 1, 1, 2, 2, 2])
    x = np.array([0.1, -0.3, 0.2, 0.9, 0.7, -0.6, -0.2, -0.5])
    found = _profile(Samples(x[None], x[None], np.ones((1, 8))), batch)

    def exact(ratio: float) -> float:
        v = np.eye(8) + ratio**2 * (batch[:, None] == batch)
        inverse, one = np.linalg.inv(v), np.ones(8)
        weight = one @ inverse @ one
        away = x - (one @ inverse @ x) / weight
        return float(-0.5 * np.linalg.slogdet(v)[1] - 0.5 * math.log(weight) - 3.5 * math.log(away @ inverse @ away))

    off = found.marginal - np.array([exact(float(ratio)) for ratio in _RATIOS])
    assert np.ptp(off) < 2e-3


def test_a_flat_profile_has_its_likeliest_ratio_where_it_was_looked_at() -> None:
    # three equal heights have no parabola with a top; -1, 0, -1 has its top in the middle, -4, 0, 0 half way further
    flat = np.zeros(_RATIOS.size)
    assert _likeliest(flat, 5) == (pytest.approx(_RATIOS[5], rel=1e-12), 5.0)
    assert _likeliest(tent(5), 5) == (pytest.approx(_RATIOS[5], rel=1e-12), 5.0)
    flat[4] = -4.0
    assert _likeliest(flat, 5) == (pytest.approx(math.sqrt(_RATIOS[5] * _RATIOS[6]), rel=1e-12), 5.5)
