"""Own spreads: estimates by hand, coverage of the family, glue-ups counted as assumed."""

import math

import numpy as np
import pytest

from jointlab.compare.layout import Layout
from jointlab.compare.own_spreads import estimates_with_own_spreads
from jointlab.compare.simultaneous import factor_of


def estimated(parts, family, ratio: float = 1.0, replicates: int = 4000):
    rng = np.random.default_rng(1)
    return estimates_with_own_spreads(Layout.of(parts), family=family, ratio=ratio, replicates=replicates, rng=rng)


def test_errors_are_those_of_welch(sample_of) -> None:
    one, other = sample_of("maple", [2.0, 2.2, 2.7]), sample_of("mdf", [1.0, 1.5, 1.1, 1.2])
    got = estimated([one, other], [(0, 1)])
    logs = [np.log([2.0, 2.2, 2.7]), np.log([1.0, 1.5, 1.1, 1.2])]
    error = math.sqrt(sum(x.var(ddof=1) / x.size for x in logs))
    assert got.log_median == pytest.approx([x.mean() for x in logs])
    assert got.log_sd == pytest.approx([x.std(ddof=1) for x in logs])
    assert got.errors[0] == pytest.approx(error)


def test_two_combinations_of_one_spread_have_nearly_students_factor(drawn) -> None:
    got = estimated(drawn([1.0, 1.0], 10), [(0, 1)], replicates=20_000)
    # Welch's t at nearly equal spreads: 18 degrees of freedom, 2.101; the ratio of spreads seen costs a little.
    assert factor_of(got.largest, confidence=0.95) == pytest.approx(2.13, abs=0.06)


def test_two_glue_ups_widen_the_interval_by_what_is_assumed_of_them(sample_of) -> None:
    strengths = [2.0, 2.2, 2.7, 2.4, 2.1, 2.5]
    apart = [sample_of("maple", strengths), sample_of("mdf", strengths)]
    two = [sample_of(name, strengths, glue_ups=[f"{name} {k // 3}" for k in range(6)]) for name in ("maple", "mdf")]
    loose, counted = estimated(apart, [(0, 1)]), estimated(two, [(0, 1)])
    # Variance of a mean of two glue-ups of three, in squares of the spread: 1/6 + 1/2 in place of 1/6.
    assert counted.errors[0] / loose.errors[0] == pytest.approx(2.0, rel=0.1)
    assert estimated(two, [(0, 1)], ratio=0.0).errors[0] == pytest.approx(loose.errors[0], rel=1e-12)


def test_a_thousand_combinations_have_no_draws_but_a_factor(drawn) -> None:
    parts = drawn([1.0] * 70, 4)
    got = estimated(parts, [(index, 0) for index in range(1, 70)], replicates=500)
    assert got.draws is None
    assert factor_of(got.largest, confidence=0.95) > 3.0
