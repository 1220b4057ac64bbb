"""The joint taken apart: each link with the pulls that broke elsewhere as held, and the chain put together again.

For diagnosis only. The verdict takes the joint as one chain, whichever link let go.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from jointlab.record.vocabulary import BrokeAt
from jointlab.strength.fitting import fit, kernel_of
from jointlab.strength.quadrature import rising_root
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family, StrengthFit
from jointlab.stress.joint_stress import JointStress

SOURCE = "lawless"

AGREE = 0.10
"""Difference of the 5th percentiles up to which the chain and the joint's own fit are said to agree (judgement)."""

_LEAST_MPA = 1e-5  # no joint is as weak as this


@dataclass(frozen=True, slots=True)
class Link:
    """One place where joints let go: ``broke_at`` None where nobody noted it; ``broke`` pulls did so there."""

    broke_at: BrokeAt | None
    broke: int
    fit: StrengthFit

    @property
    def name(self) -> str:
        """Its name in a sentence."""
        return "place not noted" if self.broke_at is None else self.broke_at.replace("_", " ")


@dataclass(frozen=True, slots=True)
class LinkChain:
    """The links of the joints of one combination, and what they come to together.

    Parameters
    ----------
    links
        By the number of their breaks, most first.
    joint
        The fit that does not ask where a joint let go.
    chain_mpa, joint_mpa
        5th percentile [MPa] of the chain (the product of the links' chances to hold) and of the joint's own fit; None
        where a link, or the joint, has no fit, or where it would lie below zero.
    farthest
        Largest difference of the two chances to hold, over all stresses; None likewise.
    """

    links: tuple[Link, ...]
    joint: StrengthFit
    chain_mpa: float | None
    joint_mpa: float | None
    farthest: float | None

    @property
    def sentence(self) -> str:
        """The comparison in words."""
        if len(self.links) == 1:
            return f"Every joint that broke let go at one place ({self.links[0].name}): the chain has one link."
        unfitted = [link.name for link in self.links if link.fit.ill is not None]
        if unfitted or self.joint.ill is not None:
            missing = " and ".join(unfitted) or "the joint as a whole"
            return f"Too few breaks to fit {missing}: the chain cannot be put together."
        if self.chain_mpa is None or self.joint_mpa is None:
            return "The breaks scatter too far for this family: a 5th percentile would lie below zero."
        apart = self.chain_mpa / self.joint_mpa - 1.0
        verb = "agree" if abs(apart) <= AGREE else "do not agree"
        return (
            f"Put together from its {len(self.links)} links the chain has its 5th percentile at {self.chain_mpa:.3g} "
            f"MPa, the joint's own fit at {self.joint_mpa:.3g} MPa ({100.0 * apart:+.0f} %): they {verb}."
        )


def links_of(stresses: Sequence[JointStress], *, family: Family = Family.WEIBULL) -> LinkChain | None:
    """The links of the joints, and the chain recomposed; None where no joint broke.

    Parameters
    ----------
    stresses
        Of one combination under one action; a break elsewhere says of a link that it held up to that stress.
    family
        Of every link and of the joint. The weakest of Weibull links of one shape is itself Weibull (source key
        ``lawless``, competing risks); with other shapes or families the joint's own fit is another description.
    """
    usable = [stress for stress in stresses if stress.carries_information]
    broke = [stress for stress in usable if stress.upper_mpa is not None]
    if not broke:
        return None
    counts: dict[BrokeAt | None, int] = {}
    for stress in broke:
        counts[stress.broke_at] = counts.get(stress.broke_at, 0) + 1
    places = sorted(counts, key=lambda place: (-counts[place], place or ""))
    links = tuple(Link(place, counts[place], fit(_seen_from(usable, place), family=family)) for place in places)
    joint = fit(StrengthSample.of_stresses(usable), family=family)
    if joint.ill is not None or any(link.fit.ill is not None for link in links):
        return LinkChain(links, joint, None, None, None)
    fits = tuple(link.fit for link in links)
    chain_mpa, joint_mpa = _percentile(fits), _percentile((joint,))
    if chain_mpa is None or joint_mpa is None:
        return LinkChain(links, joint, chain_mpa, joint_mpa, None)
    grid = joint_mpa * np.geomspace(0.1, 20.0, 400)
    away = max(abs(math.exp(log_holds(fits, float(x))) - math.exp(log_holds((joint,), float(x)))) for x in grid)
    return LinkChain(links, joint, chain_mpa, joint_mpa, away)


def log_holds(fits: Sequence[StrengthFit], stress_mpa: float) -> float:
    """Logarithm of the chance that every link of these fits holds a stress [MPa]."""
    total = 0.0
    for fitted in fits:
        values = dict(fitted.parameters)
        match fitted.family:
            case Family.NORMAL:
                z = (stress_mpa - values["mean_mpa"]) / values["sd_mpa"]
            case Family.LOGNORMAL:
                z = (math.log(stress_mpa) - values["log_mean"]) / values["log_sd"]
            case Family.WEIBULL:
                z = values["shape"] * math.log(stress_mpa / values["scale_mpa"])
            case Family.GUMBEL_MIN:
                z = (stress_mpa - values["location_mpa"]) / values["scale_mpa"]
        total += float(kernel_of(fitted.family).right(np.array([z])).log[0])
    return total


def _seen_from(usable: Sequence[JointStress], place: BrokeAt | None) -> StrengthSample:
    """The sample of one link: joints that let go elsewhere held up to the last stress they are known to have borne."""
    seen = []
    for stress in usable:
        here = stress.upper_mpa is not None and stress.broke_at == place
        if here:
            seen.append(stress)
        elif stress.lower_mpa > 0.0:
            seen.append(replace(stress, upper_mpa=None, handled=False))
    return StrengthSample.of_stresses(seen)


def _percentile(fits: Sequence[StrengthFit]) -> float | None:
    """Stress [MPa] that the chain of these fits holds with a chance of 95 %; None where it would not be above zero."""
    if log_holds(fits, _LEAST_MPA) < math.log(0.95):
        return None
    return math.exp(rising_root(lambda log: math.log(0.95) - log_holds(fits, math.exp(log)), -12.0, 1.0, near=1e-10))
