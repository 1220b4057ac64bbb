"""What became of a mount, beside what was said of it before. Never entered as a strength."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from jointlab.mount.setup import CatchClass
from jointlab.verdict.proof import DIRECTIONS
from jointlab.verdict.values import Outcome


class Phase(StrEnum):
    """What was being done."""

    ROUGHING = "roughing"
    SHAPING = "shaping"
    HOLLOWING = "hollowing"
    SANDING = "sanding"
    FINISHING = "finishing"
    REMOUNTING = "remounting"
    RESTING = "resting"


class Inspection(StrEnum):
    """What a look at the joint showed."""

    SOUND = "sound"
    CHANGED = "changed"


class End(StrEnum):
    """How a mount ended."""

    FINISHED = "finished"
    TAKEN_OFF_UNEASY = "taken_off_uneasy"
    JOINT_OPENED = "joint_opened"
    LET_GO = "let_go"
    NEAR_MISS = "near_miss"


class Removal(StrEnum):
    """How the block came off the work."""

    PARTED = "parted"
    SAWN = "sawn"
    SPLIT = "split"
    WARMED = "warmed"
    PRIED = "pried"
    PRIED_WITH_SCALE = "pried_with_scale"
    BY_ITSELF = "by_itself"
    STILL_ON = "still_on"


@dataclass(frozen=True, slots=True)
class Predicted:
    """What was said before turning.

    Parameters
    ----------
    verdict
        The answer; ``label`` is the phrase it was given in, with all that was relaxed.
    margin_lower, margin_required
        The margin kept and the one asked for.
    stands_n
        Catch force stood at the reach [N].
    catch
        The class of catch it was decided for.
    break_chance
        Chance that the glue line breaks, given one such catch; None where it could not be said.
    """

    verdict: Outcome
    label: str
    margin_lower: float | None
    margin_required: float
    stands_n: float | None
    catch: CatchClass
    break_chance: float | None


@dataclass(frozen=True, slots=True)
class Proofed:
    """A proof of the real mount: the pull, its bar, and the number of times the named catch it came to."""

    at: str
    factor: float
    force_n: float
    height_mm: float
    arm_mm: float
    directions: int
    held: bool

    @property
    def counts(self) -> bool:
        """Whether it held in as many directions as a proof asks for."""
        return self.held and self.directions >= DIRECTIONS


@dataclass(frozen=True, slots=True)
class Event:
    """A stretch of turning or a moment of it: phase, hours, top speed, catches by class, a look at the joint."""

    at: str
    phase: Phase | None = None
    hours: float = 0.0
    top_rpm: float | None = None
    catches: tuple[tuple[CatchClass, int], ...] = ()
    inspection: Inspection | None = None
    note: str = ""

    @property
    def voids(self) -> bool:
        """Whether a verdict made before it is void: any catch, any change of the joint, any remounting."""
        caught = any(count for _, count in self.catches)
        return caught or self.inspection is Inspection.CHANGED or self.phase is Phase.REMOUNTING


@dataclass(frozen=True, slots=True)
class Ended:
    """How it ended and how the block came off."""

    at: str
    end: End
    removal: Removal
    note: str = ""


@dataclass(frozen=True, slots=True)
class FieldRecord:
    """A mount from its verdict to its end.

    ``decided_at`` is when the verdict in use was made, ``speed_rpm`` up to what speed [rpm]; None: not told.
    ``ended_before``: endings that a later one put right, the oldest first.
    """

    name: str
    combination: str
    predicted: Predicted
    decided_at: str
    proofs: tuple[Proofed, ...] = ()
    events: tuple[Event, ...] = ()
    ended: Ended | None = None
    speed_rpm: float | None = None
    ended_before: tuple[Ended, ...] = ()

    @property
    def hours(self) -> float:
        """Hours turned."""
        return sum(event.hours for event in self.events)

    @property
    def top_rpm(self) -> float | None:
        """Highest speed told [rpm]."""
        return max((event.top_rpm for event in self.events if event.top_rpm is not None), default=None)

    @property
    def phases(self) -> tuple[Phase, ...]:
        """Phases told, each once."""
        return tuple(dict.fromkeys(event.phase for event in self.events if event.phase is not None))

    def catches(self, catch: CatchClass) -> int:
        """Catches of a class."""
        return sum(count for event in self.events for named, count in event.catches if named is catch)

    @property
    def void_because(self) -> str | None:
        """What voids the verdict in use; None while it stands."""
        for event in self.events:
            if event.at >= self.decided_at and event.voids:
                return _why_void(event)
            if event.at >= self.decided_at and self.speed_rpm is not None and (event.top_rpm or 0.0) > self.speed_rpm:
                return f"turned at {event.top_rpm:g} rpm, decided for up to {self.speed_rpm:g}"
        return "its proof failed" if self.proof_failed else None

    @property
    def proof_failed(self) -> bool:
        """Whether a proof of this mount did not hold."""
        return any(not proof.held for proof in self.proofs)

    @property
    def proofed(self) -> float | None:
        """Times the named catch it was proofed at since anything last happened to the joint; None: it was not."""
        if self.proof_failed:
            return None
        last = max((event.at for event in self.events if event.voids), default="")
        return max((proof.factor for proof in self.proofs if proof.counts and proof.at > last), default=None)


def _why_void(event: Event) -> str:
    caught = [f"{count} {catch}" for catch, count in event.catches if count]
    if caught:
        return f"catches: {', '.join(caught)}"
    return "the joint looked changed" if event.inspection is Inspection.CHANGED else "it was mounted anew"
