"""A drawing of a mount from the side, to scale: spindle, plate, block, blank, and the furthest cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jointlab.mount.setup import MountSetup, Tailstock
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, RUST, WIDTH_IN, ImageForm, drawn, inked, lines_of
from jointlab.publish.wording import link_words, rounded
from jointlab.record.joint import Outline, Rectangle

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_PLATE_MM = 12.0
"""Thickness at which a plate is drawn; it stands for no measured one."""

_SPINDLE_MM = 30.0

_TALLEST_IN, _HEAD_IN, _FOOT_IN = 2.9, 0.85, 0.5
"""Height of the drawing at most, and what stands above and below it for words."""


def mount_figure(setup: MountSetup, *, governing_link: str | None = None, form: ImageForm = ImageForm.SVG) -> bytes:
    """The mount from the side, to scale but for the plate's thickness, with the sizes that matter [mm].

    Parameters
    ----------
    governing_link
        Name of the link with the least margin: a ringed mark stands on it, and its name beside; None: none is marked.
    """
    blank_mm, length_mm = float(setup.blank.diameter_mm), float(setup.blank.length_mm)
    block_mm, thick_mm = across_mm(setup.joint.outline), float(setup.block.thickness_mm)
    plate_mm = setup.hold.plate_mm or block_mm
    tallest_mm = max(blank_mm, block_mm, plate_mm)
    spindle_mm = 0.35 * max(tallest_mm, length_mm)
    left_mm, right_mm = -thick_mm - _PLATE_MM - spindle_mm, length_mm + 0.25 * max(tallest_mm, 0.5 * length_mm)
    drawing_in = min(_TALLEST_IN, WIDTH_IN * 1.06 * tallest_mm / (right_mm - left_mm))
    height_in = _HEAD_IN + drawing_in + _FOOT_IN
    with inked(height_in=height_in) as figure:
        axes = figure.add_axes((0.0, _FOOT_IN / height_in, 1.0, drawing_in / height_in))
        _draw_box(axes, 0.0, length_mm, blank_mm, face=PAPER, edge=INK, hatch="//")
        _draw_box(axes, -thick_mm, thick_mm, block_mm, face=LINE, edge=INK)
        _draw_box(axes, -thick_mm - _PLATE_MM, _PLATE_MM, plate_mm, face=MUTED, edge=INK)
        _draw_box(axes, left_mm, spindle_mm, min(_SPINDLE_MM, 0.6 * plate_mm), face=MUTED, edge=INK)
        axes.plot([left_mm, right_mm], [0.0, 0.0], color=MUTED, linewidth=0.8, linestyle=(0, (8, 3, 2, 3)))
        _draw_inner_links(axes, setup)
        axes.plot([0.0, 0.0], [-block_mm / 2, block_mm / 2], color=BLUE, linewidth=4.0, solid_capstyle="butt")
        _draw_reach(axes, setup, blank_mm)
        _write_sizes(axes, setup, blank_mm, block_mm)
        if setup.support.tailstock is not Tailstock.NONE:
            _draw_tailstock(axes, length_mm, right_mm, tallest_mm)
        if governing_link is not None:
            _mark_governing(axes, setup, governing_link)
        axes.set_xlim(left_mm, right_mm)
        axes.set_ylim(-0.53 * tallest_mm, 0.53 * tallest_mm)
        axes.set_aspect("equal")
        axes.set_axis_off()
        return drawn(figure, form)


def across_mm(outline: Outline) -> float:
    """Size across an outline as it is seen from the side [mm]: the diameter, or a rectangle's longer side."""
    if isinstance(outline, Rectangle):
        return max(outline.width_mm, outline.depth_mm)
    return outline.diameter_mm


def _draw_box(
    axes: Axes, left_mm: float, wide_mm: float, tall_mm: float, *, face: str, edge: str, hatch: str = ""
) -> None:
    from matplotlib.patches import Rectangle as Box

    box = Box(
        (left_mm, -tall_mm / 2),
        wide_mm,
        tall_mm,
        facecolor=face,
        edgecolor=LINE if hatch else edge,
        hatch=hatch or None,
    )
    axes.add_patch(box)
    axes.add_patch(Box((left_mm, -tall_mm / 2), wide_mm, tall_mm, fill=False, edgecolor=edge, linewidth=1.4))


def _draw_reach(axes: Axes, setup: MountSetup, blank_mm: float) -> None:
    reach_mm = float(setup.work.reach_mm)
    axes.annotate(
        f"furthest cut, {rounded(reach_mm)} mm",
        (reach_mm, blank_mm / 2),
        (0.98, 0.985),
        textcoords="figure fraction",
        color=RUST,
        ha="right",
        va="top",
        fontsize=10.0,
        fontweight="bold",
        annotation_clip=False,
        arrowprops={"arrowstyle": "-|>", "color": RUST, "linewidth": 2.0, "relpos": (0.6, 0.0)},
    )


def _write_sizes(axes: Axes, setup: MountSetup, blank_mm: float, block_mm: float) -> None:
    length_mm, thick_mm = float(setup.blank.length_mm), float(setup.block.thickness_mm)
    blank = f"blank {rounded(blank_mm)}\nby {rounded(length_mm)} mm"
    joint = f"joint {rounded(block_mm)} mm\nblock {rounded(thick_mm)} mm"
    sheet = axes.figure
    sheet.text(0.02, 0.015, joint, ha="left", va="bottom", fontsize=10.5, color=BLUE, fontweight="bold")
    sheet.text(0.98, 0.015, blank, ha="right", va="bottom", fontsize=10.5)


def _draw_tailstock(axes: Axes, length_mm: float, right_mm: float, tallest_mm: float) -> None:
    tip_mm, half_mm = length_mm, 0.07 * tallest_mm
    back_mm = min(right_mm, length_mm + 0.22 * tallest_mm)
    axes.fill(
        [tip_mm, back_mm, back_mm], [0.0, half_mm, -half_mm], facecolor=MUTED, edgecolor=INK, linewidth=1.2, zorder=3
    )


def _draw_inner_links(axes: Axes, setup: MountSetup) -> None:
    """The screws in the block and the joints inside the blank, where the mount describes them."""
    if setup.screws is not None:
        plate_face_mm, half_mm = -float(setup.block.thickness_mm), float(setup.screws.circle_mm) / 2
        tip_mm = plate_face_mm + float(setup.screws.thread_mm)
        for side in (half_mm, -half_mm):
            axes.plot([plate_face_mm - _PLATE_MM, tip_mm], [side, side], color=INK, linewidth=2.2)
    for joint in setup.blank_joints:
        height_mm, outer_mm, inner_mm = float(joint.height_mm), float(joint.outer_mm), float(joint.inner_mm)
        for side in (1.0, -1.0):
            ends = [side * inner_mm / 2, side * outer_mm / 2]
            axes.plot([height_mm, height_mm], ends, color=BLUE, linewidth=2.2, linestyle=(0, (3, 1)))


def link_place_mm(setup: MountSetup, link: str) -> tuple[float, float]:
    """Where a link is marked in the section [mm]: along the axis from the glue line, and out from it."""
    block_mm, thick_mm = across_mm(setup.joint.outline), float(setup.block.thickness_mm)
    if link == "screws" and setup.screws is not None:
        return (float(setup.screws.thread_mm) / 2 - thick_mm, float(setup.screws.circle_mm) / 2)
    if link == "block":
        return (-thick_mm / 2, 0.36 * block_mm)
    if link == "blank_surface":
        return (0.02 * float(setup.blank.length_mm), 0.36 * block_mm)
    if link.startswith("blank_joint_"):
        joint = setup.blank_joints[int(link.removeprefix("blank_joint_")) - 1]
        return (float(joint.height_mm), (float(joint.outer_mm) + float(joint.inner_mm)) / 4)
    return (0.0, 0.36 * block_mm)


def _mark_governing(axes: Axes, setup: MountSetup, link: str) -> None:
    place = link_place_mm(setup, link)
    axes.annotate(
        f"governs:\n{lines_of(link_words(link), letters=16)}",
        place,
        (0.02, 0.985),
        textcoords="figure fraction",
        va="top",
        ha="left",
        fontsize=10.5,
        fontweight="bold",
        annotation_clip=False,
        arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 1.4, "shrinkB": 5.0, "relpos": (0.6, 0.0)},
    )
    axes.plot(*place, marker="o", markersize=11, markerfacecolor=PAPER, markeredgecolor=INK, markeredgewidth=2.0)
    axes.plot(*place, marker="x", markersize=6, markeredgecolor=INK, markeredgewidth=2.0)
