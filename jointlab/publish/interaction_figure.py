"""Glue x substrate: the median of every glue from substrate to substrate; lines that run alike say no interaction."""

from __future__ import annotations

from collections.abc import Sequence

from jointlab.compare.values import CombinationSummary, Comparison
from jointlab.errors import AnalysisError
from jointlab.publish.drawing import (
    BLUE,
    GREEN,
    INK,
    MUTED,
    PAPER,
    PLUM,
    RUST,
    ImageForm,
    Mark,
    drawn,
    inked,
    key_of_marks,
    lines_of,
    quiet_axis,
)
from jointlab.record.names import matched

_LOOKS = (
    ("o", BLUE, BLUE, (0.0, ())),
    ("s", RUST, PAPER, (0.0, (5.0, 2.0))),
    ("D", GREEN, GREEN, (0.0, (1.5, 1.5))),
    ("^", PLUM, PAPER, (0.0, (6.0, 2.0, 1.5, 2.0))),
    ("v", INK, INK, (0.0, ())),
    ("P", MUTED, PAPER, (0.0, (5.0, 2.0))),
)
"""Shape, colour, face and dashes of each glue in turn."""

_ROW_IN, _HEAD_IN, _FOOT_IN, _KEY_IN = 0.62, 0.3, 0.72, 0.2
_LETTERS = 42


def why_not_drawn(comparison: Comparison) -> str | None:
    """Why glue by substrate cannot be drawn of a comparison; None where it can."""
    lines = _lines(comparison.summaries)
    places = {_place(one) for line in lines for one in line}
    if len(lines) < 2 or len(places) < 2 or not any(len(line) > 1 for line in lines):
        return "Glue by substrate is drawn of two glues or more on two substrates or more."
    if len(lines) > len(_LOOKS):
        return f"Glue by substrate is drawn of at most {len(_LOOKS)} glues: use --glue to choose."
    return None


def interaction_figure(comparison: Comparison, *, form: ImageForm = ImageForm.SVG) -> bytes:
    """Estimated medians [MPa] of every glue, substrate below substrate, as an image.

    Raises
    ------
    AnalysisError
        Fewer than two glues were tested on two substrates each, or more than six glues.
    """
    refusal = why_not_drawn(comparison)
    if refusal is not None:
        raise AnalysisError(refusal)
    lines = _lines(comparison.summaries)
    places = list(dict.fromkeys(_place(one) for line in lines for one in line))
    kinds = [
        Mark(lines_of(line[0].combination.glue, letters=_LETTERS, lines=1), *look[:3], 1.8, look[3])
        for line, look in zip(lines, _LOOKS, strict=False)
    ]
    height_in = _ROW_IN * len(places) + _HEAD_IN
    foot_in = _FOOT_IN + _KEY_IN * (len(kinds) + 1)
    with inked(height_in=height_in + foot_in) as figure:
        share = foot_in / (height_in + foot_in)
        axes = figure.add_axes((0.04, share, 0.92, 1.0 - share))
        for name, place in places_at(places).items():
            axes.text(
                0.0, place + 0.42, lines_of(name, letters=_LETTERS, lines=1), transform=axes.get_yaxis_transform(),
                va="top", fontsize=10.0, fontweight="bold", zorder=4,
                bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0},
            )  # fmt: skip
        for line, mark in zip(lines, kinds, strict=True):
            axes.plot(
                [one.median_mpa for one in line], [places_at(places)[_place(one)] for one in line], mark.shape,
                linestyle=mark.dashes, linewidth=mark.stroke, color=mark.colour, markerfacecolor=mark.face,
                markeredgewidth=1.6, markersize=8, zorder=3,
            )  # fmt: skip
        axes.set_ylim(-len(places) + 0.5, 0.5 + _HEAD_IN * 0.3)
        quiet_axis(axes, label="estimated median strength, MPa")
        axes.set_xlim(right=1.08 * max(one.median_mpa for one in comparison.summaries))
        key_of_marks(figure, kinds, title=interaction_words(comparison))
        return drawn(figure, form)


def places_at(places: Sequence[str]) -> dict[str, float]:
    """Height of every substrate, the first on top."""
    return {name: -float(number) for number, name in enumerate(places)}


def interaction_words(comparison: Comparison) -> str:
    """What the table of variance says of the interaction, in few words."""
    found = [line for line in comparison.table.lines if " x " in line.term] if comparison.table is not None else []
    tested = [line for line in found if line.p_value is not None]
    if not tested:
        return "glue (no test of glue by substrate)"
    p = min(line.p_value for line in tested if line.p_value is not None)
    told = "p < 0.0001" if p < 1e-4 else f"p = {p:.2g}"
    return f"glue (lines run alike? {told})"


def _lines(summaries: Sequence[CombinationSummary]) -> list[list[CombinationSummary]]:
    """Summaries by glue, substrates in one order: that of the strongest median on each."""
    order = list(dict.fromkeys(_place(one) for one in sorted(summaries, key=lambda one: -one.median_mpa)))
    glues: dict[str, list[CombinationSummary]] = {}
    for one in summaries:
        glues.setdefault(matched(one.combination.glue), []).append(one)
    return [sorted(line, key=lambda one: order.index(_place(one))) for line in glues.values()]


def _place(one: CombinationSummary) -> str:
    combination = one.combination
    return f"{combination.substrate} ({combination.preparation})" if combination.preparation else combination.substrate
