"""Blocks: paired differences, shifts that cancel, glue-ups apart counted as assumed."""

import math

import numpy as np
import pytest

from jointlab.compare.blocks import covariance_of_pulls, estimates_in_blocks, whitening_of
from jointlab.compare.layout import Layout
from jointlab.compare.simultaneous import factor_of


def estimated(parts, family, ratio: float = 1.0):
    rng = np.random.default_rng(1)
    return estimates_in_blocks(Layout.of(parts), family=family, ratio=ratio, replicates=4000, rng=rng)


def test_two_combinations_in_complete_blocks_are_compared_by_pairs(sample_of) -> None:
    days = [f"day {k}" for k in range(6)]
    one = sample_of("maple", [2.0, 4.1, 3.0, 2.4, 5.1, 2.9], glue_ups=days)
    other = sample_of("mdf", [1.1, 2.0, 1.4, 1.3, 2.6, 1.5], glue_ups=days)
    got = estimated([one, other], [(0, 1)])
    pairs = np.log(one.sample.lower_mpa / other.sample.lower_mpa)
    assert got.log_median[0] - got.log_median[1] == pytest.approx(pairs.mean())
    assert got.errors[0] == pytest.approx(pairs.std(ddof=1) / math.sqrt(6))
    assert factor_of(got.largest, confidence=0.95) == pytest.approx(2.571, abs=0.12)  # Student, 5 degrees of freedom


def test_a_shift_of_a_whole_glue_up_changes_no_difference(drawn, sample_of) -> None:
    parts = drawn([1.0, 1.3, 1.6], 6, shared=True)
    moved = []
    for part in parts:
        strengths = part.sample.lower_mpa.copy()
        strengths[2] *= 3.0
        moved.append(sample_of(part.combination.substrate, list(strengths), glue_ups=part.sample.batch_names))
    before, after = estimated(parts, [(0, 1), (1, 2)]), estimated(moved, [(0, 1), (1, 2)])
    assert np.diff(after.log_median) == pytest.approx(np.diff(before.log_median), abs=1e-12)
    assert after.errors == pytest.approx(before.errors, rel=1e-10)


def test_a_glue_of_other_glue_ups_is_less_surely_placed_than_a_substrate_of_the_same(sample_of) -> None:
    days = ["A", "A", "A", "B", "B", "B"]
    maple = sample_of("maple", [2.0, 2.2, 2.1, 2.6, 2.5, 2.4], glue_ups=days)
    mdf = sample_of("mdf", [1.0, 1.1, 1.05, 1.3, 1.25, 1.2], glue_ups=days)
    epoxy = sample_of("maple", [3.0, 3.2, 3.1, 3.6, 3.5, 3.3], glue_ups=["C"] * 3 + ["D"] * 3, glue="epoxy")
    got = estimated([maple, mdf, epoxy], [(0, 1), (0, 2)])
    assert got.errors[1] > 1.5 * got.errors[0]
    trusting = estimated([maple, mdf, epoxy], [(0, 1), (0, 2)], ratio=0.0)
    assert trusting.errors[1] < 0.6 * got.errors[1]


def test_whitening_makes_pulls_of_one_glue_up_independent(drawn) -> None:
    layout = Layout.of(drawn([1.0, 1.3], 3, shared=True))
    white, covariance = whitening_of(layout, ratio=0.7), covariance_of_pulls(layout, ratio=0.7)
    assert covariance[0, 0] == pytest.approx(1.49)
    assert covariance[0, 3] == pytest.approx(0.49)
    assert covariance[0, 1] == 0.0
    assert white @ covariance @ white.T == pytest.approx(np.eye(6), abs=1e-12)
