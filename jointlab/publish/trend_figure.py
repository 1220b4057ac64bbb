"""A trend: strength against what it may change with, every pull at its place, the fitted ratio and its interval."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jointlab.compare.trends import Trend, TrendPull
from jointlab.publish.drawing import (
    BLUE,
    EXACT,
    HANDLED,
    HELD,
    INK,
    LINE,
    MUTED,
    STEP,
    ImageForm,
    Mark,
    drawn,
    inked,
    key_of_marks,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_HEIGHT_IN, _FOOT_IN, _KEY_IN = 3.5, 0.1, 0.2
_TICKS = (1.0, 1.5, 2.0, 3.0, 5.0, 7.0)
_FITTED = Mark("fitted ratio, with its interval", "", BLUE, BLUE, 2.4, "-")


def trend_figure(trend: Trend, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Strength of every pull over its combination's at the middle of what was tested, with the fitted ratio.

    Each combination stands at its own level, so that pulls of all of them lie on one line; the band is the interval of
    the ratio. Nothing is drawn beyond what was tested.
    """
    import seaborn as sns

    kinds = [kind for kind in (EXACT, HELD, STEP, HANDLED) if any(_mark_of(pull) is kind for pull in trend.pulls)]
    foot_in = _FOOT_IN + _KEY_IN * (len(kinds) + 1)
    height_in = _HEIGHT_IN + foot_in
    with inked(height_in=height_in) as figure:
        axes = figure.add_axes((0.14, (foot_in + 0.55) / height_in, 0.82, (_HEIGHT_IN - 1.35) / height_in))
        at = [point.at for point in trend.curve]
        axes.fill_between(
            at,
            [point.ratio.value if point.ratio.lower is None else point.ratio.lower for point in trend.curve],
            [point.ratio.value if point.ratio.upper is None else point.ratio.upper for point in trend.curve],
            facecolor=LINE, edgecolor=MUTED, linewidth=0.8,
        )  # fmt: skip
        sns.lineplot(x=at, y=[point.ratio.value for point in trend.curve], ax=axes, color=BLUE, linewidth=2.4, zorder=3)
        axes.axhline(1.0, color=INK, linewidth=0.8, linestyle=(0, (4.0, 3.0)), zorder=2)
        for pull in trend.pulls:
            _draw_pull(axes, pull)
        if trend.quantity.by_ratio:
            axes.set_xscale("log")
            ticks = _ticks(*trend.span)
            axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
            axes.minorticks_off()
        axes.set_ylim(bottom=0.0)
        axes.grid(axis="both")
        axes.set_xlabel(trend.quantity.words)
        axes.set_ylabel("")
        figure.text(0.03, 1.0 - 0.06 / height_in, _title(trend), ha="left", va="top", fontsize=10.5, fontweight="bold")
        key_of_marks(figure, [*(_upright(kind) for kind in kinds), _FITTED])
        return drawn(figure, form)


def _draw_pull(axes: Axes, pull: TrendPull) -> None:
    mark = _mark_of(pull)
    ends = [pull.lower, pull.lower if pull.upper is None else pull.upper]
    axes.plot(
        [pull.at] * (2 if mark is STEP else 1), ends if mark is STEP else ends[1:],
        "_" if mark is STEP else _SHAPES.get(mark.shape, mark.shape), linestyle="-" if mark is STEP else "none",
        color=mark.colour, markerfacecolor=mark.face, markeredgewidth=1.4, markersize=6, zorder=4,
    )  # fmt: skip


_SHAPES = {HELD.shape: "^", HANDLED.shape: "v"}
"""Marks that point along the axis of strength, which stands upright here."""


def _upright(mark: Mark) -> Mark:
    return Mark(mark.word, _SHAPES.get(mark.shape, mark.shape), mark.colour, mark.face, mark.stroke, mark.dashes)


def _mark_of(pull: TrendPull) -> Mark:
    if pull.upper is None:
        return HELD
    if pull.lower == pull.upper:
        return EXACT
    return HANDLED if pull.lower == 0.0 else STEP


def _title(trend: Trend) -> str:
    ratio = trend.ratio
    between = (
        "" if ratio.lower is None or ratio.upper is None else f"\n(interval {ratio.lower:.2f} to {ratio.upper:.2f})"
    )
    return f"Strength over that in the middle.\n{trend.per}: strength times {ratio.value:.2f}{between}"


def _ticks(low: float, high: float) -> list[float]:
    """Round values along a scale of ratios, the fewer the wider it is."""
    decades = [10.0**power for power in range(-3, 7)]
    all_of = [step * decade for decade in decades for step in _TICKS]
    inside = [tick for tick in all_of if low * 0.999 <= tick <= high * 1.001]
    if len(inside) > 6:
        inside = [tick for tick in inside if tick in decades or tick / 2.0 in decades or tick / 5.0 in decades]
    return inside or [low, high]
