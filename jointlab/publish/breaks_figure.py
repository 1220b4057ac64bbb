"""Where joints broke: a bar a combination, its parts told by hatching and number as well as by colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from jointlab.compare.breaks import BreakShares
from jointlab.publish.drawing import (
    BLUE,
    GREEN,
    INK,
    LINE,
    PAPER,
    PLUM,
    RUST,
    ImageForm,
    drawn,
    inked,
    lines_of,
    quiet_axis,
)
from jointlab.record.vocabulary import BrokeAt

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LOOKS = {
    BrokeAt.GLUE_LINE: ("in the glue line", BLUE, PAPER, ""),
    BrokeAt.SUBSTRATE: ("in the substrate", PAPER, GREEN, "////"),
    BrokeAt.BLANK: ("in the blank", PAPER, PLUM, "...."),
    BrokeAt.PAPER: ("in the paper", PAPER, RUST, "xxxx"),
}
"""Word, face, letter or hatch colour, hatch."""

_OUTSIDE = ("outside the joint: held", LINE, INK, "")
_UNSAID = ("not said", PAPER, LINE, "")
_ROW_IN, _LINE_IN, _FOOT_IN, _KEY_IN = 0.62, 0.18, 0.6, 0.21
_LETTERS = 43
_LEAST_NUMBERED = 0.06

_Part = tuple[tuple[str, str, str, str], int]


def breaks_figure(shares: Sequence[BreakShares], *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Where the joints of every combination let go, as shares of its pulls with their numbers, as an image."""
    titles = [lines_of(f"{share.combination}: {share.n}", letters=_LETTERS) for share in shares]
    heights_in = [_ROW_IN + _LINE_IN * title.count("\n") for title in titles]
    parts = [_parts(share) for share in shares]
    looks = list(dict.fromkeys(look for row in parts for look, _ in row))
    height_in, foot_in = sum(heights_in), _FOOT_IN + _KEY_IN * len(looks)
    with inked(height_in=height_in + foot_in) as figure:
        from matplotlib.patches import Patch

        share_in = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.04, share_in, 0.89, 1.0 - share_in))
        top_in = height_in
        for title, row_in, row in zip(titles, heights_in, parts, strict=True):
            axes.text(0.0, top_in - 0.06, title, va="top", fontsize=10.0, fontweight="bold")
            _draw_bar(axes, row, top_in - row_in + 0.16)
            top_in -= row_in
        axes.set_ylim(0.0, height_in)
        quiet_axis(axes, label="share of the pulls")
        axes.set_xlim(0.0, 1.0)
        axes.set_xticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25 %", "50 %", "75 %", "100 %"])
        keys = [
            Patch(facecolor=face, edgecolor=INK if face == PAPER and not hatch else ink, hatch=hatch, label=word)
            for word, face, ink, hatch in looks
        ]
        figure.legend(
            handles=keys, loc="lower left", bbox_to_anchor=(0.02, 0.0), borderpad=0.2, borderaxespad=0.0,
            labelspacing=0.35, handlelength=2.4, handleheight=1.1,
        )  # fmt: skip
        return drawn(figure, form)


def _parts(share: BreakShares) -> list[_Part]:
    counted = dict(share.counts)
    parts = [(look, counted.get(place, 0)) for place, look in _LOOKS.items()]
    parts += [(_OUTSIDE, share.outside), (_UNSAID, share.unsaid)]
    return [(look, number) for look, number in parts if number]


def _draw_bar(axes: Axes, parts: Sequence[_Part], at_in: float) -> None:
    total = sum(number for _, number in parts)
    left = 0.0
    for (_, face, ink, hatch), number in parts:
        width = number / total
        axes.barh(at_in, width, left=left, height=0.26, facecolor=face, edgecolor=ink, hatch=hatch, linewidth=0.0)
        axes.barh(at_in, width, left=left, height=0.26, facecolor="none", edgecolor=INK, linewidth=1.0)
        if width >= _LEAST_NUMBERED:
            axes.text(
                left + width / 2.0, at_in, str(number), ha="center", va="center", fontsize=10.0, fontweight="bold",
                color=PAPER if face == BLUE else INK,
                bbox=None if face == BLUE else {"facecolor": PAPER, "edgecolor": "none", "pad": 1.2},
            )  # fmt: skip
        left += width
