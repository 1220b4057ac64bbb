"""What the plan room takes and gives: a wish, the specimens that meet it, and the sheets for the bench."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.record.finding import Finding
from jointlab.record.joint import Combination, Outline
from jointlab.record.vocabulary import Action

DEFAULT_LOG_SD = 0.25
"""Standard deviation of ln strength supposed before any test: joints scatter by 15 to 30 % (judgement)."""

DEFAULT_CHANCE = 0.8
"""Chance of success a plan is made for (source key ``judgement``)."""


@dataclass(frozen=True, slots=True)
class ShowStrength:
    """The wish to show that joints can be relied on for a strength.

    Parameters
    ----------
    required_mpa
        Strength to show [MPa]: the working bound must reach it.
    expected_mpa
        Median strength supposed [MPa].
    log_sd
        Standard deviation of ln strength within a glue-up supposed.
    coverage, confidence
        Of the bound.
    chance
        With which the plan is to succeed, should the suppositions be true.
    """

    required_mpa: float
    expected_mpa: float
    log_sd: float = DEFAULT_LOG_SD
    coverage: float = 0.95
    confidence: float = 0.95
    chance: float = DEFAULT_CHANCE


@dataclass(frozen=True, slots=True)
class SeeDifference:
    """The wish to see a difference: that one combination is ``ratio`` times as strong as another.

    Parameters
    ----------
    ratio
        Ratio of medians to be seen, more than 1; 1.25 is a difference of 25 %.
    expected_mpa
        Median strength supposed [MPa], for the rig.
    confidence
        Of all intervals of the comparison at once.
    """

    ratio: float
    expected_mpa: float
    log_sd: float = DEFAULT_LOG_SD
    confidence: float = 0.95
    chance: float = DEFAULT_CHANCE


Wish = ShowStrength | SeeDifference


@dataclass(frozen=True, slots=True)
class PowerPoint:
    """Chance of success with so many specimens of each combination."""

    specimens: int
    chance: float


@dataclass(frozen=True, slots=True)
class Method:
    """How specimens are loaded: the action, the outline of the bond, and the arm when pried [mm]."""

    action: Action
    outline: Outline
    arm_mm: float | None = None


@dataclass(frozen=True, slots=True)
class RigFit:
    """The loads a method will ask of a rig, beside what the rig shows.

    Parameters
    ----------
    load_low, load_expected, load_high
        Loads on the joint at the weakest, median and strongest joint to be expected [N, or N m for a twist].
    capacity
        Largest load the rig shows; None where it is not known.
    share_low, share_expected, share_high
        The same as shares of the rig's range; None without a capacity.
    suits
        Whether all lie within 20 to 80 %; None without a capacity.
    better_mm
        A size of the same shape that would suit, its first measure [mm]; None where none is needed or known.
    """

    load_low: float
    load_expected: float
    load_high: float
    capacity: float | None
    share_low: float | None
    share_expected: float | None
    share_high: float | None
    suits: bool | None
    better_mm: float | None


@dataclass(frozen=True, slots=True)
class PlannedSpecimen:
    """One joint to be made and pulled. ``glued_as`` and ``tested_as`` are its places in its glue-up's two orders."""

    batch: str
    specimen: str
    combination: Combination
    glued_as: int
    tested_as: int

    @property
    def code(self) -> str:
        """What its label says and its code holds."""
        return f"{self.batch}/{self.specimen}"


@dataclass(frozen=True, slots=True)
class GlueUp:
    """One block: glued together on one day, tested together on another. Dates are ISO 8601."""

    batch: str
    glued_on: str
    tested_on: str
    specimens: tuple[PlannedSpecimen, ...]

    def in_test_order(self) -> tuple[PlannedSpecimen, ...]:
        """Its specimens in the order they are to be pulled."""
        return tuple(sorted(self.specimens, key=lambda specimen: specimen.tested_as))


@dataclass(frozen=True, slots=True)
class TestPlan:
    """What to glue and pull, in what order, and what it can show.

    Parameters
    ----------
    wish
        What is to be shown, and the suppositions.
    chance
        Of success with these specimens, should the suppositions be true.
    curve
        The chance by specimens of each combination.
    planned_looks
        How often the evidence is looked at; each look carries its share of the doubt, ``confidence_at_look``.
    """

    name: str
    wish: Wish
    combinations: tuple[Combination, ...]
    control: Combination | None
    method: Method
    rig: str | None
    rig_fit: RigFit
    cure_h: float
    specimens_each: int
    glue_ups: tuple[GlueUp, ...]
    planned_looks: int
    confidence_at_look: float
    chance: float
    curve: tuple[PowerPoint, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def specimens(self) -> tuple[PlannedSpecimen, ...]:
        """All specimens, by glue-up and in test order."""
        return tuple(specimen for glue_up in self.glue_ups for specimen in glue_up.in_test_order())
