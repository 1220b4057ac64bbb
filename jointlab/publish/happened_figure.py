"""Predicted against happened: the margin said of each mount, and how the mount ended."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from jointlab.mount.setup import CatchClass
from jointlab.publish.drawing import BLUE, INK, MUTED, PAPER, RUST, ImageForm, drawn, inked, quiet_axis
from jointlab.verdict.field_record import End, FieldRecord
from jointlab.verdict.values import Outcome

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_ROWS: tuple[tuple[End | None, str], ...] = (
    (End.FINISHED, "finished"),
    (None, "on the lathe"),
    (End.TAKEN_OFF_UNEASY, "off, uneasy"),
    (End.NEAR_MISS, "near miss"),
    (End.JOINT_OPENED, "joint opened"),
    (End.LET_GO, "let go"),
)
_MARKS = {
    Outcome.PASS: ("o", BLUE, "pass"),
    Outcome.UNDECIDED: ("D", PAPER, "undecided"),
    Outcome.FAIL: ("X", RUST, "fail"),
}
_STEP, _SPREAD = 0.13, 5
_HEIGHT_IN = 4.4


def happened_figure(records: Sequence[FieldRecord], *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Margin said over margin required against how each mount ended, as an image.

    Left of the line less was known to hold than was asked. A mark ringed twice met a catch; which verdict was given
    tells its shape. Nothing of it is a strength.

    Parameters
    ----------
    records
        Those without a margin are left out.
    """
    known = [record for record in records if record.predicted.margin_lower is not None]
    with inked(height_in=_HEIGHT_IN) as figure:
        axes = figure.add_axes((0.3, 0.19, 0.66, 0.62))
        for place, (end, word) in enumerate(_ROWS):
            axes.text(-0.03, -place, word, transform=axes.get_yaxis_transform(), va="center", ha="right", fontsize=9.5)
            axes.axhline(-place, color=MUTED, linewidth=0.5, zorder=0)
            alike = [record for record in known if (record.ended.end if record.ended else None) is end]
            for number, record in enumerate(alike):
                _mark(axes, record, -place + _STEP * (number % _SPREAD - (min(len(alike), _SPREAD) - 1) / 2.0))
        axes.axvline(1.0, color=INK, linewidth=1.6)
        axes.set_ylim(-len(_ROWS) + 0.4, 0.6)
        axes.set_xlim(left=0.0, right=max(2.0, 1.15 * max((_ratio(record) for record in known), default=0.0)))
        quiet_axis(axes, label="margin said / margin required")
        _key(axes)
        told = "Said of each mount, and what became of it"
        figure.text(0.03, 0.97, told, ha="left", va="top", fontsize=10.5, fontweight="bold")
        return drawn(figure, form)


def _ratio(record: FieldRecord) -> float:
    said = record.predicted
    assert said.margin_lower is not None
    return said.margin_lower / said.margin_required


def _mark(axes: Axes, record: FieldRecord, height: float) -> None:
    marker, colour, _ = _MARKS[record.predicted.verdict]
    if any(record.catches(catch) for catch in CatchClass):
        axes.plot([_ratio(record)], [height], marker="o", color="none", markeredgecolor=INK, markersize=15)
    axes.plot([_ratio(record)], [height], marker=marker, color=colour, markeredgecolor=INK, markersize=8.5, zorder=4)


def _key(axes: Axes) -> None:
    from matplotlib.lines import Line2D

    shapes = [
        Line2D(
            [], [], marker=marker, color="none", markerfacecolor=colour, markeredgecolor=INK, markersize=8, label=word
        )
        for marker, colour, word in _MARKS.values()
    ]
    ringed = Line2D([], [], marker="o", color="none", markeredgecolor=INK, markersize=13, label="met a catch")
    axes.legend(
        handles=[*shapes, ringed], ncols=4, loc="lower left", bbox_to_anchor=(-0.46, 1.0), frameon=False, fontsize=9.0,
        handletextpad=0.3, columnspacing=1.2,
    )  # fmt: skip
