"""Ways out: each holds exactly when applied, and is the smallest of its kind."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from jointlab.mount.setup import Tailstock
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.verdict.assessed import assessed
from jointlab.verdict.decide import decide
from jointlab.verdict.values import Outcome
from jointlab.verdict.would_settle import LEAST_REACH_SHARE, _grown, twist_way, ways_out


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


def margin_of(setup, evidence):
    return assessed(setup, evidence).margin_lower


def offered(ways, key):
    return next(dict(way.setting)[key] for way in ways if key in dict(way.setting))


@pytest.mark.parametrize("outline", [Rectangle(150.0, 110.0), Rectangle(110.0, 150.0)])
def test_a_rectangle_grows_by_whole_millimetres_of_its_longer_side_and_keeps_its_shape(setup, make_evidence, outline):
    mount = replace(setup, joint=replace(setup.joint, outline=outline))
    way = dict(ways_out(mount, make_evidence(1.2, 6.0))[0].setting)
    longer, shorter = sorted((way["joint.width_mm"], way["joint.depth_mm"]), reverse=True)
    # 262 mm is the least that keeps the margin, and 262 x 110 / 150 = 192.13, up to the next tenth
    assert (longer, shorter) == (262.0, 192.2)
    assert (way["joint.width_mm"] > way["joint.depth_mm"]) is (outline.width_mm > outline.depth_mm)
    less = Rectangle(261.0, 191.4) if outline.width_mm > outline.depth_mm else Rectangle(191.4, 261.0)
    assert margin_of(replace(mount, joint=replace(mount.joint, outline=less)), make_evidence(1.2, 6.0)) < 1.5


@pytest.mark.parametrize(("width_mm", "depth_mm"), [(150.0, 100.0), (99.9, 60.0), (33.3, 33.3), (100.0, 150.4)])
def test_no_step_of_a_rectangle_is_a_tenth_too_long(width_mm, depth_mm):
    # 150 mm grown to 152 is 152.00000000000003 by the share of it: no reason to ask for 152.1
    longer = max(width_mm, depth_mm)
    for step in range(1, 200):
        grown = _grown(Rectangle(width_mm, depth_mm), step)
        assert max(grown.width_mm, grown.depth_mm) == math.floor(longer) + step
        assert (
            0.0
            <= min(grown.width_mm, grown.depth_mm) * longer
            - min(width_mm, depth_mm) * (math.floor(longer) + step)
            + 1e-6
            <= 0.1 * longer + 1e-5
        )


def test_the_least_reach_offered_is_one_step_where_a_quarter_of_the_wished_one_is_less(setup, make_evidence):
    short = replace(setup, work=replace(setup.work, reach_mm=20.0))
    at = {reach: replace(short, work=replace(short.work, reach_mm=reach)) for reach in (5.0, 10.0)}
    unit = make_evidence(1.0, 6.0)
    bound = 1.5 / math.sqrt(margin_of(at[5.0], unit) * margin_of(at[10.0], unit))
    evidence = make_evidence(bound, 6.0)
    assert margin_of(at[10.0], evidence) < 1.5 <= margin_of(at[5.0], evidence)
    assert offered(ways_out(short, evidence), "work.reach_mm") == 5.0


def test_a_reach_of_a_tenth_of_the_wished_one_is_not_offered_though_it_would_hold(setup, make_evidence):
    at = {reach: replace(setup, work=replace(setup.work, reach_mm=reach)) for reach in (10.0, 25.0, 100.0)}
    margins = {reach: margin_of(mount, make_evidence(1.0, 6.0)) for reach, mount in at.items()}
    evidence = make_evidence(1.5 / math.sqrt(margins[10.0] * margins[25.0]), 6.0)
    assert margin_of(at[25.0], evidence) < 1.5 <= margin_of(at[10.0], evidence)
    assert ("work.reach_mm",) not in kinds_of_ways(ways_out(at[100.0], evidence))
    # at a quarter it is: 25 mm of 100
    enough = make_evidence(1.501 / margins[25.0], 6.0)
    assert offered(ways_out(at[100.0], enough), "work.reach_mm") == 25.0


def test_a_speed_between_two_steps_is_brought_down_to_the_step_below(setup, make_evidence):
    wild = replace(
        setup,
        blank=replace(setup.blank, offset_mm=40.0, mass_kg=9.0),
        lathe=replace(setup.lathe, speed_rpm=1205.0),
        screws=replace(setup.screws, count=16),
    )
    step_below = replace(wild, lathe=replace(wild.lathe, speed_rpm=1200.0))
    unit = make_evidence(1.0, 9.0)
    bound = 1.5 / math.sqrt(margin_of(wild, unit) * margin_of(step_below, unit))
    evidence = make_evidence(bound, 9.0)
    assert margin_of(wild, evidence) < 1.5 <= margin_of(step_below, evidence)
    ways = ways_out(wild, evidence)
    assert offered(ways, "lathe.rpm") == 1200.0
    assert any(way.text.startswith("No more than 1200 rpm in place of 1205: every rated link") for way in ways)


@pytest.mark.parametrize(("share", "count"), [(1.01, 16), (0.97, None)])
def test_a_plate_is_asked_to_take_sixteen_screws_and_no_more(setup, make_evidence, share, count):
    # withdrawal is proportional to the length of thread: 16 screws just hold with a share of 1.01, 17 with 0.97
    evidence = make_evidence(9.0, 12.0)
    full = replace(setup, screws=replace(setup.screws, count=16))
    margin = next(link.margin_lower for link in assessed(full, evidence).links if link.link == "screws")
    thread_mm = share * setup.screws.thread_mm * 1.5 / margin
    ways = ways_out(replace(setup, screws=replace(setup.screws, thread_mm=thread_mm)), evidence)
    assert [dict(way.setting)["screws.count"] for way in ways if way.setting[0][0] == "screws.count"] == (
        [count] if count else []
    )


@pytest.mark.parametrize(("times", "asked"), [(10.5, False), (9.5, True)])
def test_no_twist_is_asked_to_show_more_than_ten_times_the_tension(setup, make_evidence, times, asked):
    # the tension at which a shear of so many times the tension would be just enough
    low, high = 0.5, 3.0
    for _ in range(40):
        middle = (low + high) / 2.0
        met = margin_of(setup, make_evidence(middle, 6.0, shear=(times * middle, 99.0))) >= 1.5
        low, high = (low, middle) if met else (middle, high)
    assert 0.5 < low < high < 3.0
    assert (twist_way(setup, make_evidence(high, 6.0)) is not None) is asked


def test_a_way_begins_a_sentence_and_a_second_part_goes_on_with_it(setup, make_evidence):
    few = replace(setup, screws=replace(setup.screws, count=4))
    for mount, bound_mpa in ((setup, 1.0), (setup, 1.62), (few, 1.0)):
        for way in ways_out(mount, make_evidence(bound_mpa, 6.0)):
            first, *others = way.text.partition(":")[0].split(" and ")
            assert first[0].isupper()
            assert all(part[0].islower() for part in others)
