"""Looks: how much of 1 - confidence each look at growing evidence uses up."""

from __future__ import annotations

from jointlab.errors import AnalysisError

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


def look_told(*, look: int, planned_looks: int | None) -> str:
    """The look in a sentence."""
    if planned_looks is not None:
        return f"Planned look {look} of {planned_looks}."
    return f"Unplanned look {look}: plan the looks first, and the same pulls carry further."
