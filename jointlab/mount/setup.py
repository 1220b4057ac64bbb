"""The mount as the user describes it: blank, joint, block, screws, lathe, work."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from jointlab.record.joint import Combination, Outline
from jointlab.record.vocabulary import Interlayer, SubstrateKind

Amount = float | npt.NDArray[np.float64]
"""A number, or float64 arrays of one common shape: one mount an element."""


class BlankState(StrEnum):
    """How true the blank is: sets the offset of its centre of mass when none was measured."""

    TRUED = "trued"
    SAWN_ROUND = "sawn_round"
    NATURAL_EDGE = "natural_edge"


class BlankGrain(StrEnum):
    """Grain the blank shows to the block."""

    FACE = "face"
    END = "end"
    SEGMENTED = "segmented"


class Grain(StrEnum):
    """Grain of a solid waste block: the face that is glued."""

    FACE = "face"
    EDGE = "edge"
    END = "end"


class Surface(StrEnum):
    """State of the glued faces."""

    CLEAN = "clean"
    SANDED = "sanded"
    OILY = "oily"
    WAXED = "waxed"
    WET = "wet"


class HoldKind(StrEnum):
    """How the blank is held."""

    FACEPLATE = "faceplate"
    FACEPLATE_ON_BLANK = "faceplate_on_blank"
    TENON_IN_JAWS = "tenon_in_jaws"
    RECESS_ON_JAWS = "recess_on_jaws"
    BETWEEN_CENTRES = "between_centres"


class LatheSize(StrEnum):
    """Size of the lathe: sets the inertia of spindle, pulleys and motor when not given."""

    MINI = "mini"
    MIDI = "midi"
    FULL = "full"
    HEAVY = "heavy"


class Tailstock(StrEnum):
    """When the tailstock supports the blank."""

    NONE = "none"
    ROUGHING = "roughing"
    THROUGHOUT = "throughout"


class CatchClass(StrEnum):
    """How hard the tool grabs."""

    LIGHT = "light"
    FIRM = "firm"
    SEVERE = "severe"


@dataclass(frozen=True, slots=True)
class Blank:
    """What will be turned. ``centre_mm`` and heights run from the glue line; ``offset_mm`` of the centre of mass."""

    diameter_mm: Amount
    length_mm: Amount
    mass_kg: Amount
    centre_mm: Amount
    offset_mm: Amount
    state: BlankState = BlankState.TRUED
    grain: BlankGrain = BlankGrain.FACE
    moisture_pct: float | None = None
    wood: str | None = None


@dataclass(frozen=True, slots=True)
class BlankJoint:
    """A joint inside a glued-up blank, a ring at a height above the glue line; ``inner_mm`` grows as it is hollowed."""

    height_mm: float
    outer_mm: Amount
    inner_mm: Amount
    combination: Combination


@dataclass(frozen=True, slots=True)
class MountJoint:
    """The glue line between blank and waste block."""

    combination: Combination
    outline: Outline
    age_h: float
    void_pct: Amount = 0.0
    void_at_rim: bool = True
    surface: Surface = Surface.CLEAN
    interlayer: Interlayer = Interlayer.NONE
    gap_mm: float | None = None
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class Block:
    """The waste block."""

    thickness_mm: Amount
    wood: str | None = None
    kind: SubstrateKind | None = None
    grain: Grain = Grain.FACE
    moisture_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """How the blank is held, and the diameter of the plate."""

    kind: HoldKind = HoldKind.FACEPLATE
    plate_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Screws:
    """Screws between faceplate and block, equally spaced on one circle. ``thread_mm`` is the thread in the block."""

    count: int
    circle_mm: Amount
    diameter_mm: float
    thread_mm: Amount
    pilot: bool = True
    reused: bool = False
    edge_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Lathe:
    """Chosen speed, motor, and inertia of what turns on the drive side."""

    speed_rpm: Amount
    motor_w: Amount
    rotor_kg_m2: Amount
    base_rpm: Amount = 300.0


@dataclass(frozen=True, slots=True)
class Work:
    """Furthest cut from the glue line, least radius cut, and minutes of turning."""

    reach_mm: Amount
    min_radius_mm: Amount
    minutes: float = 30.0


@dataclass(frozen=True, slots=True)
class Support:
    """The tailstock, its distance from the glue line."""

    tailstock: Tailstock = Tailstock.NONE
    tailstock_mm: Amount = 0.0


@dataclass(frozen=True, slots=True)
class People:
    """Who is near."""

    learner: bool = False
    bystanders: bool = False


@dataclass(frozen=True, slots=True)
class Criteria:
    """What the verdict asks. ``margin_default`` is the margin asked when none is given; below it counts as relaxed."""

    coverage: float = 0.95
    confidence: float = 0.95
    margin: float = 1.5
    margin_default: float = 1.5
    catch: CatchClass = CatchClass.SEVERE

    @property
    def relaxed(self) -> tuple[str, ...]:
        """What is asked less than the default, in words; empty when nothing is."""
        told = []
        if self.margin < self.margin_default:
            told.append(f"margin {self.margin:g} under {self.margin_default:g}")
        if self.confidence < 0.95:
            told.append(f"confidence {self.confidence:g} under 0.95")
        if self.coverage < 0.95:
            told.append(f"coverage {self.coverage:g} under 0.95")
        if self.catch is not CatchClass.SEVERE:
            told.append(f"{self.catch} catch in place of severe")
        return tuple(told)


@dataclass(frozen=True, slots=True)
class LoadAssumptions:
    """What the loads rest on beside the mount itself; sources and ranges stand in ``assumptions.ASSUMPTIONS``.

    Parameters
    ----------
    light_n, firm_n, severe_n
        Tangential force of each class of catch, if the lathe delivers it.
    cut_n
        Tangential force of a heavy roughing cut, if the motor delivers it.
    radial_share, axial_share
        Radial force, and axial force away from the faceplate, over the tangential one.
    pull_out
        Peak torque of the drive over its rated torque.
    sudden
        What a load applied suddenly does, over what a slow one does.
    stopping_mm
        Arc over which a catch stops the blank.
    tailstock_least
        Least share of a cut's moment that stays on the joint with the tailstock up throughout.
    """

    light_n: Amount = 300.0
    firm_n: Amount = 1000.0
    severe_n: Amount = 3000.0
    cut_n: Amount = 400.0
    radial_share: Amount = 0.4
    axial_share: Amount = 0.3
    pull_out: Amount = 2.5
    sudden: Amount = 2.0
    stopping_mm: Amount = 100.0
    tailstock_least: Amount = 0.5

    def force_n(self, catch: CatchClass) -> Amount:
        """Tangential force of a class of catch [N]."""
        return {CatchClass.LIGHT: self.light_n, CatchClass.FIRM: self.firm_n, CatchClass.SEVERE: self.severe_n}[catch]


@dataclass(frozen=True, slots=True)
class MountSetup:
    """Everything the demand and the verdict are computed from."""

    blank: Blank
    joint: MountJoint
    block: Block
    lathe: Lathe
    work: Work
    hold: Hold = field(default_factory=Hold)
    screws: Screws | None = None
    support: Support = field(default_factory=Support)
    people: People = field(default_factory=People)
    criteria: Criteria = field(default_factory=Criteria)
    blank_joints: tuple[BlankJoint, ...] = ()
    factors: tuple[tuple[str, float], ...] = ()
    assumptions: LoadAssumptions = field(default_factory=LoadAssumptions)
