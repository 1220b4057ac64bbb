"""The drawings of a wall sheet: what joints held, combination by combination, and how mounts went, one mark each."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from jointlab.pool.together import FieldCount
from jointlab.pool.values import PooledCombination
from jointlab.publish.drawing import (
    BLUE,
    GREEN,
    HANDLED,
    HELD,
    INK,
    LINE,
    MUTED,
    PAPER,
    PLUM,
    RELIED_ON,
    RUST,
    STEP,
    ImageForm,
    Mark,
    drawn,
    inked,
    key_of_marks,
    lines_of,
    quiet_axis,
)
from jointlab.publish.forest_figure import PULL, drawn_at_mpa, pull_mark
from jointlab.publish.wording import counted
from jointlab.verdict.field_record import End

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SOURCE = "judgement"

MOST_COMBINATIONS = 8
MOST_STROKES = 400
"""Combinations a sheet bears, and pulls of one that are drawn singly; of more every so-manieth (``SOURCE``)."""

MEDIAN = Mark("median of all shops", "D", GREEN, GREEN, 2.4)
NEXT = Mark("the next joint of a new shop exceeds this", "|", INK, INK, 3.0, RELIED_ON.dashes)

IN_USE = "in use"
ENDS = {
    str(End.FINISHED): Mark("finished", "o", BLUE, BLUE),
    IN_USE: Mark("still in use", "o", MUTED, PAPER),
    str(End.TAKEN_OFF_UNEASY): Mark("taken off, uneasy", "D", PLUM, PAPER),
    str(End.NEAR_MISS): Mark("near miss", "^", RUST, PAPER),
    str(End.JOINT_OPENED): Mark("joint opened", "P", RUST, RUST),
    str(End.LET_GO): Mark("let go", "X", RUST, RUST),
}
"""How each way a mount can end is drawn: its shape says it, its colour repeats it."""

_ROW_IN, _FOOT_IN, _KEY_IN, _LETTERS = 0.66, 0.62, 0.2, 46
_A_LINE, _LINE_IN, _TITLE_IN, _MOST_LINES = 18, 0.19, 0.3, 4


def wall_strengths_figure(combinations: Sequence[PooledCombination], *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Pulls of the combinations most shops have pulled [MPa], a row each, as an image; no shop is named."""
    rows = combinations[:MOST_COMBINATIONS]
    seen = {pull_mark(bounds) for each in rows for bounds in _bounds_of(each)}
    kinds = [mark for mark in (PULL, STEP, HELD, HANDLED) if mark in seen]
    kinds += [MEDIAN, NEXT] if any(each.pooled is not None for each in rows) else []
    foot_in = _FOOT_IN + _KEY_IN * len(kinds)
    height_in = _ROW_IN * len(rows)
    with inked(height_in=height_in + foot_in) as figure:
        share = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.03, share, 0.94, 1.0 - share))
        for place, each in enumerate(rows):
            _draw_combination(axes, each, len(rows) - place)
        axes.set_ylim(0.0, len(rows))
        quiet_axis(axes, label="strength at the glue line, MPa")
        axes.set_xlim(0.0, 1.05 * max((drawn_at_mpa(one) for each in rows for one in _bounds_of(each)), default=1.0))
        key_of_marks(figure, kinds)
        return drawn(figure, form)


def _bounds_of(each: PooledCombination) -> list[tuple[float, float | None]]:
    return [bounds for seen in each.seen for bounds in seen.bounds_mpa]


def _draw_combination(axes: Axes, each: PooledCombination, top: int) -> None:
    axes.axhline(top, color=LINE, linewidth=0.8)
    behind = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.0}
    lines = (
        (0.17, f"{each.combination}, {each.action}", "bold", INK),
        (0.4, f"{counted(each.pulls, 'pull')} of {counted(len(each.seen), 'shop')}", "normal", MUTED),
    )
    for below, told, weight, colour in lines:
        axes.text(0.0, top - below, lines_of(told, letters=_LETTERS, lines=1), transform=axes.get_yaxis_transform(),
                  va="center", fontsize=9.0, fontweight=weight, color=colour, bbox=behind)  # fmt: skip
    at, bounds = top - 0.75, _bounds_of(each)
    shown = bounds[:: math.ceil(len(bounds) / MOST_STROKES)] if bounds else []
    for mark in (PULL, STEP, HELD, HANDLED):
        places = [drawn_at_mpa(one) for one in shown if pull_mark(one) is mark]
        shape = "|" if mark is STEP else mark.shape
        axes.plot(places, [at] * len(places), linestyle="", marker=shape, markersize=9, color=mark.colour,
                  markerfacecolor=mark.face, markeredgewidth=1.3, zorder=2)  # fmt: skip
    if each.pooled is not None:
        median = math.exp(each.pooled.effects[-1].mean)
        axes.plot([median], [at], marker=MEDIAN.shape, markersize=8, color=MEDIAN.colour, markeredgecolor=PAPER,
                  zorder=4)  # fmt: skip
        axes.plot([each.pooled.next_joint_mpa] * 2, [at - 0.2, at + 0.2], color=NEXT.colour, linewidth=NEXT.stroke,
                  zorder=3)  # fmt: skip


def ends_by_size(field: Sequence[FieldCount]) -> tuple[tuple[str, Counter[str]], ...]:
    """How mounts of each size of blank ended, over all catches, the smallest blanks first."""
    sizes: dict[str, Counter[str]] = {}
    for count in field:
        sizes.setdefault(count.size, Counter()).update(dict(count.ends))
    return tuple(sizes.items())


def wall_mounts_figure(field: Sequence[FieldCount], *, form: ImageForm = ImageForm.SVG) -> bytes:
    """One mark a mount, by size of blank, those that went wrong first, as an image; no mount is named."""
    sizes = ends_by_size(field)
    order = [str(end) for end in (End.LET_GO, End.JOINT_OPENED, End.NEAR_MISS, End.TAKEN_OFF_UNEASY)]
    order += [IN_USE, str(End.FINISHED)]
    marks = [(size, [end for end in order for _ in range(ends[end])]) for size, ends in sizes]
    kinds = [ENDS[end] for end in order if any(end in ends for _, ends in sizes)]
    heights_in = [_TITLE_IN + _LINE_IN * _lines(len(ends)) for _, ends in marks]
    foot_in = 0.1 + _KEY_IN * len(kinds)
    height_in = sum(heights_in)
    with inked(height_in=height_in + foot_in) as figure:
        axes = figure.add_axes((0.03, foot_in / (height_in + foot_in), 0.94, height_in / (height_in + foot_in)))
        axes.set_axis_off()
        axes.set_xlim(-0.6, _A_LINE - 0.4)
        axes.set_ylim(0.0, height_in)
        top_in = height_in
        for (size, ends), row_in in zip(marks, heights_in, strict=True):
            _draw_mounts(axes, f"blanks {size}: {counted(len(ends), 'mount')}", ends, top_in)
            top_in -= row_in
        key_of_marks(figure, kinds)
        return drawn(figure, form)


def _lines(mounts: int) -> int:
    return min(math.ceil(mounts / _A_LINE), _MOST_LINES)


def _draw_mounts(axes: Axes, title: str, ends: Sequence[str], top_in: float) -> None:
    left_out = len(ends) - _A_LINE * _MOST_LINES
    told = f"{title} ({left_out} more that went well)" if left_out > 0 else title
    axes.text(-0.5, top_in - 0.13, told, va="center", fontsize=9.0, fontweight="bold")
    for place, end in enumerate(ends[: _A_LINE * _MOST_LINES]):
        mark = ENDS[end]
        at_in = top_in - _TITLE_IN - _LINE_IN * (place // _A_LINE)
        axes.plot([place % _A_LINE], [at_in], linestyle="", marker=mark.shape, markersize=9, color=mark.colour,
                  markerfacecolor=mark.face, markeredgecolor=mark.colour, markeredgewidth=1.5)  # fmt: skip
