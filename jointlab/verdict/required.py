"""The strength a mount asks of its glue line: what a bound from tests must reach before any is made."""

from __future__ import annotations

from dataclasses import dataclass, replace

from jointlab.errors import AnalysisError
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import MountSetup
from jointlab.record.vocabulary import Action
from jointlab.strength.values import CombinationStrength, WorkingBound
from jointlab.verdict.assessed import mount_capacity
from jointlab.verdict.assessment import GLUE_LINE, TESTED_LINKS, assess
from jointlab.verdict.evidence import Evidence, Feed
from jointlab.verdict.substrate import kind_mounted

UNIT_MPA = 1.0


@dataclass(frozen=True, slots=True)
class Required:
    """What the glue line must be relied on for.

    Parameters
    ----------
    tension_mpa
        Tension bound, before the factors, at which the glue line just keeps the required margin.
    other_margin
        Least margin of the links whose rating does not come from these tests; None when none of them is rated.
    others_meet
        Whether those links keep the required margin.
    """

    tension_mpa: float
    other_margin: float | None
    others_meet: bool


def required_strength(setup: MountSetup, evidence: Evidence) -> Required:
    """Tension bound that the mount asks of joints like these, shear being a share of it.

    Margins are proportional to the strength (both its parts), so one assessment at 1 MPa gives the bound for any
    margin.
    A tested shear is set aside: the bound is that at which tension with its share alone is enough.

    Raises
    ------
    AnalysisError
        A glue line between such faces has no rating at any strength.
    """
    unit = unit_evidence(evidence)
    found = assess(mount_demand(setup).links, setup=setup, capacity=mount_capacity(setup, unit))
    glue = next(link for link in found.links if link.link == GLUE_LINE)
    if glue.margin_lower is None:
        raise AnalysisError(
            f"The glued faces are {setup.joint.surface}: no strength of tests can rate this joint. Clean or plane them."
        )
    others = [
        link.margin_lower for link in found.links if link.link not in TESTED_LINKS and link.margin_lower is not None
    ]
    required = setup.criteria.margin
    return Required(
        tension_mpa=required / glue.margin_lower,
        other_margin=min(others, default=None),
        others_meet=all(margin >= required for margin in others),
    )


def unit_evidence(evidence: Evidence) -> Evidence:
    """The same evidence with a tension bound of 1 MPa and no tested shear."""
    bound = WorkingBound(UNIT_MPA, UNIT_MPA, "unit", 0.95, 0.95)
    strength = replace(evidence.tension.strength, working_bound=bound)
    return replace(evidence, tension=replace(evidence.tension, strength=strength), shear=None)


def evidence_before_tests(setup: MountSetup, *, area_mm2: float, action: Action, n: int, batches: int) -> Evidence:
    """Evidence that pulls like these would give: coupons of this area, of the mount's own kind, strength still open.

    Parameters
    ----------
    area_mm2
        Outline area of one coupon's bond.
    """
    kind = kind_mounted(setup)
    names = tuple(f"glue-up {number}" for number in range(1, batches + 1))
    strength = CombinationStrength(
        combination=setup.joint.combination,
        action=action,
        n=n,
        n_broke=n,
        n_held=0,
        n_usable=n,
        batches=batches,
        batch_names=names,
        families=(),
        bounds=(),
        working_bound=WorkingBound(UNIT_MPA, UNIT_MPA, "unit", 0.95, 0.95),
    )
    feed = Feed(action, strength, n, names, area_mm2, setup.joint.age_h, None)
    return Evidence(
        combination=strength.combination,
        tension=feed,
        shear=None,
        kinds=() if kind is None else (kind,),
        interlayers=(setup.joint.interlayer,),
    )
