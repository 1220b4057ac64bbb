import math

import numpy as np
import pytest
from scipy import stats

from jointlab.strength import StrengthSample
from jointlab.strength.noncentral_t import percentile_bound
from jointlab.strength.shared_spread import equal_spread_p, shared_spread_of

RNG = np.random.default_rng(5)
ALIKE = [StrengthSample.of_values(np.exp(RNG.normal(centre, 0.2, 5))) for centre in (1.0, 1.5, 1.2, 0.7)]


def factor_of(sample: StrengthSample, bound: float, log_sd: float) -> float:
    return (float(np.log(sample.lower_mpa).mean()) - math.log(bound)) / log_sd


def test_five_pulls_with_a_spread_of_sixteen_degrees_have_the_shorter_factor() -> None:
    # k = t'(0.95; 16, 1.645 sqrt 5) / sqrt 5 = 2.76 in place of 4.20 with their own four degrees (three digits).
    shared = shared_spread_of(ALIKE, ratio=0.0)
    assert shared is not None
    assert shared.degrees == 16
    for sample, bound in zip(ALIKE, shared.bounds_mpa, strict=True):
        assert factor_of(sample, bound, shared.log_sd) == pytest.approx(2.76, abs=0.005)
        own = math.exp(percentile_bound(np.log(sample.lower_mpa), coverage=0.95, confidence=0.95))
        own_sd = float(np.log(sample.lower_mpa).std(ddof=1))
        assert factor_of(sample, own, own_sd) == pytest.approx(4.20, abs=0.005)


def test_the_test_of_equal_spread_is_bartletts() -> None:
    groups = [np.log(sample.lower_mpa) for sample in ALIKE]
    free = np.array([group.size - 1.0 for group in groups])
    got = equal_spread_p(free, np.array([group.var(ddof=1) for group in groups]))
    assert got == pytest.approx(stats.bartlett(*groups).pvalue, rel=1e-10)


def test_spreads_that_differ_tenfold_are_doubted() -> None:
    wide = StrengthSample.of_values(np.exp(10.0 * (np.log(ALIKE[0].lower_mpa) - 1.0)))
    shared = shared_spread_of([*ALIKE, wide], ratio=0.0)
    assert shared is not None
    assert shared.doubtful
    alike = shared_spread_of(ALIKE, ratio=0.0)
    assert alike is not None
    assert not alike.doubtful


def test_the_bounds_hold_as_often_as_they_say() -> None:
    # 400 shops with three combinations of six pulls in two glue-ups, between-batch spread as assumed.
    rng, batch = np.random.default_rng(7), np.array([0, 0, 0, 1, 1, 1])
    truth = math.exp(-1.6448536269514722 * 0.2 * math.sqrt(2.0))
    above = []
    for _ in range(400):
        logs = [0.2 * (rng.normal(size=6) + rng.normal(size=2)[batch]) for _ in range(3)]
        shared = shared_spread_of([StrengthSample.of_values(np.exp(x), batch=batch) for x in logs])
        assert shared is not None
        above += [bound > truth for bound in shared.bounds_mpa]
    assert np.mean(above) == pytest.approx(0.05, abs=0.019)  # three standard errors of 1,200


def test_one_combination_censored_pulls_and_pulls_without_spread_share_nothing() -> None:
    held = StrengthSample.of_intervals([3.0, 4.0], [3.0, math.inf])
    flat = StrengthSample.of_values([3.0, 3.0, 3.0])
    for samples in ([ALIKE[0]], [ALIKE[0], held], [ALIKE[0], flat], [ALIKE[0], StrengthSample.of_values([3.0])]):
        assert shared_spread_of(samples) is None
