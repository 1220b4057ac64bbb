"""The rig: what stands between the instrument's reading and the load on the joint."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from jointlab.record.dates import hours_between, moment_of
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.units import Quantity

GOOD_RANGE = (0.2, 0.8)
"""Share of a rig's capacity within which a peak is best read. Source: trade."""

CHECK_HOLDS_D = 365.0
"""How long a check against a known mass is taken to hold [d]. Source: judgement."""

SOURCES = ("gum", "trade", "judgement")


class RigKind(StrEnum):
    """How the load reaches the joint and is read."""

    SCALE_IN_LINE = "scale_in_line"
    LEVER = "lever"
    BAR_AND_SCALE = "bar_and_scale"
    WEIGHTS_IN_STEPS = "weights_in_steps"
    JACK_AND_GAUGE = "jack_and_gauge"
    TORQUE_WRENCH = "torque_wrench"

    @property
    def reads(self) -> Quantity:
        """What the instrument shows: a force, a pressure or a torque."""
        return _READS.get(self, Quantity.FORCE)

    @property
    def loads(self) -> Quantity:
        """What acts on the joint: a force or a torque."""
        return Quantity.TORQUE if self is RigKind.TORQUE_WRENCH else Quantity.FORCE

    @property
    def class_of_full_scale(self) -> bool:
        """Whether the accuracy class is a share of the capacity, as on gauges, and not of the reading."""
        return self is RigKind.JACK_AND_GAUGE


_READS = {RigKind.JACK_AND_GAUGE: Quantity.STRESS, RigKind.TORQUE_WRENCH: Quantity.TORQUE}


@dataclass(frozen=True, slots=True)
class RigCheck:
    """The instrument held against something known: what it should have shown and what it showed, in its own unit."""

    checked_on: str
    known: float
    shown: float


@dataclass(frozen=True, slots=True)
class Rig:
    """One rig of the shop. Readings are in N, MPa (pressure) or N m, as the kind reads; loads in N or N m.

    Parameters
    ----------
    ratio
        Load on the joint for one unit of reading: 1 in line, arm over arm on a lever, N for 1 MPa under a jack.
    arm_mm
        From the glue line to the line of pull, for bar and scale [mm].
    tare
        Load on the joint that the reading does not show: the weight of a lever, hanger or bar.
    zero
        Reading with nothing on.
    capacity
        Largest reading.
    resolution
        Smallest difference shown.
    class_pct
        Accuracy as a half-width: of the capacity for a gauge, else of the reading [%].
    step
        Difference between successive loads, as a reading, when loaded in steps.
    """

    name: str
    kind: RigKind
    ratio: float = 1.0
    arm_mm: float | None = None
    tare: float = 0.0
    zero: float = 0.0
    capacity: float | None = None
    resolution: float | None = None
    class_pct: float | None = None
    step: float | None = None
    checks: tuple[RigCheck, ...] = ()
    notes: str | None = None

    @property
    def last_check(self) -> RigCheck | None:
        """The latest check, by its date."""
        return max(self.checks, key=lambda check: check.checked_on[:10], default=None)

    @property
    def check_due_on(self) -> str | None:
        """ISO date until which the last check is taken to hold; None where there is none."""
        last = self.last_check
        if last is None:
            return None
        return (moment_of(last.checked_on[:10]) + timedelta(days=CHECK_HOLDS_D)).date().isoformat()


@dataclass(frozen=True, slots=True)
class RigLoad:
    """What a reading says of the load on the joint [N, or N m for a torque wrench].

    ``uncertainty_pct`` is the standard uncertainty of the load [%]; None when nothing is known of the instrument's
    accuracy. ``cap`` and ``step`` are the rig's limit and step as loads.
    """

    load: float
    uncertainty_pct: float | None
    cap: float | None
    step: float | None


def load_at(rig: Rig, reading: float) -> float:
    """Load on the joint at a reading [N, or N m]: (reading - zero) ratio + tare. Source: mechanics (derived)."""
    return (reading - rig.zero) * rig.ratio + rig.tare


def joint_load(rig: Rig, reading: float) -> RigLoad:
    """What a reading of a rig says of the load on the joint, with the rig's limits as loads."""
    load = load_at(rig, reading)
    spread = reading_uncertainty(rig, reading)
    known = spread is not None and load > 0
    return RigLoad(
        load=load,
        uncertainty_pct=100.0 * (spread or 0.0) * abs(rig.ratio) / load if known else None,
        cap=None if rig.capacity is None else load_at(rig, rig.capacity),
        step=None if rig.step is None else rig.step * abs(rig.ratio),
    )


def smallest_load(rig: Rig) -> float | None:
    """Smallest load the rig can tell from none [N, or N m]: the bound for a joint that broke when handled.

    A joint that broke in the hand broke below it; the tare acts only once the joint is in the rig.
    """
    return None if rig.resolution is None else rig.resolution * abs(rig.ratio)


def reading_uncertainty(rig: Rig, reading: float) -> float | None:
    """Standard uncertainty of reading less zero, in the reading's unit; None when no class and no resolution is known.

    The class is a rectangular distribution of half-width a: u = a / sqrt 3. The resolution q enters twice, for reading
    and zero: u = q / sqrt 12 each. Source: gum (F.2.2.1, 4.3.7).
    """
    if rig.class_pct is None and rig.resolution is None:
        return None
    of = rig.capacity if rig.kind.class_of_full_scale and rig.capacity is not None else abs(reading - rig.zero)
    accuracy = (rig.class_pct or 0.0) / 100.0 * of / math.sqrt(3.0)
    return math.hypot(accuracy, math.sqrt(2.0) * (rig.resolution or 0.0) / math.sqrt(12.0))


def rig_findings(rig: Rig, *, peak: float | None, today: str) -> tuple[Finding, ...]:
    """What to know before trusting the rig.

    Parameters
    ----------
    peak
        Expected largest load on the joint [N, or N m]; None when nothing is expected.
    today
        ISO date.
    """
    found = [_range_finding(rig, peak), _check_finding(rig, today)]
    return tuple(finding for finding in found if finding is not None)


def _range_finding(rig: Rig, peak: float | None) -> Finding | None:
    if peak is None or rig.capacity is None:
        return None
    share = (peak - rig.tare) / rig.ratio / (rig.capacity - rig.zero)
    if GOOD_RANGE[0] <= share <= GOOD_RANGE[1]:
        return None
    side = "would show little of it above its own error" if share < GOOD_RANGE[0] else "may reach its limit first"
    text = f"such a peak is {share:.0%} of the range of {rig.name}, which {side}: best is 20 % to 80 %"
    return Finding(FindingCode.RIG_RANGE, Severity.WARNING, text)


def _check_finding(rig: Rig, today: str) -> Finding | None:
    last = rig.last_check
    if last is None:
        text = f"{rig.name} was never checked against a known mass: hang one on, and note what it shows"
        return Finding(FindingCode.RIG_UNCHECKED, Severity.QUESTION, text)
    hours = hours_between(last.checked_on[:10], today[:10])
    if hours is not None and hours / 24.0 > CHECK_HOLDS_D:
        text = f"{rig.name} was last checked on {last.checked_on[:10]}, over {CHECK_HOLDS_D:.0f} days ago"
        return Finding(FindingCode.RIG_CHECK_OLD, Severity.WARNING, text)
    off_pct = 100.0 * abs(last.shown - last.known) / last.known
    allowed = _allowed_pct(rig, last.known)
    if allowed is not None and off_pct > allowed:
        text = (
            f"{rig.name} was {off_pct:.2g} % off when checked on {last.checked_on[:10]}, more than the {allowed:.2g} % "
            "its class and resolution allow: correct its zero or ratio, or its class"
        )
        return Finding(FindingCode.RIG_CHECK_OFF, Severity.WARNING, text)
    return None


def _allowed_pct(rig: Rig, known: float) -> float | None:
    if rig.class_pct is None:
        return None
    of = rig.capacity if rig.kind.class_of_full_scale and rig.capacity is not None else known
    return (rig.class_pct * of / 100.0 + (rig.resolution or 0.0)) / known * 100.0
