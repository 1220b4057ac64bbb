"""A drawing of a mount from the side, to scale: spindle, plate, block, blank, and the furthest cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jointlab.mount.setup import MountSetup, Tailstock
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, RUST, WIDTH_IN, ImageForm, drawn, inked
from jointlab.publish.wording import rounded
from jointlab.record.joint import Outline, Rectangle

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_PLATE_MM = 12.0
"""Thickness at which a plate is drawn; it stands for no measured one."""

_SPINDLE_MM = 30.0


def mount_figure(setup: MountSetup, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """The mount from the side, to scale but for the plate's thickness, with the sizes that matter [mm]."""
    blank_mm, length_mm = float(setup.blank.diameter_mm), float(setup.blank.length_mm)
    block_mm, thick_mm = across_mm(setup.joint.outline), float(setup.block.thickness_mm)
    plate_mm = setup.hold.plate_mm or block_mm
    tallest_mm = max(blank_mm, block_mm, plate_mm)
    left_mm, right_mm = -thick_mm - _PLATE_MM - 0.35 * tallest_mm, length_mm + 0.25 * tallest_mm
    height_in = min(4.4, WIDTH_IN * 1.5 * tallest_mm / (right_mm - left_mm))
    with inked(height_in=height_in) as figure:
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        _draw_box(axes, 0.0, length_mm, blank_mm, face=PAPER, edge=INK, hatch="//")
        _draw_box(axes, -thick_mm, thick_mm, block_mm, face=LINE, edge=INK)
        _draw_box(axes, -thick_mm - _PLATE_MM, _PLATE_MM, plate_mm, face=MUTED, edge=INK)
        _draw_box(axes, left_mm, -thick_mm - _PLATE_MM - left_mm, _SPINDLE_MM, face=MUTED, edge=INK)
        axes.plot([left_mm, right_mm], [0.0, 0.0], color=MUTED, linewidth=0.8, linestyle=(0, (8, 3, 2, 3)))
        axes.plot([0.0, 0.0], [-block_mm / 2, block_mm / 2], color=BLUE, linewidth=4.0, solid_capstyle="butt")
        _draw_reach(axes, setup, blank_mm, tallest_mm)
        _write_sizes(axes, setup, blank_mm, block_mm, tallest_mm)
        if setup.support.tailstock is not Tailstock.NONE:
            _draw_tailstock(axes, length_mm, tallest_mm)
        axes.set_xlim(left_mm, right_mm)
        axes.set_ylim(-0.75 * tallest_mm, 0.75 * tallest_mm)
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


def _draw_reach(axes: Axes, setup: MountSetup, blank_mm: float, tallest_mm: float) -> None:
    reach_mm = float(setup.work.reach_mm)
    axes.annotate(
        "",
        (reach_mm, blank_mm / 2),
        (reach_mm, blank_mm / 2 + 0.13 * tallest_mm),
        arrowprops={"arrowstyle": "-|>", "color": RUST, "linewidth": 2.4},
    )
    axes.text(
        reach_mm, blank_mm / 2 + 0.15 * tallest_mm, f"furthest cut, {rounded(reach_mm)}", color=RUST, ha="center",
        fontsize=10.0, fontweight="bold",
    )  # fmt: skip


def _write_sizes(axes: Axes, setup: MountSetup, blank_mm: float, block_mm: float, tallest_mm: float) -> None:
    length_mm, thick_mm = float(setup.blank.length_mm), float(setup.block.thickness_mm)
    below_mm = -max(blank_mm, block_mm) / 2 - 0.05 * tallest_mm
    blank = f"blank {rounded(blank_mm)}\nby {rounded(length_mm)}"
    joint = f"joint {rounded(block_mm)}\nblock {rounded(thick_mm)}"
    axes.text(length_mm / 2, below_mm, blank, ha="center", va="top", fontsize=10.5)
    axes.text(-thick_mm / 2, below_mm, joint, ha="right", va="top", fontsize=10.5, color=BLUE, fontweight="bold")


def _draw_tailstock(axes: Axes, length_mm: float, tallest_mm: float) -> None:
    tip_mm, back_mm, half_mm = length_mm, length_mm + 0.22 * tallest_mm, 0.07 * tallest_mm
    axes.fill(
        [tip_mm, back_mm, back_mm], [0.0, half_mm, -half_mm], facecolor=MUTED, edgecolor=INK, linewidth=1.2, zorder=3
    )
