"""The probability plot: what share of joints is weaker than a stress, as pulled and as the fitted families say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jointlab.publish.drawing import (
    EXACT,
    GREEN,
    HELD,
    INK,
    LINE,
    MUTED,
    PAPER,
    PLUM,
    RUST,
    STEP,
    ImageForm,
    Mark,
    Stroke,
    drawn,
    inked,
    lines_of,
)
from jointlab.publish.publication import PlottedBreak, ProbabilityPlot
from jointlab.strength.values import Family

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FAMILY_WORDS = {
    Family.NORMAL: "normal",
    Family.LOGNORMAL: "lognormal",
    Family.WEIBULL: "Weibull",
    Family.GUMBEL_MIN: "smallest extreme value",
}

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
    with inked(height_in=4.75) as figure:
        axes = figure.add_axes((0.135, 0.315, 0.835, 0.56))
        figure.text(
            0.02, 0.985, lines_of(f"{plot.combination}: {plot.action}", letters=46, lines=1), va="top",
            fontweight="bold",
        )  # fmt: skip
        for curve in plot.curves:
            colour, stroke = _STROKES[curve.family]
            axes.plot(
                curve.stress_mpa, curve.probability, color=colour, linestyle=stroke, linewidth=1.8,
                label=FAMILY_WORDS[curve.family],
            )  # fmt: skip
        for position in plot.positions:
            _draw_position(axes, position)
        _draw_relied_on(axes, plot)
        _frame(axes, plot)
        figure.legend(
            loc="lower left", bbox_to_anchor=(0.02, 0.0), ncols=2, borderpad=0.2, borderaxespad=0.0, labelspacing=0.35,
            handlelength=2.6, columnspacing=1.2,
        )  # fmt: skip
        return drawn(figure, form)


def _draw_position(axes: Axes, position: PlottedBreak) -> None:
    import seaborn as sns

    mark, place, height = EXACT, position.lower_mpa, position.probability
    if position.upper_mpa is None:
        mark, height = HELD, 0.0 if height is None else height
    elif position.lower_mpa != position.upper_mpa:
        mark, place = STEP, position.upper_mpa
        axes.plot([position.lower_mpa, position.upper_mpa], [height or 0.0] * 2, color=STEP.colour, linewidth=1.8)
    sns.scatterplot(
        x=[place],
        y=[height],
        ax=axes,
        marker=mark.shape,
        s=40,
        facecolor=mark.face,
        edgecolor=PAPER if mark is EXACT else mark.colour,
        linewidth=0.6 if mark is EXACT else 1.6,
        zorder=4,
        clip_on=False,
        label=_label_once(axes, mark),
        legend=False,
    )


def _label_once(axes: Axes, mark: Mark) -> str | None:
    _, words = axes.get_legend_handles_labels()
    return None if mark.word in words else mark.word


def _draw_relied_on(axes: Axes, plot: ProbabilityPlot) -> None:
    bound = plot.working_bound
    if bound is None or bound.bound_mpa is None:
        return
    share = 1.0 - bound.coverage
    axes.plot([bound.bound_mpa] * 2, [0.0, 1.0], color=INK, linewidth=3.0, label="can be relied on")
    axes.plot([0.0, bound.bound_mpa], [share, share], color=INK, linewidth=0.8)


def _frame(axes: Axes, plot: ProbabilityPlot) -> None:
    seen = [value for each in plot.positions for value in (each.lower_mpa, each.upper_mpa or 0.0)]
    axes.set_xlim(0.0, 1.12 * max(seen, default=1.0))
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([0.05, 0.25, 0.5, 0.75, 1.0], ["5 %", "25 %", "50 %", "75 %", "all"])
    axes.grid(color=LINE)
    axes.set_xlabel("stress at the glue line, MPa")
    axes.set_title("share of joints that break below this stress", loc="left", fontsize=10.5)
