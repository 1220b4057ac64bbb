"""Use case: what the next joints of each combination will do under a stress."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.errors import InputError, Problem
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action

if TYPE_CHECKING:
    from jointlab.book.stored import PullSelection
    from jointlab.strength.prediction import Prediction
    from jointlab.strength.shares import GlueUps


@dataclass(frozen=True, slots=True)
class Foretold:
    """What is foretold of one combination; None where its pulls cannot say."""

    combination: Combination
    action: Action
    stress_mpa: float
    following: int
    prediction: Prediction | None
    glue_ups: GlueUps | None


def foretold_in(
    place: str | Path | None, selection: PullSelection, *, stress_mpa: float, following: int = 1
) -> tuple[Foretold, ...]:
    """The chance that the next joints hold a stress, for each combination and action of a selection.

    Raises
    ------
    InputError
        The stress is not positive, or the number of joints is below one.
    """
    from jointlab.app import workflow
    from jointlab.strength.prediction import prediction_of
    from jointlab.strength.sample import StrengthSample
    from jointlab.strength.shares import glue_ups_of

    problems = []
    if not 0.0 < stress_mpa < float("inf"):
        problems.append(Problem("--stress: must be greater than 0", value=str(stress_mpa)))
    if following < 1:
        problems.append(Problem("--next: must be at least 1", value=str(following)))
    if problems:
        raise InputError(*problems, subject="strength")
    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in book.pulls(selection))
    told = []
    for combination, action, stresses in workflow.grouped(pulls):
        sample = StrengthSample.of_stresses(stresses)
        told.append(
            Foretold(
                combination,
                action,
                stress_mpa,
                following,
                prediction_of(sample, stress_mpa=stress_mpa, following=following),
                glue_ups_of(sample),
            )
        )
    return tuple(told)
