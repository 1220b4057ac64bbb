"""Capacity: the strength relied on at each link, after the factors."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.mount.demand import Case
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_findings import UNRATED_SURFACES
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.factors import Factors, Side, factors_of
from jointlab.verdict.rule import Interaction, interaction_of
from jointlab.verdict.substrate import kinds_of, shear_share_of
from jointlab.verdict.values import StressStrength

NOTHING = StressStrength(None, None)

BLANK_JOINT = "blank_joint_"
"""What the name of a joint inside the blank begins with; its number follows."""


@dataclass(frozen=True, slots=True)
class Capacity:
    """What a mount's links can be relied on to carry.

    Parameters
    ----------
    lower, upper
        Tension and shear of the glue line before the factors: the lower working bound, and the bound above which the
        strength is not expected to lie [MPa].
    factors
        From test to service; None without evidence.
    interaction
        How tension and shear add up at a point.
    screw_withdrawal_n
        Withdrawal relied on of one screw [N]; None when its condition is unrated.
    rated
        Whether a glue line between such faces has a rating at all.
    blank_joints
        The capacity of each joint inside the blank, in the mount's order; None for one that no tests rate.
    """

    lower: StressStrength
    upper: StressStrength
    factors: Factors | None
    interaction: Interaction
    screw_withdrawal_n: float | None
    rated: bool = True
    blank_joints: tuple[Capacity | None, ...] = ()

    def glue_line(self, case: Case) -> StressStrength:
        """Lower strength of the glue line in a case, after the factors [MPa]."""
        return self._after_factors(self.lower, case)

    def glue_line_upper(self, case: Case) -> StressStrength:
        """Upper strength of the glue line in a case, after the factors [MPa]."""
        return self._after_factors(self.upper, case)

    def of_link(self, link: str) -> Capacity | None:
        """The capacity that a glued link goes by: its own for a joint inside the blank, else the tested joint's."""
        if not link.startswith(BLANK_JOINT):
            return self
        place = int(link.removeprefix(BLANK_JOINT)) - 1
        return self.blank_joints[place] if place < len(self.blank_joints) else None

    def _after_factors(self, strength: StressStrength, case: Case) -> StressStrength:
        if self.factors is None or not self.rated:
            return NOTHING
        return StressStrength(
            tension_mpa=_times(strength.tension_mpa, self.factors.product(Side.TENSION, case)),
            shear_mpa=_times(strength.shear_mpa, self.factors.product(Side.SHEAR, case)),
        )


def _times(strength_mpa: float | None, factor: float) -> float | None:
    return None if strength_mpa is None else strength_mpa * factor


def capacity_of(setup: MountSetup, evidence: Evidence | None, *, screw_withdrawal_n: float | None) -> Capacity:
    """Capacity of a mount's links on this evidence.

    Shear is the tested one, else a share of the tension bound taken before the factors, which then apply as for shear.
    """
    if evidence is None:
        return Capacity(NOTHING, NOTHING, None, Interaction.QUADRATIC, screw_withdrawal_n)
    share = shear_share_of(kinds_of(setup, evidence))
    tension, shear = evidence.tension, evidence.shear
    return Capacity(
        lower=StressStrength(tension.bound_mpa, _times(tension.bound_mpa, share) if shear is None else shear.bound_mpa),
        upper=StressStrength(tension.upper_mpa, _times(tension.upper_mpa, share) if shear is None else shear.upper_mpa),
        factors=factors_of(setup, evidence),
        interaction=interaction_of(setup, evidence),
        screw_withdrawal_n=screw_withdrawal_n,
        rated=setup.joint.surface not in UNRATED_SURFACES,
    )
