"""The operating envelope: the grab a mount stands and the speed it allows, as one of its sizes varies."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from jointlab.mount.demand import Case, LinkDemand, ScrewDemand
from jointlab.mount.envelope import EnvelopeAxis, own_size_mm, with_size
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.setup import MountSetup, Tailstock
from jointlab.mount.setup_findings import PRACTICE_IN_RPM
from jointlab.units import INCH_MM
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.assessment import judged_cases
from jointlab.verdict.capacity import NOTHING, Capacity
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.rule import usage
from jointlab.verdict.stands import FIRST_FORCE_N, LARGEST_FORCE_N

FloatArray = npt.NDArray[np.float64]

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
    return tuple(_line(setup, evidence, axis, np.array(sizes_mm, dtype=np.float64), each) for each in tailstocks)


def _line(
    setup: MountSetup, evidence: Evidence | None, axis: EnvelopeAxis, sizes_mm: FloatArray, tailstock: Tailstock
) -> OperatingLine:
    mounts = _Mounts(
        _varied(setup, axis, sizes_mm, tailstock),
        tuple(mount_capacity(_varied(setup, axis, float(size_mm), tailstock), evidence) for size_mm in sizes_mm),
    )
    blank_mm = np.broadcast_to(np.asarray(mounts.setup.blank.diameter_mm, dtype=np.float64), sizes_mm.shape)
    found = zip(sizes_mm, _stood_n(mounts), _largest_rpm(mounts), blank_mm, strict=True)
    points = (
        OperatingPoint(float(size), stood, speed, PRACTICE_IN_RPM[1] / (float(blank) / INCH_MM))
        for size, stood, speed, blank in found
    )
    return OperatingLine(axis, tailstock, tuple(points))


def _varied(setup: MountSetup, axis: EnvelopeAxis, size_mm: Any, tailstock: Tailstock) -> MountSetup:
    distance_mm = float(setup.support.tailstock_mm) or float(setup.blank.length_mm)
    support = replace(setup.support, tailstock=tailstock, tailstock_mm=distance_mm)
    return replace(with_size(setup, axis=axis, size_mm=size_mm), support=support)


@dataclass(frozen=True, slots=True)
class _Mounts:
    """Mounts of several sizes: one setup of arrays, so that all are computed at once, and the capacity of each."""

    setup: MountSetup
    capacities: tuple[Capacity, ...]

    @property
    def glued(self) -> bool:
        """Whether a strength of the glue line is known."""
        strength = self.capacities[0].glue_line(Case.REST)
        return None not in (strength.tension_mpa, strength.shear_mpa)

    def least_margins(self, links: Iterable[LinkDemand]) -> FloatArray:
        """Least margin over the rated links, for each mount; infinite where none is rated or nothing is asked."""
        used = np.zeros(len(self.capacities))
        for link in links:
            used = np.maximum(used, self._used(link))
        return np.divide(1.0, used, out=np.full_like(used, np.inf), where=used > 0.0)

    def _used(self, link: LinkDemand) -> Any:
        """Share of a link's strength used up, for each mount; 0 where the link is not rated."""
        asked = link.over_points
        if isinstance(asked, ScrewDemand):
            withdrawal_n = np.array([each.screw_withdrawal_n or np.inf for each in self.capacities])
            return np.max(asked.withdrawal_n, axis=0) / withdrawal_n
        own = [each.of_link(link.link) for each in self.capacities]
        pairs = [NOTHING if each is None else each.glue_line(link.case) for each in own]
        if own[0] is None or any(None in (pair.tension_mpa, pair.shear_mpa) for pair in pairs):
            return 0.0
        used = usage(
            asked.tension_mpa,
            asked.shear_mpa,
            tension_strength_mpa=np.array([pair.tension_mpa for pair in pairs], dtype=np.float64),
            shear_strength_mpa=np.array([pair.shear_mpa for pair in pairs], dtype=np.float64),
            interaction=own[0].interaction,
        )
        return np.max(used, axis=0)


def _stood_n(mounts: _Mounts) -> list[float | None]:
    """Largest catch force each mount stands [N], as ``stands_n`` has it, by halving for all at once."""
    count, required = len(mounts.capacities), mounts.setup.criteria.margin
    if not mounts.glued:
        return [None] * count
    steady = mount_demand(mounts.setup, only=tuple(case for case in Case if case.steady)).links
    able = mounts.least_margins(steady) >= required

    def kept(force_n: FloatArray) -> Any:
        return able & (mounts.least_margins(demand_at_force(mounts.setup, force_n)) >= required)

    low, high = np.zeros(count), np.full(count, FIRST_FORCE_N)
    while np.any(growing := kept(high) & (high < LARGEST_FORCE_N)):
        low, high = np.where(growing, high, low), np.where(growing, 2.0 * high, high)
    while np.any(able & (high - low > FORCE_WIDTH * high)):
        middle = (low + high) / 2.0
        held = kept(middle)
        low, high = np.where(held, middle, low), np.where(held, high, middle)
    return [float(force_n) for force_n in low]


def _largest_rpm(mounts: _Mounts) -> list[float | None]:
    """A higher chosen speed never raises a margin, so halving the steps finds the largest that keeps it."""
    setup, count = mounts.setup, len(mounts.capacities)
    lowest, cases = float(setup.lathe.base_rpm), judged_cases(setup.criteria)
    if not mounts.glued:
        return [None] * count

    def kept(step: Any) -> Any:
        turned = replace(setup, lathe=replace(setup.lathe, speed_rpm=lowest + step * SPEED_STEP_RPM))
        return mounts.least_margins(mount_demand(turned, only=cases).links) >= setup.criteria.margin

    low, high = np.zeros(count), np.full(count, math.floor((HIGHEST_SPEED_RPM - lowest) / SPEED_STEP_RPM) + 1.0)
    able = kept(low)
    while np.any(high - low > 1.0):
        middle = np.floor((low + high) / 2.0)
        held = kept(middle) & (middle > low)
        low, high = np.where(held, middle, low), np.where(held, high, np.maximum(middle, low + 1.0))
    speeds = lowest + low * SPEED_STEP_RPM
    return [float(speed) if keeps else None for speed, keeps in zip(speeds, able, strict=True)]


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
