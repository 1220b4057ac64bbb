"""How pulls lie over glue-ups, and what the rig would have let them show."""

import math
from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare.layout import Layout


def test_glue_ups_of_one_name_are_one_block_whatever_the_case(sample_of) -> None:
    layout = Layout.of(
        [
            sample_of("maple", [1.0, 2.0, 3.0], glue_ups=["Day A", "day a", "Day B"]),
            sample_of("mdf", [1.0, 2.0], glue_ups=["DAY B", "Day C"]),
        ]
    )
    assert list(layout.block) == [0, 0, 1, 1, 2]
    assert (layout.blocks, layout.groups, layout.n) == (3, 2, 5)
    assert layout.shared
    assert layout.repeated
    assert layout.connected
    assert list(layout.glue_ups) == [2, 2]
    assert layout.shares == pytest.approx(np.array([[2 / 3, 1 / 3, 0.0], [0.0, 0.5, 0.5]]))


def test_glue_ups_apart_are_neither_shared_nor_connected(sample_of) -> None:
    layout = Layout.of([sample_of("maple", [1.0, 2.0]), sample_of("mdf", [1.0, 2.0])])
    assert not layout.shared
    assert not layout.repeated
    assert not layout.connected


def test_a_pull_without_a_known_limit_takes_the_highest_load_that_held(sample_of) -> None:
    part = sample_of("maple", [4.0, 5.0, 4.5, 6.0], held=[False, True, False, False])
    layout = Layout.of([part])
    assert np.exp(layout.limit[:3]) == pytest.approx([5.0] * 3)
    assert math.isinf(layout.limit[3])  # it broke above: its rig had no such limit
    known = replace(part.sample, cap_mpa=np.array([7.0, 5.0, np.inf, 8.0]))
    assert np.exp(Layout.of([replace(part, sample=known)]).limit) == pytest.approx([7.0, 5.0, 5.0, 8.0])


def test_the_seed_knows_numbers_and_censoring_but_no_strength(sample_of) -> None:
    one = Layout.of([sample_of("maple", [4.0, 5.0], held=[False, True])])
    other = Layout.of([sample_of("maple", [1.0, 9.0], held=[False, True])])
    third = Layout.of([sample_of("maple", [4.0, 5.0])])
    assert one.seed() == other.seed()
    assert one.seed() != third.seed()
