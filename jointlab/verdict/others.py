"""Other shops' pulls among a shop's own: which of them count for a verdict, and which are only called its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from jointlab.record.bounds import load_bounds
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action, Outcome
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS

SOURCE = "judgement"

LEAST_ALIKE = 3
"""Breaks, at as many different loads, that must all be found in another glue-up for a copy of it (``SOURCE``)."""

_Reading = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Sharing:
    """Which glue-ups of a combination count for this shop's verdict.

    Parameters
    ----------
    left_out
        Names of those that do not: other shops', where the shop's own are enough for a pass.
    foreign
        Names of those that other shops made and that count all the same, so that no pass comes of them.
    findings
        What to know about it.
    """

    left_out: frozenset[str] = frozenset()
    foreign: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def sharing_of(pulls: Sequence[Pull], *, foreign_batches: Collection[str]) -> Sharing:
    """What other shops' pulls do among those of one combination.

    As soon as the shop's own pulls are enough for a pass they count alone: what another shop's hands and glue differ
    by is nowhere in the bound. Until then all count together, to tell what to expect, and nothing passes. A glue-up
    whose readings are another's is no new evidence: of another shop's it counts as that shop's, of the shop's own it
    is told.

    Parameters
    ----------
    foreign_batches
        Names of the glue-ups that came in as another shop's.
    """
    copied = copies_among(pulls)
    passed_off = passed_off_among(copied, foreign_batches)
    repeated = {name: of for name, of in copied.items() if name not in foreign_batches and name not in passed_off}
    names = dict.fromkeys(pull.batch for pull in pulls)
    foreign = tuple(name for name in names if name in foreign_batches or name in passed_off)
    told = [*_copies_told(passed_off, "another shop's"), *_copies_told(repeated, "already in the book")]
    if foreign and own_suffice(pulls, foreign):
        count = sum(pull.batch in foreign for pull in pulls)
        text = (
            f"{count} pulls of other shops ({_listed(foreign)}) are shown and not counted: your own are enough to be "
            "judged alone, and how your hands and glue differ from theirs is in none of them."
        )
        told.append(Finding(FindingCode.OTHERS_LEFT_OUT, Severity.NOTE, text))
        return Sharing(frozenset(foreign), (), tuple(told))
    return Sharing(frozenset(), foreign, tuple(told))


def own_suffice(pulls: Iterable[Pull], foreign: Collection[str]) -> bool:
    """Whether the pulls that are not of these glue-ups are as many as a pass asks, in one action of tension."""
    own = [
        pull
        for pull in pulls
        if pull.batch not in foreign and pull.excluded_because is None and load_bounds(pull).carries_information
    ]
    for action in (Action.PRY, Action.PULL):
        batches = [pull.batch for pull in own if pull.action is action]
        if len(batches) >= LEAST_PULLS and len(set(batches)) >= LEAST_BATCHES:
            return True
    return False


def passed_off_among(copied: Mapping[str, str], foreign_batches: Collection[str]) -> dict[str, str]:
    """Glue-ups called the shop's own whose readings are another shop's, whichever came in first."""
    pairs = [*copied.items(), *((of, name) for name, of in copied.items())]
    return {own: other for own, other in pairs if own not in foreign_batches and other in foreign_batches}


def copies_among(pulls: Iterable[Pull]) -> dict[str, str]:
    """Glue-ups whose every break is also in an earlier one, joint, load and arm alike: name to that one's name.

    Excluded pulls are read too: excluding some of a copy does not make it another.
    """
    readings: dict[str, Counter[_Reading]] = {}
    for pull in pulls:
        if pull.outcome is Outcome.BROKE:
            readings.setdefault(pull.batch, Counter())[_reading_of(pull)] += 1
    having: dict[_Reading, list[str]] = {}
    copied: dict[str, str] = {}
    for name, own in readings.items():
        earlier = [set(having.get(reading, ())) for reading in own]
        shared = set.intersection(*earlier) if len(own) >= LEAST_ALIKE else set()
        of = next((other for other in readings if other in shared and own <= readings[other]), None)
        if of is not None:
            copied[name] = of
        for reading in own:
            having.setdefault(reading, []).append(name)
    return copied


def _reading_of(pull: Pull) -> _Reading:
    """What was measured of a joint, without what it is called and when it was said to be pulled."""
    return (pull.joint.combination.key, pull.joint.outline, pull.action, pull.loading.load, pull.loading.arm_mm)


def _copies_told(copied: Mapping[str, str], whose: str) -> Iterable[Finding]:
    if copied:
        pairs = "; ".join(f"{name} reads as {of}" for name, of in copied.items())
        text = (
            f"Every reading of these glue-ups is {whose} under another name ({pairs}): the same joints twice are no "
            "more evidence. Exclude the copies."
        )
        yield Finding(FindingCode.BATCHES_COPIED, Severity.WARNING, text)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:LEAST_PULLS]) + (", ..." if len(names) > LEAST_PULLS else "")
