"""What the verdict room gives."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from jointlab.mount.demand import Case, ScrewDemand, StressDemand
from jointlab.mount.setup import Criteria
from jointlab.record.finding import Finding
from jointlab.sources import Source


class Outcome(StrEnum):
    """The answer."""

    PASS = "pass"
    FAIL = "fail"
    UNDECIDED = "undecided"


class Basis(StrEnum):
    """What a link's strength rests on."""

    TESTS = "tests"
    SOURCE = "source"
    UNRATED = "unrated"


@dataclass(frozen=True, slots=True)
class StressStrength:
    """Strength relied on, after the factors [MPa]; None when there is none."""

    tension_mpa: float | None
    shear_mpa: float | None


@dataclass(frozen=True, slots=True)
class ScrewStrength:
    """Strength relied on of one screw [N]; shear is shown, not rated."""

    withdrawal_n: float | None
    shear_n: float | None = None


@dataclass(frozen=True, slots=True)
class LinkVerdict:
    """A link at the case and point that governs it."""

    link: str
    case: Case
    demand: StressDemand | ScrewDemand
    strength: StressStrength | ScrewStrength
    margin_lower: float | None
    margin_upper: float | None
    basis: Basis


@dataclass(frozen=True, slots=True)
class Factor:
    """A factor from test to service, shown also at 1.0; or an assumption of the loads that was set by hand.

    The ``name`` of a factor ends in _tension or _shear, that of an assumption is its key in ``[factors]``.
    """

    name: str
    value: float
    source: Source
    reason: str
    overridden: bool = False


@dataclass(frozen=True, slots=True)
class WayOut:
    """Something that would settle an undecided mount or make it pass; ``setting`` is the key and value to change."""

    text: str
    setting: tuple[tuple[str, float | str], ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer and everything it rests on. Field names follow the JSON contract of ``decide``."""

    verdict: Outcome
    relaxed: bool
    criteria: Criteria
    confidence_spent: float
    margin_lower: float | None
    margin_upper: float | None
    margin_required: float
    governing_link: str | None
    governing_case: Case | None
    stands_n: float | None
    links: tuple[LinkVerdict, ...]
    factors: tuple[Factor, ...]
    reasons: tuple[str, ...]
    would_settle: tuple[WayOut, ...]
    scope: str
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    sources: tuple[Source, ...]
