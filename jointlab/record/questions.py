"""Questions a practised eye would ask of a pull that has just been written down."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from jointlab.record.dates import hours_between
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import OUTSIDE_THE_JOINT, Action, Outcome
from jointlab.record.woods import WOODS, Wood, estimated_tension_mpa, woods_named

SOURCE = "judgement"

LOWEST_STRESS_MPA = 0.05
"""Below this a rig has slipped more often than a joint broke (judgement)."""

NEAR_CAP_SHARE = 0.02
"""A peak this near to the rig's limit may be the limit (judgement)."""

SHORTEST_CURE_H = 24.0
"""Cure before which a test is early (common practice, no source)."""

MOIST_WOOD_PCT = 16.0
"""Moisture above which most glues and the wood itself are weaker (judgement)."""

TENSION_COV, SHEAR_COV = 0.25, 0.14
"""Spread of clear wood, tension across the grain and shear along it (Wood Handbook Table 5-6, read)."""

SOURCE_SPREAD = "wood_handbook_5_6"

BEYOND_MEAN = 1.3
"""A stress above 1.3 x mean x (1 + 3 COV) of the wood is more likely a unit mistaken than a joint (judgement)."""


def highest_mpa(action: Action, *, woods: Sequence[str | None] = ()) -> float:
    """Stress above which a pull is questioned [MPa]: by the weaker of the woods named, by the strongest listed if none.

    Parameters
    ----------
    woods
        What the shop calls the woods of the joint; names the table does not hold are passed over.
    """
    return _highest_mpa(action, tuple(woods))


@lru_cache(maxsize=4096)
def _highest_mpa(action: Action, woods: tuple[str | None, ...]) -> float:
    shear = action in (Action.SHEAR, Action.TWIST)
    spread = SHEAR_COV if shear else TENSION_COV
    named = [found for found in (woods_named(name) for name in woods if name) if found]
    means = [max(_mean_mpa(wood, shear=shear) for wood in found) for found in named]
    mean_mpa = min(means) if means else max(_mean_mpa(wood, shear=shear) for wood in WOODS)
    return BEYOND_MEAN * mean_mpa * (1.0 + 3.0 * spread)


def _mean_mpa(wood: Wood, *, shear: bool) -> float:
    if shear:
        return wood.shear_mpa
    return estimated_tension_mpa(wood) if wood.tension_mpa is None else wood.tension_mpa


def questions_of(pull: Pull, *, stress_mpa: float) -> tuple[Finding, ...]:
    """What should be asked of a pull before it is believed.

    Parameters
    ----------
    stress_mpa
        Stress at the pull's load [MPa].
    """
    return (*_of_stress(pull, stress_mpa), *_of_conditions(pull))


def _of_stress(pull: Pull, stress_mpa: float) -> Iterator[Finding]:
    highest = highest_mpa(pull.action, woods=(pull.joint.blank_wood, pull.joint.combination.substrate))
    if stress_mpa > highest:
        yield Finding(
            FindingCode.STRESS_HIGH,
            Severity.QUESTION,
            f"{stress_mpa:.3g} MPa is more than such wood can be expected to carry ({highest:.3g} MPa): check the unit "
            "of the load, the arm and the size of the bond.",
        )
    if stress_mpa < LOWEST_STRESS_MPA and pull.outcome is not Outcome.HANDLED:
        yield Finding(
            FindingCode.STRESS_LOW,
            Severity.QUESTION,
            f"{stress_mpa:.3g} MPa is very little: check the units, and whether the rig or the bar slipped.",
        )
    cap = pull.loading.cap
    if cap is not None and pull.outcome is Outcome.BROKE and pull.loading.load >= (1.0 - NEAR_CAP_SHARE) * cap:
        yield Finding(
            FindingCode.NEAR_CAP,
            Severity.QUESTION,
            "The peak lies within 2 % of the rig's limit: did the joint break, or did it hold?",
        )
    if pull.outcome is Outcome.HANDLED and pull.broke.broke_at in OUTSIDE_THE_JOINT:
        yield Finding(
            FindingCode.NO_INFORMATION,
            Severity.WARNING,
            "It came apart in handling, outside the joint: the pull is kept, but says nothing of the joint's strength.",
        )


def _of_conditions(pull: Pull) -> Iterator[Finding]:
    cure_h, moisture_pct = pull.conditions.cure_h, pull.conditions.moisture_pct
    if cure_h is None and pull.conditions.glued_on is not None:
        cure_h = hours_between(pull.conditions.glued_on, pull.tested_on)
    if cure_h is not None and cure_h < SHORTEST_CURE_H:
        yield Finding(
            FindingCode.CURED_SHORT, Severity.QUESTION, f"Tested after {cure_h:.3g} h of cure; 24 h is the usual least."
        )
    if moisture_pct is not None and moisture_pct > MOIST_WOOD_PCT:
        yield Finding(
            FindingCode.WOOD_MOIST,
            Severity.QUESTION,
            f"Wood at {moisture_pct:g} % moisture: above 16 % glue and wood are weaker than they will be dry.",
        )
