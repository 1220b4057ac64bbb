"""Strengths that say which of their readings look wrong."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action
from jointlab.stress.doubtful_readings import doubtful_readings, looks_wrong

if TYPE_CHECKING:
    from jointlab.strength.values import CombinationStrength


class Doubts:
    """Takes down the readings that look wrong while pulls stream by, and tells them with the strengths they feed."""

    def __init__(self) -> None:
        self._of: defaultdict[tuple[tuple[str, str, str], Action], list[Pull]] = defaultdict(list)

    def watched(self, pulls: Iterable[Pull]) -> Iterator[Pull]:
        """The same pulls, each looked at; what is excluded feeds no strength and is passed over."""
        for pull in pulls:
            if pull.excluded_because is None and looks_wrong(pull):
                self._of[pull.joint.combination.key, pull.action].append(pull)
            yield pull

    def told(self, strength: CombinationStrength) -> CombinationStrength:
        """The strength with a finding on those of its readings that look wrong, if there are any."""
        doubtful = self._of.get((strength.combination.key, strength.action), [])
        return replace(strength, findings=(*strength.findings, *doubtful_readings(doubtful, of=strength.n)))
