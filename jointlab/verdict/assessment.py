"""The margin of every link, and the least of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from jointlab.mount.demand import Case, LinkDemand, ScrewDemand, StressDemand
from jointlab.mount.setup import CatchClass, Criteria, MountSetup
from jointlab.record.vocabulary import Interlayer
from jointlab.verdict.capacity import NOTHING, Capacity
from jointlab.verdict.rule import screw_margin, strength_margin
from jointlab.verdict.values import Basis, LinkVerdict, ScrewStrength, StressStrength

GLUE_LINE = "glue_line"
TESTED_LINKS = frozenset({"blank_surface", GLUE_LINE, "paper", "block"})
"""Surfaces within the tested joint: a test pulls the whole stack, so all carry the glue line's margin."""

LINK_ORDER = ("blank_surface", "blank_joint", GLUE_LINE, "paper", "block", "screws")

CATCH_CASES = {
    CatchClass.LIGHT: Case.CATCH_LIGHT,
    CatchClass.FIRM: Case.CATCH_FIRM,
    CatchClass.SEVERE: Case.CATCH_SEVERE,
}


@dataclass(frozen=True, slots=True)
class Assessment:
    """Margins of the links, and the least of them.

    ``margin_lower`` and ``margin_upper`` are None when the glue line's is; ``governing`` is the link of least lower
    margin.
    """

    links: tuple[LinkVerdict, ...]
    margin_lower: float | None
    margin_upper: float | None
    governing: LinkVerdict | None

    @property
    def all_rated(self) -> bool:
        """Whether every link has a lower margin."""
        return all(link.margin_lower is not None for link in self.links)


@dataclass(frozen=True, slots=True)
class _CaseMargin:
    case: Case
    demand: StressDemand | ScrewDemand
    strength: StressStrength | ScrewStrength
    lower: float | None
    upper: float | None


def judged_cases(criteria: Criteria) -> tuple[Case, ...]:
    """Cases a verdict is about: every steady one, and the chosen catch."""
    return (*(case for case in Case if case.steady), CATCH_CASES[criteria.catch])


def assess(links: Iterable[LinkDemand], *, setup: MountSetup, capacity: Capacity) -> Assessment:
    """Margin of each link at the case and point that leave it least, and the least over the links.

    Parameters
    ----------
    links
        Demands of the mount's links, case by case.
    """
    cases = judged_cases(setup.criteria)
    asked = [demand for demand in links if demand.case in cases]
    names = sorted(_names(asked, setup), key=_place)
    each: dict[str, LinkVerdict] = {}
    for name in names:
        same = each.get("blank_surface") if name in TESTED_LINKS else None
        each[name] = _link_verdict(name, asked, capacity) if same is None else replace(same, link=name)
    verdicts = tuple(each.values())
    glue = next((link for link in verdicts if link.link == GLUE_LINE), None)
    rated = [link for link in verdicts if link.margin_lower is not None]
    governing = min(rated, key=lambda link: (_number(link.margin_lower), link.link != GLUE_LINE), default=None)
    return Assessment(
        links=verdicts,
        margin_lower=_least(verdicts, glue, lambda link: link.margin_lower),
        margin_upper=_least(verdicts, glue, lambda link: link.margin_upper),
        governing=governing if glue is not None and glue.margin_lower is not None else None,
    )


def _least(
    links: Sequence[LinkVerdict], glue: LinkVerdict | None, margin: Callable[[LinkVerdict], float | None]
) -> float | None:
    if glue is None or margin(glue) is None:
        return None
    return min(value for value in map(margin, links) if value is not None)


def _number(margin: float | None) -> float:
    return math.inf if margin is None else margin


def _names(asked: Sequence[LinkDemand], setup: MountSetup) -> set[str]:
    within = {"blank_surface", "block"} | ({"paper"} if setup.joint.interlayer is Interlayer.PAPER else set())
    return {demand.link for demand in asked} | within


def _place(name: str) -> tuple[int, int]:
    kind, _, number = name.rpartition("_") if name.rpartition("_")[2].isdigit() else (name, "", "0")
    return LINK_ORDER.index(kind), int(number)


def _link_verdict(name: str, asked: Sequence[LinkDemand], capacity: Capacity) -> LinkVerdict:
    source = GLUE_LINE if name in TESTED_LINKS else name
    margins = [case_margin(demand, capacity) for demand in asked if demand.link == source]
    worst = min(margins, key=lambda margin: (_number(margin.lower), -_severity(margin.case)))
    uppers = [margin.upper for margin in margins if margin.upper is not None]
    return LinkVerdict(
        link=name,
        case=worst.case,
        demand=worst.demand,
        strength=worst.strength,
        margin_lower=worst.lower,
        margin_upper=min(uppers) if len(uppers) == len(margins) else None,
        basis=_basis(name, capacity),
    )


def _severity(case: Case) -> int:
    return list(Case).index(case)


def _basis(name: str, capacity: Capacity) -> Basis:
    if name in TESTED_LINKS:
        return Basis.TESTS if capacity.factors is not None and capacity.rated else Basis.UNRATED
    if name == "screws":
        return Basis.SOURCE if capacity.screw_withdrawal_n is not None else Basis.UNRATED
    return Basis.TESTS if capacity.of_link(name) is not None else Basis.UNRATED


def lower_margin(demand: LinkDemand, capacity: Capacity) -> float | None:
    """Lower margin of one link in one case alone, least over its points."""
    if isinstance(demand.over_points, ScrewDemand):
        return screw_margin(demand.over_points, ScrewStrength(capacity.screw_withdrawal_n))
    own = capacity.of_link(demand.link)
    return None if own is None else strength_margin(demand.over_points, own.glue_line(demand.case), own.interaction)


def case_margin(demand: LinkDemand, capacity: Capacity) -> _CaseMargin:
    """Lower and upper margin of one link in one case, least over its points."""
    if isinstance(demand.over_points, ScrewDemand):
        screw = ScrewStrength(capacity.screw_withdrawal_n)
        margin = screw_margin(demand.over_points, screw)
        return _CaseMargin(demand.case, demand.demand, screw, margin, margin)
    own = capacity.of_link(demand.link)
    if own is None:
        return _CaseMargin(demand.case, demand.demand, NOTHING, None, None)
    strength, upper = own.glue_line(demand.case), own.glue_line_upper(demand.case)
    return _CaseMargin(
        case=demand.case,
        demand=demand.demand,
        strength=strength,
        lower=strength_margin(demand.over_points, strength, own.interaction),
        upper=strength_margin(demand.over_points, upper, own.interaction),
    )
