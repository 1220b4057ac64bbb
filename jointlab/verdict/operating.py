"""The operating envelope: the grab a mount stands and the speed it allows, as one of its sizes varies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from jointlab.mount.envelope import EnvelopeAxis, own_size_mm, with_size
from jointlab.mount.setup import MountSetup, Tailstock
from jointlab.mount.setup_findings import PRACTICE_IN_RPM
from jointlab.units import INCH_MM
from jointlab.verdict.assessed import assessed, mount_capacity
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.stands import stands_n

SOURCE = "judgement"

SPEED_STEP_RPM = 10.0
HIGHEST_SPEED_RPM = 3000.0
"""Steps and end of the search for a speed (``SOURCE``)."""

FORCE_WIDTH = 1e-4
"""The force is found to this share of itself: a table shows three digits."""


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """A mount of one size.

    Parameters
    ----------
    size_mm
        The size that varies.
    stands_n
        Largest catch force that keeps the required margin [N]; as in the verdict.
    largest_rpm
        Largest speed at which every rated link keeps the margin, in steps of ten up to 3000; None: not even the base
        speed does, or there is no strength.
    practice_rpm
        The most the trade turns a blank of that diameter at (common practice, no source).
    """

    size_mm: float
    stands_n: float | None
    largest_rpm: float | None
    practice_rpm: float

    @property
    def above_practice(self) -> bool:
        """Whether that speed lies above what the trade turns at."""
        return self.largest_rpm is not None and self.largest_rpm > self.practice_rpm


@dataclass(frozen=True, slots=True)
class OperatingLine:
    """The envelope of one size with the tailstock as named."""

    axis: EnvelopeAxis
    tailstock: Tailstock
    points: tuple[OperatingPoint, ...]


def operating_envelope(
    setup: MountSetup,
    evidence: Evidence | None,
    *,
    axis: EnvelopeAxis,
    sizes_mm: Sequence[float],
    tailstocks: Sequence[Tailstock] = (Tailstock.NONE, Tailstock.THROUGHOUT),
) -> tuple[OperatingLine, ...]:
    """Grab stood and largest speed over the sizes, a line for each tailstock; everything else as in the mount.

    Parameters
    ----------
    sizes_mm
        Sizes of the joint, the reach or the blank [mm], each one that the mount could have.
    """
    lines = []
    for tailstock in tailstocks:
        mounts = [(size, _varied(setup, axis, size, tailstock)) for size in sizes_mm]
        lines.append(OperatingLine(axis, tailstock, tuple(_point(mount, evidence, size) for size, mount in mounts)))
    return tuple(lines)


def _varied(setup: MountSetup, axis: EnvelopeAxis, size_mm: float, tailstock: Tailstock) -> MountSetup:
    distance_mm = float(setup.support.tailstock_mm) or float(setup.blank.length_mm)
    support = replace(setup.support, tailstock=tailstock, tailstock_mm=distance_mm)
    return replace(with_size(setup, axis=axis, size_mm=size_mm), support=support)


def _point(setup: MountSetup, evidence: Evidence | None, size_mm: float) -> OperatingPoint:
    return OperatingPoint(
        size_mm=size_mm,
        stands_n=stands_n(setup, mount_capacity(setup, evidence), width=FORCE_WIDTH),
        largest_rpm=_largest_rpm(setup, evidence),
        practice_rpm=PRACTICE_IN_RPM[1] / (float(setup.blank.diameter_mm) / INCH_MM),
    )


def _largest_rpm(setup: MountSetup, evidence: Evidence | None) -> float | None:
    """A higher chosen speed never raises a margin, so halving the steps finds the largest that keeps it."""

    def kept(step: int) -> bool:
        turned = replace(setup, lathe=replace(setup.lathe, speed_rpm=lowest + step * SPEED_STEP_RPM))
        margin = assessed(turned, evidence).margin_lower
        return margin is not None and margin >= setup.criteria.margin

    lowest = float(setup.lathe.base_rpm)
    steps = math.floor((HIGHEST_SPEED_RPM - lowest) / SPEED_STEP_RPM)
    if not kept(0):
        return None
    low, high = 0, steps + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if kept(middle) else (low, middle)
    return lowest + low * SPEED_STEP_RPM


def usual_sizes_mm(setup: MountSetup, axis: EnvelopeAxis) -> tuple[float, ...]:
    """Up to seven sizes around the mount's own that it could have [mm], in whole fives, its own among them."""
    joint_mm, blank_mm = (
        own_size_mm(setup, each) for each in (EnvelopeAxis.JOINT_DIAMETER, EnvelopeAxis.BLANK_DIAMETER)
    )
    least, most = {
        EnvelopeAxis.JOINT_DIAMETER: (25.0, blank_mm),
        EnvelopeAxis.REACH: (5.0, float(setup.blank.length_mm)),
        EnvelopeAxis.BLANK_DIAMETER: (joint_mm, 3.0 * blank_mm),
    }[axis]
    own = own_size_mm(setup, axis)
    shares = (0.5, 0.65, 0.8, 1.0, 1.2, 1.45, 1.75)
    rounded = {own if share == 1.0 else 5.0 * round(own * share / 5.0) for share in shares}
    return tuple(sorted(size for size in rounded if least <= size <= most))
