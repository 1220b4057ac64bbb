"""Use case: each combination described further: where its joints let go, and a threshold beside its families."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action

if TYPE_CHECKING:
    from jointlab.book.stored import PullSelection
    from jointlab.strength.links import LinkChain
    from jointlab.strength.threshold_weibull import ThresholdWeibull
    from jointlab.strength.values import StrengthFit


@dataclass(frozen=True, slots=True)
class Described:
    """For description only, no bound is taken from it. ``chain`` None: no joint broke; ``threshold``: or why none."""

    combination: Combination
    action: Action
    families: tuple[StrengthFit, ...]
    threshold: ThresholdWeibull | str
    chain: LinkChain | None


def described_in(place: str | Path | None, selection: PullSelection) -> tuple[Described, ...]:
    """Families, threshold and links of each combination and action of a selection."""
    from jointlab.app import workflow
    from jointlab.strength.fitting import fit
    from jointlab.strength.links import links_of
    from jointlab.strength.sample import StrengthSample
    from jointlab.strength.threshold_weibull import threshold_weibull_of
    from jointlab.strength.values import Family

    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in book.pulls(selection))
    told = []
    for combination, action, stresses in workflow.grouped(pulls):
        sample = StrengthSample.of_stresses(stresses)
        fits = tuple(fit(sample, family=family) for family in Family)
        told.append(Described(combination, action, fits, threshold_weibull_of(sample), links_of(stresses)))
    return tuple(told)
