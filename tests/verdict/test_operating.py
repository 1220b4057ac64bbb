from dataclasses import replace
from pathlib import Path

import pytest

from jointlab.app import workflow
from jointlab.mount.envelope import EnvelopeAxis, with_size
from jointlab.mount.setup import BlankJoint, Tailstock
from jointlab.record.csv_file import read_csv
from jointlab.verdict.assessed import assessed, mount_capacity
from jointlab.verdict.operating import OperatingPoint, operating_envelope, usual_sizes_mm
from jointlab.verdict.stands import stands_n

DEMO = Path(__file__).parents[2] / "datasets" / "demo"


@pytest.fixture(scope="module")
def decision():
    pulls = read_csv((DEMO / "pulls.csv").read_bytes(), name="pulls.csv").pulls
    setup = workflow.mount_setup(DEMO / "mounts" / "bowl_on_maple.toml")
    return workflow.decision_among(setup, pulls, name="bowl_on_maple")


def envelope(decision, axis, sizes_mm, *tailstocks):
    return operating_envelope(
        decision.setup, decision.evidence, axis=axis, sizes_mm=sizes_mm, tailstocks=tailstocks or (Tailstock.NONE,)
    )


def test_the_mounts_own_size_stands_what_the_verdict_says(decision):
    own = decision.setup.joint.outline.diameter_mm
    (line,) = envelope(decision, EnvelopeAxis.JOINT_DIAMETER, [own])
    assert line.points[0].stands_n == pytest.approx(decision.verdict.stands_n, rel=2e-4)


def test_a_wider_joint_stands_more_and_turns_faster(decision):
    (line,) = envelope(decision, EnvelopeAxis.JOINT_DIAMETER, [80.0, 100.0, 120.0])
    forces = [point.stands_n for point in line.points]
    speeds = [point.largest_rpm or 0.0 for point in line.points]
    assert forces == sorted(forces)
    assert forces[2] > 1.5 * forces[0]
    assert speeds == sorted(speeds)


def test_a_longer_reach_stands_less(decision):
    (line,) = envelope(decision, EnvelopeAxis.REACH, [40.0, 60.0, 80.0])
    forces = [point.stands_n for point in line.points]
    assert forces == sorted(forces, reverse=True)


def test_the_tailstock_throughout_stands_no_less(decision):
    none, throughout = envelope(decision, EnvelopeAxis.REACH, [80.0], Tailstock.NONE, Tailstock.THROUGHOUT)
    assert throughout.points[0].stands_n >= none.points[0].stands_n


def test_practice_is_nine_thousand_over_inches(decision):
    # diameter in inches times rpm of 6000-9000 (common practice, no source): 250 mm is 9.84 in, at most 914 rpm
    (line,) = envelope(decision, EnvelopeAxis.JOINT_DIAMETER, [250.0])
    assert line.points[0].practice_rpm == pytest.approx(914.4, abs=0.1)
    assert line.points[0].above_practice


@pytest.mark.parametrize("axis", [EnvelopeAxis.JOINT_DIAMETER, EnvelopeAxis.REACH, EnvelopeAxis.BLANK_DIAMETER])
def test_usual_sizes_are_those_a_mount_could_have(decision, axis):
    sizes = usual_sizes_mm(decision.setup, axis)
    assert 3 <= len(sizes) <= 7
    assert list(sizes) == sorted(sizes)
    assert sizes[0] > 0


@pytest.mark.parametrize("tailstock", [Tailstock.NONE, Tailstock.THROUGHOUT])
@pytest.mark.parametrize("axis", [EnvelopeAxis.JOINT_DIAMETER, EnvelopeAxis.REACH, EnvelopeAxis.BLANK_DIAMETER])
def test_sizes_computed_at_once_stand_and_turn_as_each_mount_alone(decision, axis, tailstock):
    ring = BlankJoint(30.0, 125.0, 60.0, decision.setup.joint.combination)
    setup = replace(decision.setup, blank_joints=(ring,))
    evidence = replace(decision.evidence, blank_joints=(decision.evidence,))
    sizes = usual_sizes_mm(setup, axis)
    (line,) = operating_envelope(setup, evidence, axis=axis, sizes_mm=sizes, tailstocks=[tailstock])
    for point in line.points:
        mount = with_size(setup, axis=axis, size_mm=point.size_mm)
        mount = replace(mount, support=replace(mount.support, tailstock=tailstock))
        assert point.stands_n == pytest.approx(stands_n(mount, mount_capacity(mount, evidence)), rel=2e-4)
        slowest = float(mount.lathe.base_rpm)
        kept = {point.largest_rpm: True, (point.largest_rpm or slowest - 10.0) + 10.0: False}
        for speed, keeps in kept.items():
            if speed is not None and speed <= 3000.0:
                turned = replace(mount, lathe=replace(mount.lathe, speed_rpm=speed))
                assert (assessed(turned, evidence).margin_lower >= setup.criteria.margin) is keeps


def test_without_a_strength_nothing_is_said(decision):
    (line,) = operating_envelope(
        decision.setup, None, axis=EnvelopeAxis.REACH, sizes_mm=[40.0, 80.0], tailstocks=[Tailstock.NONE]
    )
    assert [(point.stands_n, point.largest_rpm) for point in line.points] == [(None, None), (None, None)]


def test_no_speed_at_all_is_not_above_practice():
    assert not OperatingPoint(size_mm=100.0, stands_n=None, largest_rpm=None, practice_rpm=900.0).above_practice
    assert not OperatingPoint(size_mm=100.0, stands_n=9.0, largest_rpm=900.0, practice_rpm=900.0).above_practice


def test_no_speed_beyond_three_thousand_is_looked_at(setup, make_evidence):
    # a centred blank on a joint that holds any speed: nothing but the end of the search limits it
    calm = replace(setup, blank=replace(setup.blank, offset_mm=0.0), screws=replace(setup.screws, count=16))
    (line,) = operating_envelope(
        calm,
        make_evidence(50.0, 60.0),
        axis=EnvelopeAxis.JOINT_DIAMETER,
        sizes_mm=[100.0, 200.0],
        tailstocks=[Tailstock.NONE],
    )
    assert [point.largest_rpm for point in line.points] == [3000.0, 3000.0]


def test_where_the_screws_are_weakest_half_as_many_stand_less_than_half(setup, make_evidence):
    # withdrawal goes by 1 / n, what the turning blank asks without a catch included: less is left for the catch
    evidence, stood = make_evidence(50.0, 60.0), {}
    for count in (4, 8):
        mount = replace(setup, screws=replace(setup.screws, count=count))
        (line,) = operating_envelope(
            mount, evidence, axis=EnvelopeAxis.REACH, sizes_mm=[100.0], tailstocks=[Tailstock.NONE]
        )
        stood[count] = line.points[0].stands_n
        assert stood[count] == pytest.approx(stands_n(mount, mount_capacity(mount, evidence)), rel=2e-4)
    assert 0.45 * stood[8] < stood[4] < 0.5 * stood[8]


@pytest.mark.parametrize(("share", "largest"), [(1.01, None), (0.5, 300.0), (-0.01, 310.0)])
def test_a_mount_may_turn_at_the_slowest_speed_of_its_lathe_alone(setup, make_evidence, share, largest):
    # bounds at which the slowest speed keeps the margin and one step more does not, and just beyond either
    slow = replace(setup, blank=replace(setup.blank, offset_mm=20.0))
    margins = [
        assessed(replace(slow, lathe=replace(slow.lathe, speed_rpm=rpm)), make_evidence(1.0, 9.0)).margin_lower
        for rpm in (300.0, 310.0)
    ]
    asked = setup.criteria.margin / (margins[1] + share * (margins[0] - margins[1]))
    (line,) = operating_envelope(
        slow, make_evidence(asked, 9.0), axis=EnvelopeAxis.REACH, sizes_mm=[100.0], tailstocks=[Tailstock.NONE]
    )
    assert line.points[0].largest_rpm == largest
