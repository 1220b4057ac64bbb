"""Findings: what a practitioner should know beside the number, as data that every door shows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs."""

    NOTE = "note"
    QUESTION = "question"
    WARNING = "warning"
    BLOCKING = "blocking"


class FindingCode(StrEnum):
    """The closed list of findings; the comment behind each says when it is given."""

    # record: a reading that looks wrong is questioned (judgement)
    STRESS_HIGH = "stress_high"  # above what the wood of the joint can carry: a unit mistaken?
    STRESS_LOW = "stress_low"  # below 0.05 MPa: did the rig slip?
    NEAR_CAP = "near_cap"  # peak within 2 % of the rig's limit: did it hold?
    CURED_SHORT = "cured_short"  # tested before 24 h of cure
    WOOD_MOIST = "wood_moist"  # above 16 % moisture
    FORCE_UNIT_SAID_BACK = "force_unit_said_back"  # kg or lb read as force
    NO_INFORMATION = "no_information"  # handled, and the break was outside the joint


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to know.

    Parameters
    ----------
    code
        From the closed list.
    severity
        A ``blocking`` finding turns a pass into undecided, never into a fail.
    text
        The sentence for the user.
    """

    code: FindingCode
    severity: Severity
    text: str

    @property
    def blocks(self) -> bool:
        """Whether it keeps a verdict from being a pass."""
        return self.severity is Severity.BLOCKING
