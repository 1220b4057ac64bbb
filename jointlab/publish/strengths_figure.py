"""The figure of strengths: every pull of every combination, its censoring told by shape, and what can be relied on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import TYPE_CHECKING

from jointlab.publish.drawing import (
    EXACT,
    HANDLED,
    HELD,
    HELD_OPEN,
    INK,
    LINE,
    MUTED,
    PAPER,
    RELIED_ON,
    STEP,
    UNUSED,
    ImageForm,
    Mark,
    drawn,
    inked,
    key_of_marks,
    lines_of,
    quiet_axis,
)
from jointlab.publish.publication import PublishedPull, held_open
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.strength.values import CombinationStrength

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_MARKS = 2000
"""Above this many pulls marks that fall together are drawn as one, larger, and the figure says so."""

MOST_ROWS = 40
"""Combinations a figure bears; the others stand in the table, which the figure says."""

_BINS = 80
_BEYOND = 1.12
_PLOT_IN, _MARK_IN = 3.8, 0.13
_TITLE_IN, _LINE_IN, _SLOT_IN, _PAD_IN, _FOOT_IN, _KEY_LINE_IN = 0.34, 0.18, 0.14, 0.12, 0.76, 0.2
_LABEL_LETTERS = 41
_BATCH_LETTERS = 10
_LINES = "one glue-up below the other, named at right"
CROWDED = "many pulls: near marks drawn as one, larger"


@dataclass(frozen=True, slots=True)
class StrengthMark:
    """One mark: where it stands [MPa], how many slots below the row's title, and how many pulls it stands for."""

    mark: Mark
    lower_mpa: float
    upper_mpa: float | None
    slot: int = 0
    count: int = 1

    @property
    def at_mpa(self) -> float:
        """Where the mark is drawn: the break, the load held, or the upper end of what was handled."""
        if self.mark is STEP and self.upper_mpa is not None:
            return (self.lower_mpa + self.upper_mpa) / 2.0
        return self.lower_mpa if self.upper_mpa is None else self.upper_mpa

    @property
    def ends_mpa(self) -> tuple[float, float]:
        """Leftmost and rightmost stress the mark covers."""
        return (self.lower_mpa, self.upper_mpa or self.at_mpa) if self.mark is STEP else (self.at_mpa, self.at_mpa)


@dataclass(frozen=True, slots=True)
class StrengthRow:
    """A combination under one action: its marks in their slots, and the lower bound [MPa] with how it is drawn.

    ``batches`` names each glue-up with its first slot.
    """

    combination: Combination
    action: Action
    marks: tuple[StrengthMark, ...]
    batches: tuple[tuple[str, int], ...]
    slots: int
    bound_mpa: float | None
    bound_mark: Mark

    @property
    def height_in(self) -> float:
        """Height the row needs."""
        return self.title_in + _SLOT_IN * max(1, self.slots) + _PAD_IN

    @property
    def title(self) -> str:
        """What was pulled and how, in at most two lines."""
        return lines_of(f"{self.combination}: {self.action}", letters=_LABEL_LETTERS)

    @property
    def title_in(self) -> float:
        """Height the title needs."""
        return _TITLE_IN + _LINE_IN * self.title.count("\n")


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


def strength_rows(
    pulls: Sequence[PublishedPull], strengths: Sequence[CombinationStrength], *, up_to_mpa: float | None = None
) -> tuple[StrengthRow, ...]:
    """The rows of the figure, in the order of the strengths; no mark hides another of its row."""
    own_of = _marks_by_batch(pulls, strengths)
    width_mpa = _MARK_IN / _PLOT_IN * _BEYOND * (up_to_mpa or furthest_mpa(pulls))
    return tuple(_row_of(strength, *_slotted(own_of[_key_of(strength)], width_mpa)) for strength in strengths)


def unplaced_rows(pulls: Sequence[PublishedPull], strengths: Sequence[CombinationStrength]) -> tuple[StrengthRow, ...]:
    """The rows of the figure with every mark in one slot: enough to count, tell or gather them."""
    own_of = _marks_by_batch(pulls, strengths)
    return tuple(
        _row_of(strength, tuple(chain.from_iterable(own_of[_key_of(strength)].values())), (), 1)
        for strength in strengths
    )


def _row_of(
    strength: CombinationStrength,
    marks: tuple[StrengthMark, ...],
    batches: tuple[tuple[str, int], ...],
    slots: int,
) -> StrengthRow:
    return StrengthRow(
        combination=strength.combination,
        action=strength.action,
        marks=marks,
        batches=batches,
        slots=slots,
        bound_mpa=strength.working_bound.bound_mpa,
        bound_mark=HELD_OPEN if held_open(strength.findings) else RELIED_ON,
    )


_ByBatch = dict[str, list[StrengthMark]]
_Key = tuple[tuple[str, str, str], Action]


def _key_of(strength: CombinationStrength) -> _Key:
    return strength.combination.key, strength.action


def _marks_by_batch(pulls: Sequence[PublishedPull], strengths: Sequence[CombinationStrength]) -> dict[_Key, _ByBatch]:
    """Marks of each glue-up of each of these combinations under its action."""
    rows: dict[_Key, _ByBatch] = {_key_of(strength): {} for strength in strengths}
    for published in pulls:
        pull, stress = published.pull, published.stress
        batches = rows.get((pull.joint.combination.key, pull.action))
        if batches is not None:
            mark = StrengthMark(mark_of(published), stress.lower_mpa, stress.upper_mpa)
            batches.setdefault(pull.batch, []).append(mark)
    return rows


def _furthest_mpa(marks: Iterable[StrengthMark]) -> float:
    return max((mark.ends_mpa[1] for mark in marks), default=0.0) or 1.0


_Slotted = tuple[tuple[StrengthMark, ...], tuple[tuple[str, int], ...], int]


def _slotted(batches: dict[str, list[StrengthMark]], width_mpa: float) -> _Slotted:
    """Marks in slots: batches below each other, and within one a new slot wherever a mark would cover another."""
    placed: list[StrengthMark] = []
    named: list[tuple[str, int]] = []
    first = 0
    for name, marks in batches.items():
        named.append((name, first))
        filled_to_mpa: list[float] = []
        for mark in sorted(marks, key=lambda mark: mark.ends_mpa):
            left, right = mark.ends_mpa
            free = next((slot for slot, end in enumerate(filled_to_mpa) if left - end >= width_mpa), len(filled_to_mpa))
            filled_to_mpa[free : free + 1] = [right]
            placed.append(replace(mark, slot=first + free))
        first += len(filled_to_mpa)
    return tuple(placed), tuple(named), first


def binned(rows: Sequence[StrengthRow], *, up_to_mpa: float | None = None) -> tuple[StrengthRow, ...]:
    """The rows with marks that fall together gathered into one that carries their number.

    ``up_to_mpa``: stress the bins reach up to; None: the furthest mark.
    """
    width_mpa = (up_to_mpa or _furthest_mpa(mark for row in rows for mark in row.marks)) / _BINS
    gathered = []
    for row in rows:
        counts = Counter((mark.mark, int(mark.at_mpa / width_mpa)) for mark in row.marks)
        marks = tuple(
            StrengthMark(mark, (place + 0.5) * width_mpa, (place + 0.5) * width_mpa, 0, count)
            for (mark, place), count in counts.items()
        )
        gathered.append(replace(row, marks=marks, batches=(), slots=1))
    return tuple(gathered)


def furthest_mpa(pulls: Iterable[PublishedPull]) -> float:
    """The largest stress any of the pulls has to show [MPa]."""
    stresses = (published.stress for published in pulls)
    return max((max(stress.lower_mpa, stress.upper_mpa or 0.0) for stress in stresses), default=0.0) or 1.0


def strengths_figure(
    pulls: Sequence[PublishedPull],
    strengths: Sequence[CombinationStrength],
    *,
    form: ImageForm = ImageForm.SVG,
    up_to_mpa: float | None = None,
    beside: int = 0,
) -> bytes:
    """Strengths by combination as an image: every pull, its censoring, and the strength relied on [MPa].

    Parameters
    ----------
    pulls
        Every pull; those excluded are drawn as crosses.
    strengths
        One row each, in this order; the first 40 where there are more, and the figure says so.
    form
        SVG with letters as paths, or PNG; the same values give the same bytes.
    up_to_mpa
        Stress the axis must bear, for figures to be read beside each other; None: the largest of these pulls.
    beside
        Marks of the figures to be read beside this one: all of them are drawn one way.
    """
    shown = strengths[:MOST_ROWS]
    rows = unplaced_rows(pulls, shown)
    crowded = beside + sum(len(row.marks) for row in rows) > MOST_MARKS
    rows = binned(rows, up_to_mpa=up_to_mpa) if crowded else strength_rows(pulls, shown, up_to_mpa=up_to_mpa)
    kinds = _kinds_of(rows)
    height_in = sum(row.height_in for row in rows)
    foot_in = _FOOT_IN + _KEY_LINE_IN * (len(kinds) + (len(strengths) > MOST_ROWS))
    with inked(height_in=height_in + foot_in) as figure:
        share = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.03, share, 0.93, 1.0 - share))
        floors_in = [height_in - sum(row.height_in for row in rows[: place + 1]) for place in range(len(rows))]
        for row, floor_in in zip(rows, floors_in, strict=True):
            _draw_row(axes, row, floor_in)
        _draw_marks(axes, rows, floors_in)
        axes.set_ylim(0.0, height_in)
        quiet_axis(axes, label="strength at the glue line, MPa")
        axes.set_xlim(right=_BEYOND * (up_to_mpa or furthest_mpa(pulls)))
        title = CROWDED if crowded else _LINES
        if len(strengths) > MOST_ROWS:
            title = f"the first {MOST_ROWS} of {len(strengths)} combinations\n{title}"
        key_of_marks(figure, kinds, title=title)
        return drawn(figure, form)


def _kinds_of(rows: Sequence[StrengthRow]) -> list[Mark]:
    seen = {mark.mark for row in rows for mark in row.marks}
    seen |= {row.bound_mark for row in rows if row.bound_mpa is not None}
    return [kind for kind in (EXACT, HELD, STEP, HANDLED, UNUSED, RELIED_ON, HELD_OPEN) if kind in seen]


def _draw_row(axes: Axes, row: StrengthRow, floor_in: float) -> None:
    top_in = floor_in + row.height_in
    axes.axhline(floor_in, color=MUTED, linewidth=0.6)
    axes.text(
        0.0,
        top_in - 0.07,
        row.title,
        transform=axes.get_yaxis_transform(),
        va="top",
        fontsize=10.0,
        fontweight="bold",
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0},
    )
    for name, slot in row.batches if len(row.batches) > 1 else ():
        slot_in = top_in - row.title_in - _SLOT_IN * slot
        if slot:
            axes.axhline(slot_in, color=LINE, linewidth=0.8, linestyle=(0, (2.0, 2.0)))
        axes.text(
            1.0,
            slot_in - _SLOT_IN * 0.5,
            lines_of(name, letters=_BATCH_LETTERS, lines=1),
            transform=axes.get_yaxis_transform(),
            va="center",
            ha="right",
            fontsize=9.0,
            color=MUTED,
        )
    if row.bound_mpa is not None:
        axes.plot(
            [row.bound_mpa] * 2,
            [floor_in + 0.05, top_in - row.title_in + 0.03],
            color=INK,
            linewidth=row.bound_mark.stroke,
            linestyle=row.bound_mark.dashes,
            solid_capstyle="butt",
            zorder=2,
        )


def _draw_marks(axes: Axes, rows: Sequence[StrengthRow], floors_in: Sequence[float]) -> None:
    placed = [
        (mark, floor_in + row.height_in - row.title_in - _SLOT_IN * (mark.slot + 0.5))
        for row, floor_in in zip(rows, floors_in, strict=True)
        for mark in row.marks
    ]
    for kind in (UNUSED, HANDLED, HELD, EXACT, STEP):
        own = [(mark, height_in) for mark, height_in in placed if mark.mark is kind]
        if kind is STEP:
            _draw_steps(axes, [(mark, height_in) for mark, height_in in own if mark.count == 1])
            own = [(mark, height_in) for mark, height_in in own if mark.count > 1]
        if own:
            _draw_points(axes, kind, own)


def _draw_steps(axes: Axes, steps: Sequence[tuple[StrengthMark, float]]) -> None:
    for mark, height_in in steps:
        axes.plot(
            mark.ends_mpa, [height_in] * 2, color=STEP.colour, linewidth=2.2, marker="|", markersize=8,
            markeredgewidth=2.0, zorder=3,
        )  # fmt: skip


def _draw_points(axes: Axes, kind: Mark, points: Sequence[tuple[StrengthMark, float]]) -> None:
    import seaborn as sns

    sns.scatterplot(
        x=[mark.at_mpa for mark, _ in points],
        y=[height_in for _, height_in in points],
        ax=axes,
        marker=kind.shape,
        s=[min(44.0 * mark.count**0.5, 260.0) for mark, _ in points],
        facecolor=kind.face,
        edgecolor=PAPER if kind.face == kind.colour else kind.colour,
        linewidth=0.5 if kind.face == kind.colour else 1.6,
        legend=False,
        zorder=3,
    )
