"""The grab a mount stands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.mount_demand import demand_at_force
from jointlab.record.joint import Disc
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.stands import largest_kept, least_rated_margin, stands_n


def test_the_force_found_keeps_the_margin_and_a_little_more_does_not(setup, make_evidence):
    capacity = mount_capacity(setup, make_evidence(1.2, 3.0))
    force = stands_n(setup, capacity)
    assert least_rated_margin(demand_at_force(setup, force), capacity) == pytest.approx(1.5, rel=1e-6)
    assert least_rated_margin(demand_at_force(setup, force * 1.001), capacity) < 1.5


def test_a_stronger_joint_is_limited_by_its_screws(setup, make_evidence):
    strong = stands_n(setup, mount_capacity(setup, make_evidence(50.0, 60.0)))
    stronger = stands_n(setup, mount_capacity(setup, make_evidence(500.0, 600.0)))
    assert strong == stronger
    assert 4000.0 < strong < 6000.0


def test_it_is_nothing_when_weight_and_cut_already_miss_the_margin(setup, make_evidence):
    small = replace(setup, joint=replace(setup.joint, outline=Disc(60.0)))
    assert stands_n(small, mount_capacity(small, make_evidence(0.5, 0.6))) == 0.0


def test_it_is_unknown_without_a_strength(setup, make_evidence):
    assert stands_n(setup, mount_capacity(setup, make_evidence(None, None))) is None
    assert stands_n(setup, mount_capacity(setup, None)) is None


def test_halving_finds_the_edge_and_gives_up_far_out():
    assert largest_kept(lambda force: force <= 1234.5678) == pytest.approx(1234.5678, rel=1e-8)
    assert largest_kept(lambda force: force <= 0.37) == pytest.approx(0.37, rel=1e-7)
    assert largest_kept(lambda force: force >= 0.0) >= 1e9
    assert largest_kept(lambda force: force < 0.0) == 0.0
