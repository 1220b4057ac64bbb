"""Effects of a comparison: each ratio of medians with its simultaneous interval, what it shows told by shape."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from jointlab.compare.values import Comparison, Difference, Effect
from jointlab.publish.drawing import (
    BLUE,
    INK,
    MUTED,
    PAPER,
    RUST,
    ImageForm,
    Mark,
    drawn,
    inked,
    key_of_marks,
    lines_of,
    quiet_axis,
)
from jointlab.record.vocabulary import Action

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MARKS = {
    Difference.STRONGER: Mark("shown stronger", "o", BLUE, BLUE, 2.4, "-"),
    Difference.WEAKER: Mark("shown weaker", "s", RUST, RUST, 2.4, "-"),
    Difference.NOT_SHOWN: Mark("difference not shown", "D", MUTED, PAPER, 1.6, (0.0, (3.0, 1.5))),
}

MOST_EFFECTS = 30
"""A figure bears so many; the others are left to the table, which the figure says."""

_TICKS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_FURTHEST = 100.0
_LETTERS = 43
_ROW_IN, _LINE_IN, _HEAD_IN, _FOOT_IN, _KEY_IN = 0.42, 0.17, 0.34, 0.62, 0.2


@dataclass(frozen=True, slots=True)
class _Row:
    """One effect, or the heading of an action."""

    title: str
    effect: Effect | None

    @property
    def height_in(self) -> float:
        return _HEAD_IN if self.effect is None else _ROW_IN + _LINE_IN * self.title.count("\n")


def effects_figure(comparisons: Sequence[tuple[Action, Comparison]], *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Ratios of median strengths with the intervals that hold at once, one comparison below the other, as an image."""
    rows, left_out = _rows(comparisons)
    shown = [row.effect for row in rows if row.effect is not None]
    kinds = [mark for difference, mark in MARKS.items() if any(effect.shown is difference for effect in shown)]
    height_in = sum(row.height_in for row in rows)
    foot_in = _FOOT_IN + _KEY_IN * (len(kinds) + bool(left_out))
    with inked(height_in=height_in + foot_in) as figure:
        share = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.04, share, 0.92, 1.0 - share))
        _scaled(axes, shown)
        at_in = height_in
        for row in rows:
            _draw_row(axes, row, at_in)
            at_in -= row.height_in
        axes.axvline(1.0, color=INK, linewidth=1.4, zorder=1)
        axes.set_ylim(0.0, height_in)
        told = f"{left_out} more effects stand in the table" if left_out else None
        key_of_marks(figure, kinds, title=told)
        return drawn(figure, form)


def _rows(comparisons: Sequence[tuple[Action, Comparison]]) -> tuple[list[_Row], int]:
    rows: list[_Row] = []
    free, left_out = MOST_EFFECTS, 0
    for action, comparison in comparisons:
        drawn_here = comparison.effects[:free]
        if drawn_here:
            rows.append(_Row(f"under {action}", None))
        rows.extend(
            _Row(lines_of(f"{effect.combination} against {effect.against}", letters=_LETTERS, lines=3), effect)
            for effect in drawn_here
        )
        free -= len(drawn_here)
        left_out += len(comparison.effects) - len(drawn_here)
    return rows, left_out


def _scaled(axes: Axes, effects: Sequence[Effect]) -> None:
    """A scale of ratios wide enough for every interval, at most a hundredfold either way."""
    ends = [
        end
        for effect in effects
        for end in (effect.ratio.value, effect.ratio.lower, effect.ratio.upper)
        if end is not None and end > 0.0
    ]
    least, most = max(min([0.8, *ends]), 1.0 / _FURTHEST), min(max([1.25, *ends]), _FURTHEST)
    quiet_axis(axes, label="ratio of median strengths; 1 is no difference")
    axes.set_xscale("log")
    axes.set_xlim(least / 1.15, most * 1.15)
    kept = [tick for tick in _TICKS if least / 1.15 <= tick <= most * 1.15]
    axes.set_xticks(kept, [f"{tick:g}" for tick in kept])
    axes.minorticks_off()


def _draw_row(axes: Axes, row: _Row, top_in: float) -> None:
    beside = axes.get_yaxis_transform()
    heading = row.effect is None
    axes.text(
        0.0, top_in - (0.1 if heading else 0.03), row.title, transform=beside, va="top",
        fontsize=10.5 if heading else 9.5, fontweight="bold" if heading else "normal",
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0}, zorder=4,
    )  # fmt: skip
    if row.effect is None:
        return
    ratio, mark = row.effect.ratio, MARKS[row.effect.shown]
    at_in = top_in - row.height_in + 0.12
    left, right = axes.get_xlim()
    lower = left if ratio.lower is None else max(ratio.lower, left)
    upper = right if ratio.upper is None else min(ratio.upper, right)
    axes.plot([lower, upper], [at_in] * 2, color=mark.colour, linewidth=mark.stroke, linestyle=mark.dashes, zorder=3)
    for end, own, shape in ((lower, ratio.lower, "<"), (upper, ratio.upper, ">")):
        axes.plot([end], [at_in], "|" if own == end else shape, color=mark.colour, markersize=8, markeredgewidth=1.8)
    axes.plot(
        [min(max(ratio.value, left), right)], [at_in], mark.shape, color=mark.colour, markerfacecolor=mark.face,
        markeredgewidth=1.6, markersize=7.5, zorder=5,
    )  # fmt: skip
