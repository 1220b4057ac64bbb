"""Looks: how much of 1 - confidence each look at growing evidence uses up."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.errors import AnalysisError
from jointlab.record.finding import Finding, FindingCode, Severity

SOURCE = "optional_stopping"


def share_of_look(*, confidence: float, look: int, planned_looks: int | None) -> float:
    """Share of 1 - confidence that look number ``look`` at a combination spends.

    Under a plan each of its looks spends an equal share: all of it if the plan has one look. Without a plan look j
    spends (1 - confidence) / 2^j, the first included, so that however many looks follow they never spend more than
    1 - confidence together. The same evidence again is the same look. ``SOURCE``: the sum of the shares bounds the
    chance of a false pass over all looks.

    Parameters
    ----------
    confidence
        Confidence asked of the whole, between 0 and 1.
    look
        1 for the first look at this combination, counted up by each look at new evidence.
    planned_looks
        Looks the stored plan foresees; None without a plan.

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
    if planned_looks is None:
        return (1.0 - confidence) / 2.0**look
    if look > planned_looks:
        raise AnalysisError(
            f"The plan has {planned_looks} look{'s' if planned_looks != 1 else ''} and this is look {look}: its "
            "share of doubt is spent. Plan a new experiment on new glue-ups."
        )
    return (1.0 - confidence) / planned_looks


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
    pulls_left_out
        Pulls of the combination that it is not at, as it belongs to a plan made after looks at them.
    """

    number: int
    planned_looks: int | None = None
    kept: bool = True
    pulls_left_out: int = 0

    @property
    def beyond_plan(self) -> bool:
        """Whether the plan's looks were used up before it."""
        return self.planned_looks is not None and self.number > self.planned_looks

    def spent(self, confidence: float) -> float:
        """Share of 1 - confidence it uses; beyond the plan that of its last look, and no pass comes of it."""
        number = min(self.number, self.planned_looks) if self.planned_looks else self.number
        return share_of_look(confidence=confidence, look=number, planned_looks=self.planned_looks)

    def spent_next(self, confidence: float) -> float | None:
        """Share the next look will use; None when the plan has none left."""
        if self.planned_looks is not None and self.number >= self.planned_looks:
            return None
        return share_of_look(confidence=confidence, look=self.number + 1, planned_looks=self.planned_looks)


def look_findings(look: Look, *, confidence: float) -> tuple[Finding, ...]:
    """What is to be known of a look: which it is, what it spends, and what keeps it from being a pass."""
    found = [_look_finding(look, confidence)]
    if look.pulls_left_out:
        text = (
            f"{look.pulls_left_out} earlier pulls of this combination are left out: this look belongs to a plan made "
            "after they had been looked at. If they were weaker, ask what has changed since."
        )
        found.append(Finding(FindingCode.PULLS_LEFT_OUT, Severity.WARNING, text))
    return tuple(found)


def _look_finding(look: Look, confidence: float) -> Finding:
    if look.beyond_plan:
        text = (
            f"The plan has {_counted(look.planned_looks)} and this is look {look.number}: its share of doubt is spent, "
            "and no pass comes of further looks. Plan a new experiment; it starts afresh on its own glue-ups."
        )
        return Finding(FindingCode.LOOKS_SPENT, Severity.BLOCKING, text)
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
