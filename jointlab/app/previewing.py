"""A mount judged while it is still being described: nothing is taken down, and so nothing new is ever a pass."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow
from jointlab.record.finding import Finding, FindingCode

if TYPE_CHECKING:
    from jointlab.mount.setup import MountSetup
    from jointlab.verdict.values import Verdict

NOT_TAKEN_DOWN = "This look at the tests is not taken down yet: a look that leaves no trace is never a pass."


@dataclass(frozen=True, slots=True)
class Preview:
    """What a verdict would rest on.

    Parameters
    ----------
    decision
        The answer. Where its look is not taken down it is no pass, whatever the margins.
    taken_down
        Whether the book has the look already, so that the answer is the verdict itself; also without any pull that
        counts, and before a planned look is due, as then there is nothing to take down.
    """

    decision: workflow.Decision
    taken_down: bool


def preview_setup(place: str | Path | None, setup: MountSetup, *, name: str) -> Preview:
    """The answer on a mount without taking a look down: that of ``decide_setup`` where the book has the look already.

    Asking for it any number of times changes nothing in the book.
    """
    with workflow.open_book(place) as book:
        seen, decided = workflow.question_of(book, setup, name=name)
        counting = any(stored.pull.excluded_because is None for stored in seen.pulls)
        taken_down = seen.known or bool(seen.look.waiting) or not counting
        decision = decided(look=seen.look if taken_down else replace(seen.look, kept=False))
        if taken_down:
            decision = workflow.with_other_combinations(book, decision)
    return Preview(decision if taken_down else replace(decision, verdict=_reworded(decision.verdict)), taken_down)


def _reworded(verdict: Verdict) -> Verdict:
    """The book was not asked to take the look down: say so, and not that it could not."""
    told = [found.text for found in verdict.findings if found.code is FindingCode.LOOK_NOT_KEPT]

    def reworded(text: str) -> str:
        for each in told:
            text = text.replace(each, NOT_TAKEN_DOWN)
        return text

    return replace(
        verdict,
        findings=tuple(Finding(found.code, found.severity, reworded(found.text)) for found in verdict.findings),
        reasons=tuple(map(reworded, verdict.reasons)),
        would_settle=tuple(replace(way, text=reworded(way.text)) for way in verdict.would_settle),
    )
