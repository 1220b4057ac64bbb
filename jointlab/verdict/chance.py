"""What more pulls may bring: the chance that they lift the lower margin to what is required."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import MountSetup
from jointlab.record.vocabulary import Action
from jointlab.strength.order_statistic import lower_ends
from jointlab.strength.sample import StrengthSample
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.assessment import assess
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.plausible import LEAST_KNOWN, plausible_shops, void_shares_of
from jointlab.verdict.settling import share_settled
from jointlab.verdict.shops import Design
from jointlab.verdict.values import WayOut

SOURCE = "judgement"

SIMULATIONS = 4000
"""Simulated futures: a standard error of at most 0.8 points on a chance (``SOURCE``)."""

OFFERED = ((5, 1), (10, 2), (20, 4))
"""Further pulls, and the new glue-ups they come from, whose chance is told (``SOURCE``)."""

LEAST_CHANCE = 0.01
"""Chance below which further pulls are not offered as a way out (``SOURCE``)."""

BOUND_WIDTH, EXACT = 1e-6, 1e-9
"""A bound is found to this share of itself; and what is proportional, to that."""

LARGEST_MPA = 1e4
"""Strength above which none is sought: no glued wood comes near."""


@dataclass(frozen=True, slots=True)
class MorePulls:
    """Further pulls from new glue-ups, and the chance that with them the lower margin reaches what is required."""

    pulls: int
    glue_ups: int
    chance: float


def more_pulls(setup: MountSetup, evidence: Evidence, *, confidence: float | None = None) -> tuple[MorePulls, ...]:
    """Chance that further pulls of the kind that feeds the tension settle the mount, for some numbers of them.

    Futures are drawn from what the pulls leave open: family, spread and mean of the joints, how unlike glue-ups are,
    and, where the pulls do not say that all was solid wood, whether some joints are voided. Further pulls are recorded
    as those at hand: held at the rig's limit, read in its steps. Each future's bound is taken by the same rule at
    ``confidence``, that of the look which the further pulls would be; the present one when None. Empty where fewer than
    three are usable, where a joint broke when handled on a rig that says nothing of its step, or where no bound would
    be enough.
    """
    sample = evidence.tension.sample
    if sample is None or sample.n < LEAST_KNOWN or float(lower_ends(sample).min()) <= 0.0:
        return ()
    needed_mpa = needed_bound_mpa(setup, evidence)
    if needed_mpa is None:
        return ()
    bound = evidence.tension.strength.working_bound
    return settling_chances(
        sample,
        needed_mpa=needed_mpa,
        coverage=bound.coverage,
        confidence=bound.confidence if confidence is None else confidence,
        void_shares=void_shares_of(evidence.kinds),
    )


def pull_ways(setup: MountSetup, evidence: Evidence, *, confidence: float | None = None) -> Iterator[WayOut]:
    """The same as ways out, least pulls first; those of next to no chance are left out, and where all are, it is said.

    Where the pulls at hand have no bound to start from, no chance is told.
    """
    found = more_pulls(setup, evidence, confidence=confidence)
    action, required = evidence.tension.action, setup.criteria.margin
    for more in found:
        if more.chance >= LEAST_CHANCE:
            yield WayOut(
                f"{more.pulls} more {action} tests from {_new_told(more.glue_ups)}: with them the lower margin reaches "
                f"{required:g} with a chance of {100.0 * more.chance:.0f} % (simulated from these pulls)."
            )
    if all(more.chance < LEAST_CHANCE for more in found) and _left_open(setup, evidence):
        yield _hardly_settled(found, action) if found else _chance_unknown(action)


def _hardly_settled(found: Sequence[MorePulls], action: Action) -> WayOut:
    return WayOut(
        f"Up to {found[-1].pulls} more {action} tests settle it with a chance of less than "
        f"{100.0 * LEAST_CHANCE:.0f} % (simulated from these pulls): change the mount, or test stronger joints."
    )


def _chance_unknown(action: Action) -> WayOut:
    pulls, glue_ups = OFFERED[1]
    return WayOut(
        f"More {action} tests, such as {pulls} from {_new_told(glue_ups)}, may settle it: how likely cannot be said of "
        "these pulls. A rig that breaks every joint, and shows the load to a few percent, makes as many pulls carry "
        "further."
    )


def _new_told(glue_ups: int) -> str:
    return "a new glue-up" if glue_ups == 1 else f"{glue_ups} new glue-ups"


def _left_open(setup: MountSetup, evidence: Evidence) -> bool:
    """Whether a stronger bound would be enough, and these pulls do not rule it out."""
    upper_mpa = evidence.tension.upper_mpa
    needed_mpa = needed_bound_mpa(setup, evidence) if evidence.tension.sample is not None else None
    return needed_mpa is not None and (upper_mpa is None or upper_mpa >= needed_mpa)


def needed_bound_mpa(setup: MountSetup, evidence: Evidence) -> float | None:
    """Tension bound [MPa] at which every rated link keeps the required margin, a tested shear staying as it is.

    None when no tension is enough: another link misses, or the tested shear.
    """
    capacity = mount_capacity(setup, evidence)
    tension, shear = capacity.lower.tension_mpa, capacity.lower.shear_mpa
    if not tension or shear is None:
        return None
    links = mount_demand(setup).links

    def meets(bound_mpa: float) -> bool:
        scaled = shear if evidence.shear is not None else shear * bound_mpa / tension
        lower = replace(capacity.lower, tension_mpa=bound_mpa, shear_mpa=scaled)
        margin = assess(links, setup=setup, capacity=replace(capacity, lower=lower)).margin_lower
        return margin is not None and margin >= setup.criteria.margin

    if not meets(LARGEST_MPA):
        return None
    # where the joint governs and its shear goes with its tension, the margin is proportional to the bound
    now = assess(links, setup=setup, capacity=capacity).margin_lower
    guess_mpa = tension * setup.criteria.margin / now * (1.0 + EXACT) if now else LARGEST_MPA
    if meets(guess_mpa) and not meets(guess_mpa * (1.0 - BOUND_WIDTH)):
        return guess_mpa
    low, high = 0.0, LARGEST_MPA
    while high - low > BOUND_WIDTH * high:
        middle = (low + high) / 2.0
        low, high = (low, middle) if meets(middle) else (middle, high)
    return high


def settling_chances(
    sample: StrengthSample,
    *,
    needed_mpa: float,
    coverage: float,
    confidence: float,
    void_shares: Sequence[float],
    offered: Sequence[tuple[int, int]] = OFFERED,
) -> tuple[MorePulls, ...]:
    """Share of simulated futures in which the bound of all pulls together reaches ``needed_mpa``, for each offer.

    The same futures serve every offer, the smaller ones being parts of the largest. Over shops drawn from all those
    simulated, the promised chances keep within 3 points of what follows, group by group, but for pulls that a limit of
    the rig held: there they are too low, by 9 points on the average (the study of the verdict).
    """
    if needed_mpa > float(lower_ends(sample).min()):
        # no bound lies above the weakest joint, and further pulls do not lift that one
        return tuple(MorePulls(pulls, glue_ups, 0.0) for pulls, glue_ups in offered)
    most = Design(*max(OFFERED))
    rng = np.random.default_rng([sample.n, sample.batches, most.pulls, most.glue_ups])
    shops = plausible_shops(sample, void_shares=void_shares)
    new = shops.new_strengths(most, futures=SIMULATIONS, rng=rng)
    level = {"needed_mpa": needed_mpa, "coverage": coverage, "confidence": confidence}
    found = []
    for pulls, glue_ups in offered:
        columns = np.flatnonzero(most.batch < glue_ups)[:pulls]
        chance = share_settled(sample, new[:, columns], most.batch[columns], **level)
        found.append(MorePulls(pulls, glue_ups, chance))
    return tuple(found)
