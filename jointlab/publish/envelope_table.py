"""The operating envelope in figures: what is drawn, to be read off."""

from __future__ import annotations

from collections.abc import Sequence

from jointlab.mount.envelope import EnvelopeAxis
from jointlab.mount.setup import Tailstock
from jointlab.publish.tables import Table
from jointlab.publish.wording import rounded
from jointlab.verdict.operating import HIGHEST_SPEED_RPM, OperatingLine, OperatingPoint
from jointlab.verdict.sentence import rounded_down

SIZE_WORDS = {
    EnvelopeAxis.JOINT_DIAMETER: "joint, mm",
    EnvelopeAxis.REACH: "furthest cut, mm",
    EnvelopeAxis.BLANK_DIAMETER: "blank, mm",
    EnvelopeAxis.HOLLOW_DIAMETER: "hollow, mm",
}

TAILSTOCK_WORDS = {
    Tailstock.NONE: "no tailstock",
    Tailstock.ROUGHING: "tailstock while roughing",
    Tailstock.THROUGHOUT: "tailstock throughout",
}

ABOVE = "*"
"""Beside a speed that the joint would allow and the trade does not turn at."""

_BRIEF = {Tailstock.NONE: "no tailstock", Tailstock.ROUGHING: "roughing", Tailstock.THROUGHOUT: "throughout"}


def envelope_tables(lines: Sequence[OperatingLine]) -> tuple[Table, ...]:
    """A table for each size that varies: grab stood and largest speed by tailstock, and the trade's speed."""
    by_axis = [[line for line in lines if line.axis is axis] for axis in dict.fromkeys(line.axis for line in lines)]
    return tuple(_table(of_axis) for of_axis in by_axis)


def _table(lines: Sequence[OperatingLine]) -> Table:
    told = [f"{what}, {_BRIEF[line.tailstock]}" for line in lines for what in ("stands N", "up to rpm")]
    head = (SIZE_WORDS[lines[0].axis], *told, "trade's rpm")
    rows = tuple(_row(points) for points in zip(*(line.points for line in lines), strict=True))
    caption = f"If the {head[0].split(',')[0]} were otherwise ({ABOVE} above what the trade turns at)"
    return Table(caption, head, rows, frozenset(range(len(head))))


def _row(points: Sequence[OperatingPoint]) -> tuple[str, ...]:
    cells = [cell for point in points for cell in (grab_words(point), speed_words(point))]
    return (rounded(points[0].size_mm), *cells, f"{points[0].practice_rpm:.0f}")


def grab_words(point: OperatingPoint) -> str:
    """The grab a mount of that size stands [N], never rounded up."""
    return rounded(rounded_down(point.stands_n)) if point.stands_n else rounded(point.stands_n)


def speed_words(point: OperatingPoint) -> str:
    """The largest speed of a mount of that size [rpm], marked where it lies above the trade's."""
    if point.largest_rpm is None:
        return rounded(None)
    more = "+" if point.largest_rpm >= HIGHEST_SPEED_RPM else ""
    return f"{point.largest_rpm:.0f}{more}" + (f" {ABOVE}" if point.above_practice else "")
