from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.setup import CatchClass
from jointlab.publish.drawing import ImageForm
from jointlab.publish.grab_figure import grab_alt, grab_figure, grab_picture
from jointlab.sources import cited
from jointlab.verdict.values import Factor


def test_the_classes_stand_on_one_axis_with_their_force_range_and_whether_they_are_stood(made) -> None:
    picture = grab_picture(made.mount_of(stands_n=2340.0))
    assert [(mark.catch, mark.force_n, mark.low_n, mark.high_n, mark.stood) for mark in picture.marks] == [
        (CatchClass.LIGHT, 300.0, 150.0, 600.0, True),
        (CatchClass.FIRM, 1000.0, 500.0, 2000.0, True),
        (CatchClass.SEVERE, 3000.0, 1000.0, 5000.0, False),
    ]
    assert [mark.catch for mark in picture.marks if mark.asked] == [CatchClass.SEVERE]
    assert picture.told.startswith("It stands a grab of 2340 N at the far end: no less than a firm catch (1000 N)")


def test_the_most_the_lathe_brings_is_drawn_from_the_least_radius_cut(made) -> None:
    # 2.5 x 1100 W at 31.4 rad/s over 62.5 mm is 1400 N; stopping (2.2 x .25^2/8 + .008) kg m2 from there adds 250 N
    assert grab_picture(made.mount_of()).delivered_n == pytest.approx(1649, abs=50)


@pytest.mark.parametrize(("stands_n", "stood"), [(None, 0), (0.0, 0), (299.9, 0), (300.0, 1), (3000.0, 3)])
def test_a_catch_is_stood_up_to_its_own_force(stands_n, stood, made) -> None:
    assert sum(mark.stood for mark in grab_picture(made.mount_of(stands_n=stands_n)).marks) == stood


def test_a_force_set_by_hand_moves_its_mark(made) -> None:
    mount = made.mount_of()
    by_hand = Factor("severe_n", 2000.0, cited("judgement")[0], "set", overridden=True)
    moved = replace(mount, verdict=replace(mount.verdict, factors=(by_hand,)))
    assert [mark.force_n for mark in grab_picture(moved).marks] == [300.0, 1000.0, 2000.0]
    assert grab_figure(moved) != grab_figure(mount)


@pytest.mark.parametrize("stands_n", [None, 0.0, 3.0, 90.0, 2340.0, 40_000.0, 1e9])
def test_every_grab_can_be_drawn_and_is_told_in_words(stands_n, made) -> None:
    mount = made.mount_of(stands_n=stands_n)
    assert grab_figure(mount, form=ImageForm.PNG).startswith(b"\x89PNG")
    assert "On one axis of force: light 300 N (may be 150 to 600)" in grab_alt(mount)


def test_the_same_mount_gives_the_same_drawing(made) -> None:
    assert grab_figure(made.mount_of()) == grab_figure(made.mount_of())
    assert grab_figure(made.mount_of()) != grab_figure(made.mount_of(stands_n=2000.0))
