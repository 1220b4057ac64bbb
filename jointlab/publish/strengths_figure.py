"""The figure of strengths: every pull of every combination, its censoring told by shape, and what can be relied on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from jointlab.publish.drawing import (
    EXACT,
    HANDLED,
    HELD,
    INK,
    MUTED,
    PAPER,
    RELIED_ON,
    STEP,
    UNUSED,
    ImageForm,
    Mark,
    drawn,
    inked,
    lines_of,
    quiet_axis,
)
from jointlab.publish.publication import PublishedPull
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.strength.values import CombinationStrength

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_MARKS = 2000
"""Above this many pulls marks that fall together are drawn as one, larger, and the figure says so."""

_BINS = 80
_ROW_IN, _BATCH_IN, _FOOT_IN, _LEGEND_LINE_IN, _TOP_IN = 0.48, 0.15, 0.85, 0.2, 0.02
_LINES = "a line of marks for each glue-up"
_CROWDED = "many pulls: marks that fall together are one, larger"
_LABEL_LETTERS = 46


@dataclass(frozen=True, slots=True)
class StrengthMark:
    """One mark: where it stands [MPa], on which line, and how many pulls it stands for."""

    mark: Mark
    lower_mpa: float
    upper_mpa: float | None
    line: int
    count: int = 1

    @property
    def at_mpa(self) -> float:
        """Where the mark's middle is drawn: the break, the load held, or the upper end of what was handled."""
        if self.mark is STEP and self.upper_mpa is not None:
            return (self.lower_mpa + self.upper_mpa) / 2.0
        return self.lower_mpa if self.upper_mpa is None else self.upper_mpa


@dataclass(frozen=True, slots=True)
class StrengthRow:
    """A combination under one action: its marks, a line for each glue-up, and the strength relied on [MPa]."""

    combination: Combination
    action: Action
    marks: tuple[StrengthMark, ...]
    batches: int
    relied_on_mpa: float | None

    @property
    def height_in(self) -> float:
        """Height the row needs."""
        return _ROW_IN + _BATCH_IN * max(1, self.batches)


def mark_of(published: PublishedPull) -> Mark:
    """How a pull is drawn."""
    stress = published.stress
    if published.excluded:
        return UNUSED
    if stress.upper_mpa is None:
        return HELD
    if stress.exact:
        return EXACT
    return HANDLED if stress.lower_mpa == 0.0 else STEP


def strength_rows(pulls: Sequence[PublishedPull], strengths: Sequence[CombinationStrength]) -> tuple[StrengthRow, ...]:
    """The rows of the figure, in the order of the strengths."""
    rows = []
    for strength in strengths:
        own = [
            published
            for published in pulls
            if published.pull.joint.combination.key == strength.combination.key
            and published.pull.action is strength.action
        ]
        batches = {name: line for line, name in enumerate(dict.fromkeys(each.pull.batch for each in own))}
        marks = tuple(
            StrengthMark(mark_of(each), each.stress.lower_mpa, each.stress.upper_mpa, batches[each.pull.batch])
            for each in own
        )
        relied_on = strength.working_bound.bound_mpa
        rows.append(StrengthRow(strength.combination, strength.action, marks, len(batches), relied_on))
    return tuple(rows)


def binned(rows: Sequence[StrengthRow]) -> tuple[StrengthRow, ...]:
    """The rows with marks that fall together on a line gathered into one that carries their number."""
    width = max((mark.at_mpa for row in rows for mark in row.marks), default=1.0) / _BINS or 1.0
    gathered = []
    for row in rows:
        counts = Counter((mark.mark, int(mark.at_mpa / width)) for mark in row.marks)
        marks = tuple(
            StrengthMark(mark, (place + 0.5) * width, None if mark is HELD else (place + 0.5) * width, 0, count)
            for (mark, place), count in counts.items()
        )
        gathered.append(StrengthRow(row.combination, row.action, marks, 1, row.relied_on_mpa))
    return tuple(gathered)


def strengths_figure(
    pulls: Sequence[PublishedPull], strengths: Sequence[CombinationStrength], *, form: ImageForm = ImageForm.SVG
) -> bytes:
    """Strengths by combination as an image: every pull, its censoring, and the strength relied on [MPa].

    Parameters
    ----------
    pulls
        Every pull; those excluded are drawn as crosses.
    strengths
        One row each, in this order.
    form
        SVG with letters as paths, or PNG; the same values give the same bytes.
    """
    rows = strength_rows(pulls, strengths)
    crowded = len(pulls) > MOST_MARKS
    if crowded:
        rows = binned(rows)
    kinds = _legend_of(rows)
    height_in = sum(row.height_in for row in rows) + _TOP_IN
    foot_in = _FOOT_IN + _LEGEND_LINE_IN * len(kinds)
    with inked(height_in=height_in + foot_in) as figure:
        share = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.03, share, 0.93, 1.0 - share))
        baseline = height_in
        for row in rows:
            baseline -= row.height_in
            _draw_row(axes, row, baseline)
        axes.set_ylim(0.0, height_in)
        quiet_axis(axes, label="strength at the glue line, MPa")
        _draw_legend(figure, kinds, note=_CROWDED if crowded else _LINES)
        return drawn(figure, form)


def _draw_row(axes: Axes, row: StrengthRow, baseline: float) -> None:
    top = baseline + row.height_in
    axes.axhline(baseline + 0.02, color=MUTED, linewidth=0.5)
    title = lines_of(f"{row.combination}: {row.action}", letters=_LABEL_LETTERS, lines=1)
    axes.text(
        0.0, top - 0.07, title, transform=axes.get_yaxis_transform(), va="top", fontsize=10.5, fontweight="bold",
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0},
    )  # fmt: skip
    lines = max(1, row.batches)
    heights = [baseline + 0.12 + _BATCH_IN * (lines - line) for line in range(lines)]
    if row.relied_on_mpa is not None:
        axes.plot(
            [row.relied_on_mpa] * 2, [baseline + 0.06, heights[0] + 0.12], color=INK, linewidth=3.0,
            solid_capstyle="butt",
        )  # fmt: skip
    for mark in row.marks:
        if mark.mark is STEP and mark.upper_mpa is not None and mark.count == 1:
            axes.plot([mark.lower_mpa, mark.upper_mpa], [heights[mark.line]] * 2, color=mark.mark.colour, linewidth=2.2)
            _draw_marks(axes, mark.mark, [mark.lower_mpa, mark.upper_mpa], [heights[mark.line]] * 2, [1, 1])
    for kind in (UNUSED, STEP, HANDLED, HELD, EXACT):
        own = [mark for mark in row.marks if mark.mark is kind and not (kind is STEP and mark.count == 1)]
        if own:
            places, counts = [mark.at_mpa for mark in own], [mark.count for mark in own]
            _draw_marks(axes, kind, places, [heights[mark.line] for mark in own], counts)


def _draw_marks(axes: Axes, mark: Mark, places: list[float], heights: list[float], counts: list[int]) -> None:
    import seaborn as sns

    sns.scatterplot(
        x=places,
        y=heights,
        ax=axes,
        marker=mark.shape,
        s=[min(42.0 * count**0.5, 260.0) for count in counts],
        facecolor=mark.face,
        edgecolor=mark.colour if mark.face == PAPER or mark.shape in "x|" else PAPER,
        linewidth=1.7 if mark.face == PAPER or mark.shape in "x|" else 0.6,
        legend=False,
        zorder=3,
    )


def _legend_of(rows: Sequence[StrengthRow]) -> list[Mark]:
    seen = {mark.mark for row in rows for mark in row.marks}
    kinds = [kind for kind in (EXACT, HELD, STEP, HANDLED, UNUSED) if kind in seen]
    return [*kinds, RELIED_ON] if any(row.relied_on_mpa is not None for row in rows) else kinds


def _draw_legend(figure: Figure, kinds: Sequence[Mark], *, note: str) -> None:
    from matplotlib.lines import Line2D

    handles = [
        Line2D(
            [],
            [],
            linestyle="-" if kind is STEP else "none",
            color=kind.colour,
            marker=kind.shape,
            markersize=12 if kind is RELIED_ON else 7,
            markerfacecolor=kind.face,
            markeredgewidth=3.0 if kind is RELIED_ON else 1.7,
            label=kind.word,
        )
        for kind in kinds
    ]
    figure.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(0.02, 0.0),
        title=note,
        alignment="left",
        borderpad=0.2,
        borderaxespad=0.0,
        labelspacing=0.35,
        handletextpad=0.5,
    )
