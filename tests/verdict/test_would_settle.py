"""Ways out: each holds exactly when applied, and is the smallest of its kind."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from jointlab.mount.setup import Tailstock
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.verdict.assessed import assessed
from jointlab.verdict.decide import decide
from jointlab.verdict.values import Outcome
from jointlab.verdict.would_settle import LEAST_REACH_SHARE, twist_way, ways_out


def applied(setup, setting):
    """The setup with a way's settings, by the same keys as the mount's own file."""
    for key, value in setting:
        match key:
            case "joint.diameter_mm":
                outline = setup.joint.outline
                larger = Ring(value, outline.hole_mm) if isinstance(outline, Ring) else Disc(value)
                setup = replace(setup, joint=replace(setup.joint, outline=larger))
            case "joint.width_mm" | "joint.depth_mm":
                outline = replace(setup.joint.outline, **{key.removeprefix("joint."): value})
                setup = replace(setup, joint=replace(setup.joint, outline=outline))
            case "work.reach_mm":
                setup = replace(setup, work=replace(setup.work, reach_mm=value))
            case "lathe.rpm":
                setup = replace(setup, lathe=replace(setup.lathe, speed_rpm=value))
            case "support.tailstock":
                setup = replace(setup, support=replace(setup.support, tailstock=Tailstock(value)))
            case "screws.count":
                setup = replace(setup, screws=replace(setup.screws, count=value))
            case _:
                raise AssertionError(key)
    return setup


def kinds_of_ways(ways):
    return [tuple(key for key, _ in way.setting) for way in ways]


def test_a_mount_that_meets_its_margin_needs_no_way_out(setup, make_evidence):
    assert ways_out(setup, make_evidence(4.0, 6.0)) == ()


def test_the_smallest_disc_that_passes_is_offered(setup, make_evidence):
    evidence = make_evidence(1.0, 6.0)
    ways = ways_out(setup, evidence)
    diameter = dict(ways[0].setting)["joint.diameter_mm"]
    assert decide(applied(setup, ways[0].setting), evidence).verdict is Outcome.PASS
    below = replace(setup, joint=replace(setup.joint, outline=Disc(diameter - 1.0)))
    assert decide(below, evidence).verdict is Outcome.UNDECIDED
    assert f"{diameter:g} mm (disc)" in ways[0].text


@pytest.mark.parametrize(
    ("outline", "keys"),
    [
        (Disc(180.0), ("joint.diameter_mm",)),
        (Ring(180.0, 60.0), ("joint.diameter_mm",)),
        (Rectangle(150.0, 140.0), ("joint.width_mm", "joint.depth_mm")),
    ],
)
def test_a_joint_grows_in_its_own_shape(setup, make_evidence, outline, keys):
    mount = replace(setup, joint=replace(setup.joint, outline=outline))
    evidence = make_evidence(1.2, 6.0)
    way = next(way for way in ways_out(mount, evidence) if way.setting[0][0].startswith("joint."))
    assert tuple(key for key, _ in way.setting) == keys
    assert assessed(applied(mount, way.setting), evidence).margin_lower >= 1.5


def test_every_way_holds_when_applied_and_a_smaller_one_does_not(setup, make_evidence):
    evidence = make_evidence(1.62, 6.0)
    ways = ways_out(setup, evidence)
    assert ("support.tailstock",) in kinds_of_ways(ways)
    assert ("joint.diameter_mm",) in kinds_of_ways(ways)
    assert ("work.reach_mm",) in kinds_of_ways(ways)
    for way in ways:
        assert assessed(applied(setup, way.setting), evidence).margin_lower >= 1.5
    reach = next(dict(way.setting)["work.reach_mm"] for way in ways if way.setting[0][0] == "work.reach_mm")
    further = replace(setup, work=replace(setup.work, reach_mm=reach + 5.0))
    assert assessed(further, evidence).margin_lower < 1.5


def test_a_lower_speed_is_offered_where_imbalance_rules(setup, make_evidence):
    wild = replace(
        setup,
        blank=replace(setup.blank, offset_mm=40.0, mass_kg=9.0),
        lathe=replace(setup.lathe, speed_rpm=1200.0),
    )
    evidence = make_evidence(3.0, 6.0)
    ways = [way for way in ways_out(wild, evidence) if way.setting == (way.setting[0],)]
    speed = next(dict(way.setting)["lathe.rpm"] for way in ways if way.setting[0][0] == "lathe.rpm")
    assert 300.0 <= speed < 1200.0
    assert assessed(applied(wild, (("lathe.rpm", speed),)), evidence).margin_lower >= 1.5
    assert assessed(applied(wild, (("lathe.rpm", speed + 10.0),)), evidence).margin_lower < 1.5


def test_the_tailstock_is_not_offered_near_the_axis_nor_where_it_comes_away(setup, make_evidence):
    evidence = make_evidence(1.62, 6.0)
    near = replace(setup, work=replace(setup.work, min_radius_mm=10.0))
    leaving = replace(setup, support=replace(setup.support, tailstock=Tailstock.ROUGHING))
    for mount in (near, leaving):
        assert all("support.tailstock" not in keys for keys in kinds_of_ways(ways_out(mount, evidence)))
    offered = next(way for way in ways_out(setup, evidence) if way.setting[0][0] == "support.tailstock")
    assert "hollowing" in offered.text


def test_more_screws_are_offered_when_screws_miss_and_joined_with_a_larger_joint(setup, make_evidence):
    few = replace(setup, screws=replace(setup.screws, count=4))
    strong = ways_out(few, make_evidence(4.0, 6.0))
    assert ("screws.count",) in kinds_of_ways(strong)
    both = ways_out(few, make_evidence(1.0, 6.0))
    assert both
    assert all(len(keys) > 1 for keys in kinds_of_ways(both))
    for way in both:
        assert assessed(applied(few, way.setting), make_evidence(1.0, 6.0)).margin_lower >= 1.5


def test_nothing_is_offered_where_nothing_helps(setup, make_evidence):
    assert ways_out(setup, make_evidence(0.001, 6.0)) == ()


def test_a_twist_test_states_the_bound_that_would_do(setup, make_evidence):
    evidence = make_evidence(1.9, 6.0)
    weak_shear = replace(setup, factors=(("size_shear", 0.3),))
    way = twist_way(weak_shear, evidence)
    needed = float(re.search(r"reaches (\d+\.\d\d) MPa", way.text)[1])
    assert assessed(weak_shear, make_evidence(1.9, 6.0, shear=(needed, 9.0))).margin_lower >= 1.5
    assert assessed(weak_shear, make_evidence(1.9, 6.0, shear=(needed - 0.01, 9.0))).margin_lower < 1.5


def test_no_twist_is_asked_where_shear_was_tested_or_cannot_help(setup, make_evidence):
    assert twist_way(setup, make_evidence(1.0, 6.0, shear=(0.5, 2.0))) is None
    assert twist_way(setup, make_evidence(0.2, 6.0)) is None
    assert twist_way(setup, make_evidence(4.0, 6.0)) is None


def test_no_reach_is_offered_that_leaves_most_of_the_blank_uncut(setup, make_evidence):
    wished_mm = float(setup.work.reach_mm)
    offered = []
    for tension_mpa in (0.1, 0.2, 0.3, 0.5, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8):
        ways = ways_out(setup, make_evidence(tension_mpa, 6.0))
        offered += [value for way in ways for key, value in way.setting if key == "work.reach_mm"]
    assert offered
    assert all(LEAST_REACH_SHARE * wished_mm <= reach < wished_mm for reach in offered)
