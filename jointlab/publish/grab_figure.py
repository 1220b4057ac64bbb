"""The grab a mount stands, beside what light, firm and severe catches are taken to be: one axis of force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from jointlab.mount.assumptions import ASSUMPTIONS
from jointlab.mount.loads import most_available_n
from jointlab.mount.setup import CatchClass
from jointlab.publish.drawing import BLUE, INK, LINE, MUTED, PAPER, RUST, ImageForm, drawn, inked, lines_of
from jointlab.publish.publication import PublishedMount
from jointlab.publish.wording import force_words, listed, rounded
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.sentence import class_forces_n, grab_of, rounded_down

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ROW_IN, _HEAD_IN, _LINE_IN, _FOOT_IN = 0.42, 0.16, 0.19, 1.1
_LETTERS, _MOST_LINES = 46, 5

_LEFT, _RIGHT = 0.25, 0.965
"""Where the axis begins and ends, as shares of the figure's width."""

_LEAST_N, _MOST_N = 100.0, 7000.0
"""The axis spans at least these, so that figures of several mounts can be laid side by side."""

_TICKS_N = (10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0, 10_000.0, 30_000.0)


@dataclass(frozen=True, slots=True)
class CatchMark:
    """One class of catch on the axis: its force as assumed, the range it may lie in [N], whether the mount stands it.

    ``asked``: the class the margin is asked in.
    """

    catch: CatchClass
    force_n: float
    low_n: float
    high_n: float
    stood: bool
    asked: bool


@dataclass(frozen=True, slots=True)
class GrabPicture:
    """What the figure shows: the sentence, the grab stood, the classes, and the most the lathe brings [N]."""

    told: str
    stands_n: float | None
    marks: tuple[CatchMark, ...]
    delivered_n: float


def grab_picture(mount: PublishedMount) -> GrabPicture:
    """Where the mount and the classes of catch stand on one axis of force."""
    verdict = mount.verdict
    stands_n = verdict.stands_n
    ranges = {each.key: (each.low, each.high) for each in ASSUMPTIONS}
    marks = tuple(
        CatchMark(
            catch,
            force_n,
            *(ranges[f"{catch}_n"]),
            stood=stands_n is not None and force_n <= stands_n,
            asked=catch is verdict.criteria.catch,
        )
        for catch, force_n in class_forces_n(verdict).items()
    )
    return GrabPicture(grab_of(verdict), stands_n, marks, float(most_available_n(mount.setup)))


def grab_figure(mount: PublishedMount, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """The grab stood with the margin asked as a bar, the classes of catch below it, each with its range.

    A full mark is a catch the mount stands, a hollow one is more than that; the upright goes down from the bar's end
    through all of them. The last row is the most this lathe brings behind a catch at the least radius cut.
    """
    picture = grab_picture(mount)
    head = lines_of(picture.told, letters=_LETTERS, lines=_MOST_LINES)
    head_in = _HEAD_IN + _LINE_IN * (head.count("\n") + 1)
    rows = len(picture.marks) + 2
    height_in = head_in + rows * _ROW_IN + _FOOT_IN
    with inked(height_in=height_in) as figure:
        figure.text(0.02, 1.0 - 0.06 / height_in, head, va="top", fontsize=10.5, fontweight="bold", linespacing=1.25)
        bottom, tall = _FOOT_IN / height_in, rows * _ROW_IN / height_in
        axes = figure.add_axes((_LEFT, bottom, _RIGHT - _LEFT, tall))
        _scale(axes, picture, rows)
        _draw_stood(axes, picture, rows)
        for row, mark in enumerate(picture.marks, start=1):
            _draw_mark(axes, row, mark)
        _draw_delivered(axes, rows - 1, picture.delivered_n)
        _draw_legend(figure)
        return drawn(figure, form)


def _scale(axes: Axes, picture: GrabPicture, rows: int) -> None:
    stands_n = picture.stands_n or _LEAST_N
    forces = [mark.force_n for mark in picture.marks]
    low_n, high_n = (
        min(_LEAST_N, 0.6 * stands_n, *forces),
        max(_MOST_N, 1.5 * stands_n, *(1.2 * each for each in forces)),
    )
    low_n, high_n = max(low_n, 5.0), min(high_n, 50_000.0)
    axes.set_xscale("log")
    axes.set_xlim(low_n, high_n)
    axes.set_ylim(-rows + 0.5, 0.5)
    ticks = [force_n for force_n in _TICKS_N if low_n <= force_n <= high_n]
    axes.set_xticks(ticks, [f"{force_n:g}\n{force_n / STANDARD_GRAVITY_M_S2:.0f}" for force_n in ticks])
    axes.set_xticks([], minor=True)
    axes.tick_params(axis="y", left=False, labelleft=False)
    axes.tick_params(axis="x", length=3, labelsize=9.5)
    axes.set_xlabel("grab at the furthest cut: N above, kgf below", labelpad=2, fontsize=9.5)
    axes.grid(axis="x")


def _name(axes: Axes, row: int, text: str, *, weight: str = "normal") -> None:
    axes.text(
        -0.03, -row, text, transform=axes.get_yaxis_transform(), ha="right", va="center", fontsize=9.5,
        fontweight=weight, linespacing=1.1,
    )  # fmt: skip


def _draw_stood(axes: Axes, picture: GrabPicture, rows: int) -> None:
    _name(axes, 0, "this mount", weight="bold")
    low_n, high_n = axes.get_xlim()
    stands_n = picture.stands_n
    if stands_n is None or stands_n <= 0.0:
        said = "not known yet" if stands_n is None else "none: turning alone takes it up"
        axes.text(
            low_n * 1.08, 0, said, va="center", fontsize=9.5, fontweight="bold", zorder=6,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6},
        )  # fmt: skip
        return
    end_n = min(stands_n, high_n)
    axes.barh(0, end_n - low_n, left=low_n, height=0.5, color=BLUE, edgecolor=BLUE)
    axes.plot([end_n, end_n], [0.3, -rows + 0.5], color=BLUE, linewidth=2.4, solid_capstyle="butt", zorder=2)
    inside = end_n > low_n * (high_n / low_n) ** 0.5
    axes.text(
        end_n / 1.06 if inside else end_n * 1.06, 0, f"{rounded_down(stands_n):g} N", va="center",
        ha="right" if inside else "left", color=PAPER if inside else INK, fontsize=10.5, fontweight="bold", zorder=5,
    )  # fmt: skip


def _draw_mark(axes: Axes, row: int, mark: CatchMark) -> None:
    _name(
        axes,
        row,
        f"{mark.catch}\n(asked)" if mark.asked else str(mark.catch),
        weight="bold" if mark.asked else "normal",
    )
    axes.barh(
        -row, mark.high_n - mark.low_n, left=mark.low_n, height=0.26, color=LINE, edgecolor=MUTED, linewidth=0.8,
        zorder=3,
    )  # fmt: skip
    axes.plot(
        mark.force_n, -row, marker="o", markersize=8.5, markerfacecolor=INK if mark.stood else PAPER,
        markeredgecolor=INK, markeredgewidth=1.8, zorder=5,
    )  # fmt: skip
    axes.text(
        mark.force_n, -row + 0.2, f"{mark.force_n:g}", va="bottom", ha="center", fontsize=9.5, zorder=6,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6},
    )  # fmt: skip


def _draw_delivered(axes: Axes, row: int, delivered_n: float) -> None:
    _name(axes, row, "this lathe\nbrings up to")
    low_n, high_n = axes.get_xlim()
    beyond = delivered_n > high_n
    at_n = high_n if beyond else max(delivered_n, low_n)
    axes.plot([low_n, at_n], [-row, -row], color=RUST, linewidth=1.6, linestyle=(0, (4, 2)), zorder=4)
    axes.plot(at_n, -row, marker=">" if beyond else "|", markersize=11, color=RUST, markeredgewidth=2.6, zorder=5)
    words = "more" if beyond else f"{rounded(delivered_n)} N"
    near = at_n > low_n * (high_n / low_n) ** 0.35
    axes.text(
        at_n / 1.1 if near else at_n * 1.1, -row + (0.12 if near else 0.0), words, va="bottom" if near else "center",
        ha="right" if near else "left", fontsize=9.5, zorder=6,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.4},
    )  # fmt: skip


def _draw_legend(figure: Figure) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    look: dict[str, Any] = {
        "linestyle": "none",
        "marker": "o",
        "markersize": 7.5,
        "markeredgecolor": INK,
        "markeredgewidth": 1.6,
    }
    handles = [
        Line2D([], [], markerfacecolor=INK, label="stood, margin kept", **look),
        Line2D([], [], markerfacecolor=PAPER, label="more than it stands", **look),
        Patch(facecolor=LINE, edgecolor=MUTED, label="where such a catch may lie (judged, not measured)"),
    ]
    figure.legend(
        handles=handles[:2], loc="lower left", bbox_to_anchor=(0.02, 0.07), ncols=2, borderpad=0.1, borderaxespad=0.0,
        handlelength=1.2, columnspacing=1.4, fontsize=9.5,
    )  # fmt: skip
    figure.legend(
        handles=handles[2:], loc="lower left", bbox_to_anchor=(0.02, 0.005), borderpad=0.1, borderaxespad=0.0,
        handlelength=1.2, fontsize=9.5,
    )  # fmt: skip


def grab_alt(mount: PublishedMount) -> str:
    """What the figure of the grab shows, for one who cannot see it."""
    picture = grab_picture(mount)
    classes = listed(
        [
            f"{mark.catch} {rounded(mark.force_n)} N (may be {rounded(mark.low_n)} to {rounded(mark.high_n)}), "
            f"{'stood' if mark.stood else 'not stood'}"
            for mark in picture.marks
        ]
    )
    brings = f"This lathe brings up to {force_words(picture.delivered_n)} behind a catch."
    return f"{picture.told} On one axis of force: {classes}. {brings}"
