"""Readings around a face: each as a mark, the plane that fits them best, and what it leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from jointlab.mount.fit_up import FLAT_MM, FitUp
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, RUST, ImageForm, drawn, inked
from jointlab.publish.wording import rounded

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_HEIGHT_IN = 5.5
_TURN_DEG = np.linspace(0.0, 360.0, 181)


def runout_figure(fit: FitUp, *, before: FitUp | None = None, form: ImageForm = ImageForm.SVG) -> bytes:
    """The readings of a face over one turn with the plane that leans through them, and below, what the plane leaves.

    Parameters
    ----------
    fit
        The face as it was read.
    before
        The same face as it was read earlier, drawn hollow.
    """
    with inked(height_in=_HEIGHT_IN) as figure:
        turn = figure.add_axes((0.17, 0.60, 0.79, 0.33))
        left = figure.add_axes((0.17, 0.23, 0.79, 0.23))
        _draw_turn(turn, fit, before)
        _draw_left(left, fit)
        handles, words = (
            a + b for a, b in zip(*(each.get_legend_handles_labels() for each in (turn, left)), strict=True)
        )
        figure.legend(handles, words, loc="lower left", bbox_to_anchor=(0.02, 0.0), borderpad=0.2, labelspacing=0.3)
        return drawn(figure, form)


def _draw_turn(axes: Axes, fit: FitUp, before: FitUp | None) -> None:
    if before is not None:
        _draw_readings(axes, before, face=PAPER, colour=RUST, shape="s", word="read before")
    _draw_readings(axes, fit, face=BLUE, colour=BLUE, shape="o", word="read now" if before else "read")
    rim_mm = np.cos(np.radians(_TURN_DEG) - fit.high_at_rad) * fit.tilt_mm / 2.0
    axes.plot(_TURN_DEG, rim_mm, color=INK, linewidth=1.8, label=f"the lean: {rounded(fit.tilt_mm)} mm across")
    _finish(axes, f"readings about their middle, mm (runout {rounded(fit.runout_mm)})")


def _draw_readings(axes: Axes, fit: FitUp, *, face: str, colour: str, shape: str, word: str) -> None:
    """Marks about the plane's middle; on a smaller circle the lean is drawn as it is at the outermost one."""
    angle_rad = fit.readings.angle_rad
    lean_mm = np.cos(angle_rad - fit.high_at_rad) * fit.tilt_mm / 2.0
    axes.plot(
        np.degrees(angle_rad) % 360.0, lean_mm + fit.left_mm, linestyle="none", marker=shape, markersize=6,
        markerfacecolor=face, markeredgecolor=colour, markeredgewidth=1.4, label=word, zorder=4,
    )  # fmt: skip


def _draw_left(axes: Axes, fit: FitUp) -> None:
    highest = max(float(np.abs(fit.left_mm).max()), FLAT_MM) * 1.25
    flat = f"true enough to glue: {rounded(FLAT_MM, digits=2)} mm in all"
    axes.axhspan(
        -FLAT_MM / 2, FLAT_MM / 2, facecolor=PAPER, edgecolor=LINE, hatch="//", linewidth=0.0, zorder=0, label=flat
    )
    axes.axhline(0.0, color=MUTED, linewidth=1.0)
    axes.vlines(np.degrees(fit.readings.angle_rad) % 360.0, 0.0, fit.left_mm, color=BLUE, linewidth=3.0)
    axes.set_ylim(-highest, highest)
    _finish(axes, f"what the lean leaves, mm (warp {rounded(fit.warp_mm)})")
    axes.set_xlabel("angle around the face, degrees", labelpad=2)


def _finish(axes: Axes, title: str) -> None:
    axes.set_title(title, loc="left", fontsize=10.5, fontweight="bold", x=-0.19)
    axes.set_xlim(-8.0, 368.0)
    axes.set_xticks([0, 90, 180, 270, 360])
    axes.grid(axis="y")
    axes.tick_params(length=3)
