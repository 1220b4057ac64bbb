"""What should be known of the strengths, each thing said once with the combinations it concerns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jointlab.publish.publication import held_open
from jointlab.publish.wording import counted
from jointlab.record.finding import Finding
from jointlab.strength.values import CombinationStrength

SOURCE = "judgement"

MOST_NAMED = 12
"""Combinations named with a finding; of more, their number is told (``SOURCE``)."""

MOST_NOT_CONCERNED = 3
"""Combinations named as the only ones a finding does not concern (``SOURCE``)."""


@dataclass(frozen=True, slots=True)
class ToldFinding:
    """A finding and, in words, whom it concerns."""

    about: str
    finding: Finding

    @property
    def text(self) -> str:
        """What is to be known, and whether it holds a bound open."""
        return f"Open: {self.finding.text}" if self.finding.blocks else self.finding.text


def told_findings(strengths: Sequence[CombinationStrength]) -> tuple[ToldFinding, ...]:
    """Every finding once, those that keep a mount from passing first, otherwise in the order of the strengths."""
    names = [f"{strength.combination}, {strength.action}" for strength in strengths]
    concerned: dict[Finding, list[str]] = {}
    for name, strength in zip(names, strengths, strict=True):
        for finding in strength.findings:
            concerned.setdefault(finding, []).append(name)
    ordered = sorted(concerned, key=lambda finding: not held_open([finding]))
    return tuple(ToldFinding(_about(concerned[finding], names), finding) for finding in ordered)


def _about(concerned: Sequence[str], names: Sequence[str]) -> str:
    others = [name for name in names if name not in set(concerned)]
    if len(names) > 1 and not others:
        return f"All {counted(len(names), 'combination')}"
    if len(others) <= MOST_NOT_CONCERNED < len(concerned):
        return f"All combinations but {'; '.join(others)}"
    more = len(concerned) - MOST_NAMED
    named = "; ".join(concerned[:MOST_NAMED])
    return f"{named}; and {counted(more, 'more combination')}" if more > 0 else named
