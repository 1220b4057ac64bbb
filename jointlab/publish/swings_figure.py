"""How much each assumption moves an answer: a bar from one end of its range to the other, the widest on top."""

from __future__ import annotations

from collections.abc import Sequence

from jointlab.mount.sensitivity import Swing
from jointlab.publish.drawing import BLUE, INK, PAPER, ImageForm, drawn, inked, lines_of, quiet_axis
from jointlab.publish.wording import rounded

_ROW_IN = 0.46
_FOOT_IN = 0.8

LEAST_DRAWN = 0.001
"""Swing, as a share of the measure, below which an assumption is left out of the drawing."""


def swings_figure(swings: Sequence[Swing], *, label: str, form: ImageForm = ImageForm.SVG) -> bytes:
    """The measure at either end of each assumption's range, against what is assumed now, as an image.

    Assumptions that do not move it are left out.

    Parameters
    ----------
    swings
        In the order to be drawn, the first on top.
    label
        What is measured, with its unit.
    """
    now = swings[0].stands
    moving = [swing for swing in swings if swing.width >= LEAST_DRAWN]
    height_in = _ROW_IN * len(moving) + _FOOT_IN
    with inked(height_in=height_in) as figure:
        axes = figure.add_axes((0.42, _FOOT_IN / height_in, 0.55, 1.0 - _FOOT_IN / height_in))
        for place, swing in enumerate(moving):
            low, high = sorted((swing.at_low, swing.at_high))
            low, high = min(low, now), max(high, now)
            axes.barh(-place, high - low, left=low, height=0.56, color=BLUE, edgecolor=BLUE)
            for value, end in ((swing.at_low, swing.assumption.low), (swing.at_high, swing.assumption.high)):
                axes.plot([value], [-place], marker="o", color=PAPER, markeredgecolor=INK, markersize=7, zorder=5)
                side = -1 if value < now or (value == now and end == swing.assumption.low) else 1
                axes.annotate(
                    rounded(end), (value, -place), xytext=(7 * side, 0), textcoords="offset points", va="center",
                    ha="left" if side > 0 else "right", fontsize=9,
                    bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6}, zorder=6,
                )  # fmt: skip
            name = lines_of(swing.assumption.name, letters=23, lines=3)
            beside = axes.get_yaxis_transform()
            axes.text(-0.03, -place, name, transform=beside, va="center", ha="right", fontsize=9.5)
        axes.axvline(now, color=INK, linewidth=2.0)
        axes.set_ylim(-len(moving) + 0.4, 0.6)
        axes.margins(x=0.16)
        quiet_axis(axes, label="")
        figure.text(0.5, 0.12 / height_in, label, ha="center", va="bottom")
        return drawn(figure, form)
