"""How every figure looks, and how a drawing becomes bytes: one ink, one set of marks, the same bytes every time.

Figures are 4.1 inches wide with letters of 10 points and more, so that they stay readable on a phone of 360 pixels and
at arm's length on a larger screen. Letters are drawn as paths: a figure looks the same wherever it is opened.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from textwrap import wrap
from typing import TYPE_CHECKING, Any, Literal, cast

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_IN = 4.1
DOTS_PER_IN = 200

PAPER, INK, MUTED, LINE = "#ffffff", "#20262b", "#5d666d", "#cdd3d8"
BLUE, RUST, GREEN, PLUM = "#0f5c8c", "#b0480c", "#1d7452", "#7a3b8f"

THEMED = {
    PAPER: "paper",
    INK: "ink",
    MUTED: "muted",
    LINE: "line",
    BLUE: "blue",
    RUST: "rust",
    GREEN: "green",
    PLUM: "plum",
}
"""Colour of a drawing to the name a page gives it, so that a page may repaint a drawing for the dark."""

_SETTINGS: dict[str, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 10.5,
    "axes.edgecolor": MUTED,
    "axes.labelcolor": INK,
    "axes.facecolor": PAPER,
    "figure.facecolor": PAPER,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    "axes.axisbelow": True,
    "axes.unicode_minus": True,
    "grid.color": LINE,
    "grid.linewidth": 0.8,
    "text.color": INK,
    "text.parse_math": False,
    "text.usetex": False,
    "xtick.color": MUTED,
    "xtick.labelcolor": INK,
    "ytick.color": MUTED,
    "ytick.labelcolor": INK,
    "legend.frameon": False,
    "legend.fontsize": 10.0,
    "svg.fonttype": "path",
    "svg.hashsalt": "jointlab",
    "savefig.facecolor": PAPER,
    "hatch.linewidth": 0.8,
}


Stroke = Literal["-", "none"] | tuple[float, tuple[float, ...]]
"""How a line is dashed, as the drawing library takes it."""


class ImageForm(StrEnum):
    """Form of the bytes of a figure."""

    SVG = "svg"
    PNG = "png"


@dataclass(frozen=True, slots=True)
class Mark:
    """How one kind of pull, or a bound, is drawn: its shape says it, its colour repeats it."""

    word: str
    shape: str
    colour: str
    face: str
    stroke: float = 1.6
    dashes: Stroke = "none"


EXACT = Mark("broke at this stress", "o", BLUE, BLUE)
HELD = Mark("held: stronger than this", ">", RUST, PAPER)
STEP = Mark("broke between two loads", "s", GREEN, GREEN, 2.2, "-")
HANDLED = Mark("broke when handled: weaker than this", "<", PLUM, PAPER)
UNUSED = Mark("shown, not used", "X", MUTED, MUTED)
RELIED_ON = Mark("can be relied on", "|", INK, INK, 3.0, "-")
HELD_OPEN = Mark("bound held open by a finding", "|", INK, INK, 2.0, (0.0, (1.0, 0.6)))


@contextmanager
def inked(*, height_in: float) -> Iterator[Figure]:
    """A blank figure, within the settings every drawing shares."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context():
        # Already checked once: to check 300 settings again for each figure costs a tenth of a second.
        dict.update(cast("dict[str, Any]", mpl.rcParams), _checked_settings())
        figure = Figure(figsize=(WIDTH_IN, height_in))
        FigureCanvasAgg(figure)
        yield figure


@cache
def _checked_settings() -> dict[str, Any]:
    """Every setting of the library at its default but for ours, whatever the user's own settings are."""
    import matplotlib as mpl

    with mpl.rc_context():
        mpl.rcParams.update(mpl.rcParamsDefault | {"backend": mpl.rcParams["backend"]} | _SETTINGS)
        return dict(dict.items(cast("dict[str, Any]", mpl.rcParams)))


def drawn(figure: Figure, form: ImageForm) -> bytes:
    """Bytes of a finished figure; the same figure gives the same bytes. Call it within ``inked``."""
    out = io.BytesIO()
    if form is ImageForm.SVG:
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
        return _NOTHING.sub(rb'<path d=""\1>', _PATH.sub(_shortened, out.getvalue()))
    figure.savefig(out, format="png", dpi=DOTS_PER_IN, metadata={"Software": None})
    return out.getvalue()


_PATH = re.compile(rb' d="([^"]*)"')
_NOTHING = re.compile(rb"<path((?:(?! d=)[^>])*)>")
"""A path without places, as the letter between two words is drawn: the standard wants it to say so."""
_LONG = re.compile(rb"-?[0-9]+\.[0-9]{3,}")


def _shortened(path: re.Match[bytes]) -> bytes:
    """A path with its places to a hundredth of a point: finer than any eye, a third of the bytes."""
    return b' d="' + _LONG.sub(lambda number: b"%.2f" % float(number[0]), path[1]).replace(b"\n", b" ") + b'"'


def drawable(text: str) -> str:
    """The text with every letter the drawing's font lacks replaced, so that no name can spoil a figure."""
    known = _letters()
    return "".join(letter if ord(letter) in known else "\N{REPLACEMENT CHARACTER}" for letter in text)


@cache
def _letters() -> frozenset[int]:
    from matplotlib.font_manager import findfont, get_font

    return frozenset(get_font(findfont("DejaVu Sans")).get_charmap())


def lines_of(text: str, *, letters: int, lines: int = 2) -> str:
    """A drawable name broken into at most ``lines`` lines; what does not fit ends in an ellipsis."""
    broken = wrap(drawable(text), letters)
    if len(broken) > lines:
        broken = [*broken[: lines - 1], broken[lines - 1][: letters - 1] + "\N{HORIZONTAL ELLIPSIS}"]
    return "\n".join(broken)


def quiet_axis(axes: Axes, *, label: str) -> None:
    """Leave of an axis what is read: a line and figures below, faint rules, no left side."""
    axes.set_xlabel(label)
    axes.set_xlim(left=0.0)
    axes.grid(axis="x")
    axes.tick_params(axis="y", left=False, labelleft=False)
    axes.tick_params(axis="x", length=3)


def key_of_marks(figure: Figure, kinds: Sequence[Mark], *, title: str | None = None, columns: int = 1) -> None:
    """The key of the marks at the foot of a figure."""
    from matplotlib.lines import Line2D

    handles = [
        Line2D(
            [],
            [],
            linestyle=kind.dashes,
            linewidth=kind.stroke,
            color=kind.colour,
            marker={STEP: "|", RELIED_ON: "", HELD_OPEN: ""}.get(kind, kind.shape),
            markersize=7,
            markerfacecolor=kind.face,
            markeredgewidth=kind.stroke if kind.face == PAPER or kind is STEP else 0.5,
            label=kind.word,
        )
        for kind in kinds
    ]
    figure.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(0.02, 0.0),
        ncols=columns,
        title=title,
        alignment="left",
        borderpad=0.2,
        borderaxespad=0.0,
        labelspacing=0.35,
        handletextpad=0.6,
    )
