"""Looks: how much of 1 - confidence each look at growing evidence uses up."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.errors import AnalysisError
from jointlab.record.finding import Finding, FindingCode, Severity

SOURCE = "optional_stopping"


def share_of_look(*, confidence: float, look: int, planned_looks: int | None, left: float = 1.0) -> float:
    """Share of 1 - confidence that look number ``look`` at a combination spends.

    Under a plan each of its looks spends an equal share: all of it if the plan has one look. Without a plan look j
    spends (1 - confidence) / 2^j, the first included, so that however many looks follow they never spend more than
    1 - confidence together. A plan made after looks have been taken shares what they left. The same evidence again is
    the same look. ``SOURCE``: the sum of the shares bounds the chance of a false pass over all looks.

    Parameters
    ----------
    confidence
        Confidence asked of the whole, between 0 and 1.
    look
        1 for the first look at this combination, counted up by each look at new evidence.
    planned_looks
        Looks the stored plan foresees; None without a plan.
    left
        Share of the doubt that was left when the plan, or the run of looks without one, began.

    Raises
    ------
    AnalysisError
        The plan's looks are used up: nothing is left to spend.

    Examples
    --------
    >>> round(share_of_look(confidence=0.95, look=1, planned_looks=None), 6)
    0.025
    >>> round(share_of_look(confidence=0.95, look=1, planned_looks=1), 6)
    0.05
    """
    doubt = (1.0 - confidence) * left
    if planned_looks is None:
        return doubt / 2.0**look
    if look > planned_looks:
        raise AnalysisError(
            f"The plan has {planned_looks} look{'s' if planned_looks != 1 else ''} and this is look {look}: its "
            "share of doubt is spent. Size the mount to what its pulls allow."
        )
    return doubt / planned_looks


@dataclass(frozen=True, slots=True)
class Look:
    """One look at a combination's evidence.

    Parameters
    ----------
    number
        1 for the first; the same evidence again is the same look.
    planned_looks
        Looks of the plan that was kept before them; None without a plan.
    kept
        Whether the shop book took it down: a look that leaves no trace could be taken until one is lucky.
    left
        Share of the doubt that was left when its plan, or the run of looks without one, began.
    waiting
        Specimens that the plan asks for before this look is due; asked earlier, nothing is spent and nothing passes.
    """

    number: int
    planned_looks: int | None = None
    kept: bool = True
    left: float = 1.0
    waiting: tuple[str, ...] = ()

    @property
    def beyond_plan(self) -> bool:
        """Whether the plan's looks were used up before it."""
        return self.planned_looks is not None and self.number > self.planned_looks

    @property
    def nothing_left(self) -> bool:
        """Whether all of the doubt was spent before it."""
        return self.beyond_plan or self.left <= 0.0

    @property
    def fraction(self) -> float:
        """Share of all the doubt there is that it spends; nothing where nothing was left."""
        return 0.0 if self.nothing_left else self._share(confidence=0.0)

    def spent(self, confidence: float) -> float:
        """Share of 1 - confidence it uses; where none was left that of a last look, and no pass comes of it."""
        return self._share(confidence)

    def _share(self, confidence: float) -> float:
        number = min(self.number, self.planned_looks) if self.planned_looks else self.number
        left = self.left if self.left > 0.0 else 1.0
        return share_of_look(confidence=confidence, look=number, planned_looks=self.planned_looks, left=left)

    def spent_next(self, confidence: float) -> float | None:
        """Share the next look will use; None when there is none left."""
        if self.left <= 0.0 or (self.planned_looks is not None and self.number >= self.planned_looks):
            return None
        return share_of_look(
            confidence=confidence, look=self.number + 1, planned_looks=self.planned_looks, left=self.left
        )


MOST_WAITING = 6
"""Specimens still to be pulled that are named one by one."""


def look_findings(look: Look, *, confidence: float) -> tuple[Finding, ...]:
    """What is to be known of a look: which it is, what it spends, and what keeps it from being a pass."""
    return (_look_finding(look, confidence),)


def _look_finding(look: Look, confidence: float) -> Finding:
    if look.nothing_left:
        why = f"The plan has {_counted(look.planned_looks)} and this is look {look.number}: its share of doubt is spent"
        text = (
            f"{why if look.beyond_plan else 'Earlier looks at this combination spent all of the doubt there is'}, and "
            "no pass comes of further looks or plans. What its pulls allow stands: size the mount to them, or test "
            "another combination. A plan of two looks or more leaves doubt for later ones."
        )
        return Finding(FindingCode.LOOKS_SPENT, Severity.BLOCKING, text)
    if look.waiting:
        named = ", ".join(look.waiting[:MOST_WAITING]) + (", ..." if len(look.waiting) > MOST_WAITING else "")
        text = (
            f"The plan's look {look.number} is not due: {len(look.waiting)} of its specimens are not in the book yet "
            f"({named}). Until they are nothing is spent, and nothing passes. Record also what was lost."
        )
        return Finding(FindingCode.LOOK_EARLY, Severity.BLOCKING, text)
    if not look.kept:
        text = "The shop book could not take this look down: a look that leaves no trace is never a pass."
        return Finding(FindingCode.LOOK_NOT_KEPT, Severity.BLOCKING, text)
    return Finding(FindingCode.LOOK_TAKEN, Severity.NOTE, look_told(look, confidence=confidence))


def _counted(looks: int | None) -> str:
    return "one look" if looks == 1 else f"{looks} looks"


def look_told(look: Look, *, confidence: float) -> str:
    """The look in a sentence."""
    there_is = 1.0 - confidence
    share = f"{look.spent(confidence):.3g} of the {there_is:.3g} there is"
    if look.planned_looks is not None:
        return f"Planned look {look.number} of {look.planned_looks}: it spends {share}."
    return f"Look {look.number}, without a plan: it spends {share}. Plan first, and the same pulls carry further."
