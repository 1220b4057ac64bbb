"""The pull: one pull-apart test, as it was seen at the bench."""

from __future__ import annotations

from dataclasses import dataclass, field

from jointlab.record.joint import Joint
from jointlab.record.vocabulary import Action, AdhesiveSide, BrokeAt, Outcome


@dataclass(frozen=True, slots=True)
class Break:
    """Where the joint let go, and how the broken faces look.

    The five shares are percentages of the break that sum to 100; all None when no share was given.
    """

    broke_at: BrokeAt | None = None
    wood_pct: float | None = None
    cohesive_pct: float | None = None
    adhesive_pct: float | None = None
    delamination_pct: float | None = None
    paper_pct: float | None = None
    adhesive_side: AdhesiveSide | None = None


@dataclass(frozen=True, slots=True)
class Conditions:
    """How the joint was made and kept until the test. ``glued_on`` is ISO 8601 as it was written."""

    glued_on: str | None = None
    cure_h: float | None = None
    clamp_h: float | None = None
    air_c: float | None = None
    humidity_pct: float | None = None
    moisture_pct: float | None = None
    spread_g_m2: float | None = None
    grit: float | None = None
    gap_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Loading:
    """Load on the joint: force for pull, pry and shear [N], torque for twist [N m].

    ``load`` is at failure, or the highest reached; ``held`` the last step held; ``cap`` and ``load_step`` the rig's
    limit and step. All four are in newtons, or in newton metres when the action is twist. ``arm_mm`` runs from the
    glue line to the line of pull; ``offset_mm`` is the eccentricity of a straight pull.
    """

    load: float
    held: float | None = None
    cap: float | None = None
    load_step: float | None = None
    arm_mm: float | None = None
    offset_mm: float | None = None
    uncertainty_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull-apart test. ``batch`` (a glue-up) and ``specimen`` together are unique in a shop book.

    ``tested_on`` is an ISO 8601 date or date-time, kept as written; without a zone it is the shop's local time.
    """

    batch: str
    specimen: str
    tested_on: str
    joint: Joint
    action: Action
    loading: Loading
    outcome: Outcome
    broke: Break = field(default_factory=Break)
    conditions: Conditions = field(default_factory=Conditions)
    rig: str | None = None
    excluded_because: str | None = None
    notes: str | None = None
    entered: tuple[tuple[str, str], ...] = field(default=(), compare=False)
    """The physical cells as they were written, column and text: kept beside the SI values, not compared."""

    @property
    def is_twist(self) -> bool:
        """Whether loads are torques."""
        return self.action is Action.TWIST
