"""What the mount room gives: the demand of each case and link."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from jointlab.mount.setup import Amount
from jointlab.record.finding import Finding


class Case(StrEnum):
    """Load cases in the order of the contract."""

    REST = "rest"
    SPIN = "spin"
    CUT = "cut"
    CATCH_LIGHT = "catch_light"
    CATCH_FIRM = "catch_firm"
    CATCH_SEVERE = "catch_severe"

    @property
    def steady(self) -> bool:
        """Whether it acts at every turn (rest, spin, cut), not once (a catch)."""
        return self in (Case.REST, Case.SPIN, Case.CUT)


def _make_read_only(*amounts: Amount) -> None:
    for amount in amounts:
        if isinstance(amount, np.ndarray):
            amount.setflags(write=False)


@dataclass(frozen=True, slots=True)
class Actions:
    """Actions on a plane: bending moment, side force, torque, pull away. Scalars or arrays over points of a case."""

    moment_nmm: Amount
    shear_n: Amount
    torque_nmm: Amount
    axial_n: Amount

    def __post_init__(self) -> None:
        _make_read_only(self.moment_nmm, self.shear_n, self.torque_nmm, self.axial_n)


@dataclass(frozen=True, slots=True)
class StressDemand:
    """Stress asked of a glued plane: tension and shear [MPa]."""

    tension_mpa: Amount
    shear_mpa: Amount

    def __post_init__(self) -> None:
        _make_read_only(self.tension_mpa, self.shear_mpa)


@dataclass(frozen=True, slots=True)
class ScrewDemand:
    """Force asked of the most loaded screw: withdrawal and shear [N]."""

    withdrawal_n: Amount
    shear_n: Amount

    def __post_init__(self) -> None:
        _make_read_only(self.withdrawal_n, self.shear_n)


@dataclass(frozen=True, slots=True)
class CaseDemand:
    """A case at the point (speed, radius) of its largest glue-line tension, then shear."""

    case: Case
    actions: Actions
    stress: StressDemand
    speed_rpm: Amount
    radius_mm: Amount


@dataclass(frozen=True, slots=True)
class LinkDemand:
    """A link under a case: its demand at its own worst point, and over all points for the verdict.

    ``over_points`` holds arrays over the points (speed x radius) of the case, for combined actions: the points on the
    first axis, the setup's own arrays behind it, so that strengths of the setup's shape broadcast. A combined action is
    largest at one of these points, whatever the two strengths.
    """

    link: str
    case: Case
    demand: StressDemand | ScrewDemand
    over_points: StressDemand | ScrewDemand


@dataclass(frozen=True, slots=True)
class MountDemand:
    """The demand on every link in every case."""

    cases: tuple[CaseDemand, ...]
    links: tuple[LinkDemand, ...]
    findings: tuple[Finding, ...] = ()
