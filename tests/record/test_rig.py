"""From a reading to the load on the joint."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jointlab.record.finding import FindingCode, Severity
from jointlab.record.rig import (
    Rig,
    RigCheck,
    RigKind,
    joint_load,
    load_at,
    reading_uncertainty,
    rig_findings,
    smallest_load,
)
from jointlab.units import Quantity

G = 9.80665
SCALE = Rig("luggage scale", RigKind.SCALE_IN_LINE, capacity=50 * G, resolution=0.01 * G, class_pct=0.5)
GAUGE = Rig("jack", RigKind.JACK_AND_GAUGE, ratio=1963.5, capacity=16.0, class_pct=1.6)


def test_a_scale_in_line_reads_the_load_itself():
    assert load_at(SCALE, 200.0) == 200.0
    assert joint_load(SCALE, 200.0).cap == pytest.approx(50 * G)


def test_zero_is_taken_off_before_the_ratio_and_tare_added_after():
    # by hand: lever 4:1 whose weight puts 30 N on the joint, scale showing 2 N unloaded: (102 - 2) x 4 + 30
    lever = Rig("lever", RigKind.LEVER, ratio=4.0, tare=30.0, zero=2.0, capacity=202.0, step=10.0)
    load = joint_load(lever, 102.0)
    assert load.load == 430.0
    assert load.cap == 830.0
    assert load.step == 40.0


def test_the_gauge_example_of_class_16_read_at_half_range():
    # 0-160 bar, class 1.6, read at 80 bar: u = 0.016 x 16 MPa / sqrt 3 = 0.148 MPa, 1.85 % (derived; GUM 4.3.7)
    assert reading_uncertainty(GAUGE, 8.0) == pytest.approx(0.148, abs=5e-4)
    assert joint_load(GAUGE, 8.0).uncertainty_pct == pytest.approx(1.85, abs=5e-3)


def test_the_class_of_a_scale_is_of_the_reading_and_the_resolution_counts_for_reading_and_zero():
    # by hand: hypot(0.005 x 100 / sqrt 3, sqrt 2 x 0.098 / sqrt 12)
    expected = math.hypot(0.5 / math.sqrt(3), math.sqrt(2) * 0.0980665 / math.sqrt(12))
    assert reading_uncertainty(SCALE, 100.0) == pytest.approx(expected, rel=1e-12)
    assert joint_load(SCALE, 100.0).uncertainty_pct == pytest.approx(expected, rel=1e-12)


def test_an_uncertainty_that_is_not_known_is_none_and_not_zero():
    plain = Rig("strap", RigKind.SCALE_IN_LINE)
    assert reading_uncertainty(plain, 10.0) is None
    assert joint_load(plain, 10.0).uncertainty_pct is None
    assert joint_load(plain, 10.0).cap is None
    assert smallest_load(plain) is None


def test_the_smallest_load_is_the_resolution_through_the_ratio():
    assert smallest_load(replace(SCALE, ratio=3.0)) == pytest.approx(0.03 * G)


@pytest.mark.parametrize(
    ("kind", "reads", "loads"),
    [
        (RigKind.SCALE_IN_LINE, Quantity.FORCE, Quantity.FORCE),
        (RigKind.JACK_AND_GAUGE, Quantity.STRESS, Quantity.FORCE),
        (RigKind.TORQUE_WRENCH, Quantity.TORQUE, Quantity.TORQUE),
    ],
)
def test_each_kind_says_what_it_reads_and_what_acts_on_the_joint(kind, reads, loads):
    assert (kind.reads, kind.loads) == (reads, loads)


CHECKED = replace(SCALE, checks=(RigCheck("2026-01-05", 98.0665, 98.1), RigCheck("2024-01-05", 98.0, 90.0)))


@pytest.mark.parametrize(
    ("share", "codes"),
    [(0.19, [FindingCode.RIG_RANGE]), (0.21, []), (0.5, []), (0.79, []), (0.81, [FindingCode.RIG_RANGE])],
)
def test_a_peak_outside_a_fifth_to_four_fifths_of_the_range_is_warned_of(share, codes):
    found = rig_findings(CHECKED, peak=share * 50 * G, today="2026-03-14")
    assert [finding.code for finding in found] == codes


def test_the_range_is_that_of_the_load_on_the_joint():
    lever = replace(CHECKED, ratio=10.0)
    assert rig_findings(lever, peak=250 * G, today="2026-03-14") == ()
    assert rig_findings(lever, peak=25 * G, today="2026-03-14")[0].code is FindingCode.RIG_RANGE


@pytest.mark.parametrize(
    ("checks", "code"),
    [
        ((), FindingCode.RIG_UNCHECKED),
        ((RigCheck("2025-03-13", 100.0, 100.0),), FindingCode.RIG_CHECK_OLD),
        ((RigCheck("2025-03-14", 100.0, 100.0),), None),
        ((RigCheck("2026-03-01", 100.0, 101.0),), FindingCode.RIG_CHECK_OFF),
        ((RigCheck("2026-03-01", 100.0, 100.5),), None),
    ],
)
def test_a_check_that_is_missing_old_or_off_is_told(checks, code):
    found = rig_findings(replace(SCALE, checks=checks), peak=None, today="2026-03-14")
    assert [finding.code for finding in found] == ([code] if code else [])
    assert all(finding.severity is not Severity.BLOCKING for finding in found)


def test_the_latest_check_counts():
    assert CHECKED.last_check == RigCheck("2026-01-05", 98.0665, 98.1)
    assert SCALE.last_check is None


@pytest.mark.parametrize("share", [0.2, 0.8])
def test_a_peak_at_the_very_edge_of_the_best_of_the_range_is_not_questioned(share):
    round_rig = Rig("bar", RigKind.SCALE_IN_LINE, capacity=100.0)
    codes = {finding.code for finding in rig_findings(round_rig, peak=100.0 * share, today="2026-05-01")}
    assert FindingCode.RIG_RANGE not in codes


def test_what_a_check_may_be_off_is_class_and_step_of_the_known_mass():
    # class 1 % of 100 N and a step of 1 N: 2 N, so that 1.9 N off is allowed and 2.02 N off is not
    rig = Rig("scale", RigKind.SCALE_IN_LINE, capacity=500.0, resolution=1.0, class_pct=1.0)
    for shown, off in ((101.9, False), (102.02, True)):
        checked = replace(rig, checks=(RigCheck("2026-05-01", known=100.0, shown=shown),))
        codes = {finding.code for finding in rig_findings(checked, peak=None, today="2026-05-02")}
        assert (FindingCode.RIG_CHECK_OFF in codes) is off


def test_step_and_uncertainty_are_sizes_even_where_the_reading_falls_as_the_load_grows():
    # a scale that carries a hung weight of 100 N, twice the lever: each newton less on it is two more on the joint
    rig = Rig("unloading", RigKind.LEVER, ratio=-2.0, tare=100.0, resolution=math.sqrt(6.0), step=5.0)
    load = joint_load(rig, 30.0)
    # by hand: 100 - 2 x 30 = 40 N; u = 2 x sqrt 2 x sqrt 6 / sqrt 12 = 2 N, 5 % of it
    assert (load.load, load.step) == (40.0, 10.0)
    assert load.uncertainty_pct == pytest.approx(5.0, rel=1e-12)
    assert smallest_load(rig) == pytest.approx(2.0 * math.sqrt(6.0), rel=1e-15)


def test_a_check_is_due_a_year_after_the_last_one_by_its_date():
    later, earlier = RigCheck("2026-03-14T10:00", 100.0, 100.2), RigCheck("2025-01-02", 100.0, 99.9)
    assert SCALE.check_due_on is None
    assert replace(SCALE, checks=(later, earlier)).check_due_on == "2027-03-14"
    assert replace(SCALE, checks=(RigCheck("2027-12-01", 1.0, 1.0),)).check_due_on == "2028-11-30"
