"""The probability plot: what share of joints is weaker than a stress, as pulled and as the fitted families say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from jointlab.publish.drawing import (
    EXACT,
    GREEN,
    HANDLED,
    HELD,
    HELD_OPEN,
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
    Stroke,
    drawn,
    inked,
    key_of_marks,
    lines_of,
)
from jointlab.publish.publication import PlottedBreak, ProbabilityPlot, held_open
from jointlab.publish.strengths_figure import CROWDED, MOST_MARKS
from jointlab.strength.values import Family

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from jointlab.strength.band import Band

FAMILY_WORDS = {
    Family.NORMAL: "normal",
    Family.LOGNORMAL: "lognormal",
    Family.WEIBULL: "Weibull",
    Family.GUMBEL_MIN: "smallest extreme value",
}

_PLOT_IN = 3.5
_BINS = 80
_MARK_SIZE, _LARGEST_MARK = 44.0, 260.0

_STROKES: dict[Family, tuple[str, Stroke]] = {
    Family.WEIBULL: (PLUM, "-"),
    Family.LOGNORMAL: (GREEN, (0, (5, 2))),
    Family.NORMAL: (RUST, (0, (1.2, 1.4))),
    Family.GUMBEL_MIN: (MUTED, (0, (6, 2, 1.2, 2))),
}


def probability_figure(plot: ProbabilityPlot, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Share of weaker joints against stress [MPa] as an image: the pulls, the fitted families, the strength relied on.

    Positions and curves are drawn as they are given; nothing is estimated here.
    """
    bound_mark = _bound_mark(plot)
    marks = {_kind_of(position) for position in plot.positions}
    kinds = [kind for kind in (EXACT, HELD, STEP, HANDLED) if kind in marks] + ([bound_mark] if bound_mark else [])
    strokes = [_stroke_of(curve.family) for curve in plot.curves]
    if plot.band is not None:
        share = f"{plot.band.confidence:.0%}"
        strokes.append(Mark(f"limits that hold for all stresses at once, {share} sure", "", MUTED, MUTED, 1.0, "-"))
    crowded = len(plot.positions) > MOST_MARKS
    foot_in = 0.72 + 0.2 * (len(strokes) + len(kinds) + crowded)
    with inked(height_in=_PLOT_IN + foot_in) as figure:
        height_in = _PLOT_IN + foot_in
        axes = figure.add_axes((0.155, foot_in / height_in, 0.815, (_PLOT_IN - 0.82) / height_in))
        title = lines_of(f"{plot.combination}: {plot.action}", letters=41)
        figure.text(0.02, 1.0 - 0.07 / height_in, title, va="top", fontsize=10.0, fontweight="bold")
        if plot.band is not None:
            _draw_band(axes, plot.band)
        for curve in plot.curves:
            stroke = _stroke_of(curve.family)
            axes.plot(
                curve.stress_mpa,
                curve.probability,
                color=stroke.colour,
                linestyle=stroke.dashes,
                linewidth=stroke.stroke,
            )
        _draw_positions(axes, plot.positions)
        if bound_mark is not None:
            _draw_bound(axes, plot, bound_mark)
        _frame(axes, plot)
        key_of_marks(figure, [*kinds, *strokes], title=CROWDED if crowded else None)
        return drawn(figure, form)


def _draw_band(axes: Axes, band: Band) -> None:
    """Both limits as steps, with a light tone between them that grey print keeps apart from the paper."""
    stress = [0.0, *band.stress_mpa, 2.0 * float(band.stress_mpa[-1])]
    low, high = [0.0, *band.low, float(band.low[-1])], [band.high_before, *band.high, float(band.high[-1])]
    axes.fill_between(stress, low, high, step="post", color=LINE, alpha=0.55, linewidth=0.0, zorder=0.5)
    for limit in (low, high):
        axes.step(stress, limit, where="post", color=MUTED, linewidth=1.0, zorder=0.6)


def _stroke_of(family: Family) -> Mark:
    colour, dashes = _STROKES[family]
    return Mark(f"{FAMILY_WORDS[family]} shape", "", colour, colour, 1.8, dashes)


def _kind_of(position: PlottedBreak) -> Mark:
    if position.upper_mpa is None:
        return HELD
    if position.lower_mpa == position.upper_mpa:
        return EXACT
    return HANDLED if position.lower_mpa == 0.0 else STEP


def _draw_positions(axes: Axes, positions: Sequence[PlottedBreak]) -> None:
    import seaborn as sns

    gathered = _gathered(positions)
    for kind in (STEP, HANDLED, HELD, EXACT):
        own = [position for position, _ in gathered if _kind_of(position) is kind]
        sizes = [min(_MARK_SIZE * count**0.5, _LARGEST_MARK) for each, count in gathered if _kind_of(each) is kind]
        heights = [0.0 if position.probability is None else position.probability for position in own]
        if kind is STEP:
            for position, height in zip(own, heights, strict=True):
                axes.plot(
                    (position.lower_mpa, position.upper_mpa or 0.0), (height, height), color=STEP.colour, linewidth=2.0,
                    marker="|", markersize=8, markeredgewidth=1.8, zorder=4, clip_on=False,
                )  # fmt: skip
        elif own:
            sns.scatterplot(
                x=[_place_mpa(position) for position in own],
                y=heights,
                ax=axes,
                marker=kind.shape,
                s=_MARK_SIZE if set(sizes) == {_MARK_SIZE} else sizes,
                facecolor=kind.face,
                edgecolor=PAPER if kind is EXACT else kind.colour,
                linewidth=0.5 if kind is EXACT else 1.6,
                zorder=4,
                clip_on=False,
                legend=False,
            )


def _gathered(positions: Sequence[PlottedBreak]) -> list[tuple[PlottedBreak, int]]:
    """Positions with what each stands for: itself, or, of very many, all that fall together with it."""
    if len(positions) <= MOST_MARKS:
        return [(position, 1) for position in positions]
    width_mpa = max(_place_mpa(position) for position in positions) / _BINS
    together: dict[tuple[Mark, int], list[PlottedBreak]] = {}
    for position in sorted(positions, key=_place_mpa):
        together.setdefault((_kind_of(position), int(_place_mpa(position) / width_mpa)), []).append(position)
    return [(fallen[len(fallen) // 2], len(fallen)) for fallen in together.values()]


def _place_mpa(position: PlottedBreak) -> float:
    return position.lower_mpa if position.upper_mpa is None else position.upper_mpa


def _bound_mark(plot: ProbabilityPlot) -> Mark | None:
    bound = plot.working_bound
    if bound is None or bound.bound_mpa is None:
        return None
    return HELD_OPEN if held_open((*bound.findings, *plot.findings)) else RELIED_ON


def _draw_bound(axes: Axes, plot: ProbabilityPlot, mark: Mark) -> None:
    bound = plot.working_bound
    assert bound is not None
    assert bound.bound_mpa is not None
    share = 1.0 - bound.coverage
    axes.plot(
        [bound.bound_mpa] * 2, [0.0, 1.0], color=INK, linewidth=mark.stroke, linestyle=mark.dashes,
        solid_capstyle="butt",
    )  # fmt: skip
    axes.plot([0.0, bound.bound_mpa], [share, share], color=INK, linewidth=0.8)


def _frame(axes: Axes, plot: ProbabilityPlot) -> None:
    seen = [value for each in plot.positions for value in (each.lower_mpa, each.upper_mpa or 0.0)]
    axes.set_xlim(0.0, 1.12 * max(seen, default=1.0))
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([0.05, 0.25, 0.5, 0.75, 1.0], ["5 %", "25 %", "50 %", "75 %", "all"])
    axes.grid(color=LINE)
    axes.set_xlabel("stress at the glue line, MPa")
    axes.set_title("share of joints that break below this", loc="left", fontsize=10.5)
