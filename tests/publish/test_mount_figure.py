from __future__ import annotations

from dataclasses import replace

from jointlab.mount.setup import Support, Tailstock
from jointlab.publish.drawing import ImageForm
from jointlab.publish.mount_figure import across_mm, mount_figure
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
