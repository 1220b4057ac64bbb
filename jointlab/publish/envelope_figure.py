"""The operating envelope: the grab a mount stands and the speed it allows, as one of its sizes varies."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from jointlab.mount.envelope import own_size_mm
from jointlab.mount.setup import LoadAssumptions, MountSetup, Tailstock
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, RUST, ImageForm, drawn, inked
from jointlab.publish.envelope_table import TAILSTOCK_WORDS
from jointlab.publish.wording import rounded
from jointlab.verdict.operating import OperatingLine

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LEAST_SPAN_MM = 10.0
"""Where a mount could have but one size, the panel shows this much around it."""

_PANEL_IN, _GAP_IN, _HEAD_IN, _FOOT_IN = 1.55, 0.75, 0.3, 1.05

_AXIS_WORDS = {
    "joint_diameter_mm": "joint across, mm",
    "reach_mm": "furthest cut from the joint, mm",
    "blank_diameter_mm": "blank across, mm",
    "hollow_diameter_mm": "hollow across, mm",
}

_LOOKS: dict[Tailstock, dict[str, Any]] = {
    Tailstock.NONE: {"color": BLUE, "marker": "o", "linestyle": "-", "markerfacecolor": BLUE},
    Tailstock.ROUGHING: {"color": MUTED, "marker": "^", "linestyle": ":", "markerfacecolor": PAPER},
    Tailstock.THROUGHOUT: {"color": RUST, "marker": "s", "linestyle": "--", "markerfacecolor": PAPER},
}


def envelope_figure(setup: MountSetup, lines: Sequence[OperatingLine], *, form: ImageForm = ImageForm.SVG) -> bytes:
    """For each size that varies: grab stood [N] and largest speed [rpm], a line for each way of the tailstock.

    The mount as it is stands on the dotted upright; the classes of catch and the fastest the trade turns are drawn in.

    Parameters
    ----------
    setup
        The mount itself.
    lines
        The envelope; lines of one axis share their panels.

    Raises
    ------
    ValueError
        There is no line to draw.
    """
    axes_drawn = list(dict.fromkeys(line.axis for line in lines))
    if not axes_drawn:
        raise ValueError("an envelope has one line at least")
    height_in = _HEAD_IN + _FOOT_IN + len(axes_drawn) * 2 * (_PANEL_IN + _GAP_IN) - _GAP_IN
    with inked(height_in=height_in) as figure:
        top_in = height_in - _HEAD_IN
        for axis in axes_drawn:
            of_axis = [line for line in lines if line.axis is axis]
            for draw in (_draw_grab, _draw_speed):
                panel = figure.add_axes((0.17, (top_in - _PANEL_IN) / height_in, 0.79, _PANEL_IN / height_in))
                draw(panel, setup, of_axis)
                _finish(panel, setup, of_axis)
                top_in -= _PANEL_IN + _GAP_IN
        handles, words = panel.get_legend_handles_labels()
        figure.legend(handles, words, loc="lower left", bbox_to_anchor=(0.02, 0.005), borderpad=0.2, labelspacing=0.3)
        return drawn(figure, form)


def _draw_grab(panel: Axes, setup: MountSetup, lines: Sequence[OperatingLine]) -> None:
    assumed: LoadAssumptions = setup.assumptions
    stood = [point.stands_n for line in lines for point in line.points if point.stands_n is not None]
    highest_n = max([*stood, float(assumed.firm_n)]) * 1.12
    for line in lines:
        known = [(point.size_mm, point.stands_n) for point in line.points if point.stands_n is not None]
        _draw_line(panel, line, known)
    for word, force in (("light", assumed.light_n), ("firm", assumed.firm_n), ("severe", assumed.severe_n)):
        if float(force) < highest_n:
            panel.axhline(float(force), color=INK, linewidth=0.9, zorder=1)
            panel.annotate(
                word, (1.0, float(force)), xycoords=("axes fraction", "data"), xytext=(-2, 2),
                textcoords="offset points", ha="right", fontsize=9.0, color=INK,
                bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6},
            )  # fmt: skip
    panel.set_ylim(0.0, highest_n)
    panel.set_title("grab it stands at the furthest cut, N", loc="left", fontsize=10.5, fontweight="bold", x=-0.19)


def _draw_speed(panel: Axes, setup: MountSetup, lines: Sequence[OperatingLine]) -> None:
    for line in lines:
        known = [(point.size_mm, point.largest_rpm) for point in line.points if point.largest_rpm is not None]
        _draw_line(panel, line, known)
    points = lines[0].points
    panel.plot([point.size_mm for point in points], [point.practice_rpm for point in points], color=INK, linewidth=1.2)
    fastest = max(point.largest_rpm or 0.0 for line in lines for point in line.points)
    highest_rpm = 1.15 * max(fastest, float(setup.lathe.speed_rpm), min(point.practice_rpm for point in points))
    panel.fill_between(
        [point.size_mm for point in points], [point.practice_rpm for point in points], highest_rpm,
        facecolor=PAPER, edgecolor=LINE, hatch="//", linewidth=0.0, zorder=0,
    )  # fmt: skip
    panel.set_ylim(0.0, highest_rpm)
    panel.set_title(
        "largest speed, rpm (hatched: above the trade's)", loc="left", fontsize=10.5, fontweight="bold", x=-0.19
    )


def _draw_line(panel: Axes, line: OperatingLine, known: Sequence[tuple[float, float]]) -> None:
    panel.plot(
        [size for size, _ in known], [value for _, value in known], label=TAILSTOCK_WORDS[line.tailstock],
        linewidth=1.8, markersize=6, markeredgewidth=1.4, **_LOOKS[line.tailstock],
    )  # fmt: skip


def _finish(panel: Axes, setup: MountSetup, lines: Sequence[OperatingLine]) -> None:
    axis = lines[0].axis
    sizes = [point.size_mm for point in lines[0].points]
    panel.axvline(own_size_mm(setup, axis), color=INK, linewidth=1.2, linestyle=(0, (1, 2)), zorder=1)
    room_mm = 0.03 * max(max(sizes) - min(sizes), _LEAST_SPAN_MM)
    panel.set_xlim(min(sizes) - room_mm, max(sizes) + room_mm)
    panel.grid(axis="y")
    panel.tick_params(length=3)
    panel.set_xlabel(f"{_AXIS_WORDS[axis]} (dotted: now {rounded(own_size_mm(setup, axis))})", labelpad=2)
