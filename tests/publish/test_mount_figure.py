from __future__ import annotations

from dataclasses import replace

from jointlab.mount.setup import BlankJoint, Screws, Support, Tailstock
from jointlab.publish.drawing import ImageForm
from jointlab.publish.mount_figure import across_mm, link_place_mm, mount_figure
from jointlab.record.joint import Disc, Rectangle, Ring


def test_an_outline_is_seen_from_the_side_by_its_greatest_size() -> None:
    assert across_mm(Disc(130.0)) == 130.0
    assert across_mm(Ring(100.0, 40.0)) == 100.0
    assert across_mm(Rectangle(60.0, 80.0)) == 80.0


def test_the_drawing_is_the_same_each_time_and_changes_with_the_mount(made) -> None:
    setup = made.mount_of().setup
    supported = replace(setup, support=Support(Tailstock.THROUGHOUT, 80.0))
    larger = replace(setup, joint=replace(setup.joint, outline=Disc(150.0)))
    drawings = [mount_figure(each) for each in (setup, supported, larger)]
    assert mount_figure(setup) == drawings[0]
    assert len(set(drawings)) == 3
    assert mount_figure(setup, form=ImageForm.PNG).startswith(b"\x89PNG")


def test_the_governing_link_is_marked_where_it_is_and_named(made) -> None:
    setup = made.mount_of().setup
    screwed = replace(setup, screws=Screws(count=6, circle_mm=76.0, diameter_mm=5.0, thread_mm=30.0))
    glued_up = replace(screwed, blank_joints=(BlankJoint(40.0, 150.0, 90.0, setup.joint.combination),))
    links = ("blank_surface", "glue_line", "block", "screws", "blank_joint_1", "paper")
    places = {link: link_place_mm(glued_up, link) for link in links}
    assert places["blank_joint_1"] == (40.0, 60.0)
    assert places["screws"] == (15.0 - setup.block.thickness_mm, 38.0)
    assert places["glue_line"] == places["paper"] != places["blank_surface"]
    assert places["block"][0] == -setup.block.thickness_mm / 2
    drawings = [mount_figure(glued_up, governing_link=link) for link in links]
    assert len({mount_figure(glued_up), *drawings}) == 7
