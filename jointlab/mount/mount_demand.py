"""The demand on every link of the mount in every case."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from jointlab.mount.actions import (
    CASE_OF_CATCH,
    ToolLoad,
    blank_joint_actions,
    blank_joint_stress,
    free_load,
    joint_actions,
    stress_of,
    tool_load,
)
from jointlab.mount.bond import bonded_section
from jointlab.mount.demand import Actions, Case, CaseDemand, LinkDemand, MountDemand, ScrewDemand, StressDemand
from jointlab.mount.screws import screw_demand
from jointlab.mount.setup import Amount, MountSetup
from jointlab.mount.setup_findings import setup_findings
from jointlab.mount.shape import is_one_mount
from jointlab.record.vocabulary import Interlayer
from jointlab.stress.section import Section

Demand = StressDemand | ScrewDemand
D = TypeVar("D", bound=StressDemand | ScrewDemand | Actions)

GLUE_LINE = "glue_line"
SCREWS = "screws"

_TIE = 1.0 - 1e-12
"""Demands closer than rounding are one: then the second of them decides."""


def mount_demand(setup: MountSetup, *, only: tuple[Case, ...] = tuple(Case)) -> MountDemand:
    """What the lathe asks of every link between blank and faceplate, in every case.

    Cases ``rest``, ``spin``, ``cut`` and the three catches, each over all speeds from min(base, chosen) to chosen and
    all radii from the least one cut to the rim. Formulas and sources: ``loads``, ``tailstock``, ``screws``, ``bond``.

    Parameters
    ----------
    setup
        The mount. Its numbers may be float64 arrays of one common shape: one mount an element, in one call.
    only
        The cases wanted: a search that tries many mounts needs no others.

    Returns
    -------
    MountDemand
        Each case at the point of largest glue-line tension (then shear) [N, N mm, MPa]; each link by its own largest
        demand, with the arrays over the points of the case for combined actions. The findings of the setup alone; none
        for arrays.

    Examples
    --------
    >>> from jointlab.mount.setup_of import setup_of
    >>> setup = setup_of({
    ...     "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
    ...     "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
    ...     "block": {"thickness_mm": 25},
    ...     "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    ... })
    >>> spin = mount_demand(setup).cases[1]
    >>> round(spin.stress.tension_mpa, 5)
    0.03926
    """
    cases: list[CaseDemand] = []
    links: dict[str, list[LinkDemand]] = {}
    section = bonded_section(setup.joint)
    for case in only:
        plane = _glue_plane(setup, tool_load(setup, case), section)
        cases.append(_case_demand(case, plane))
        for link in _links(setup, case, plane):
            links.setdefault(link.link, []).append(link)
    findings = setup_findings(setup) if is_one_mount(setup) else ()
    return MountDemand(tuple(cases), tuple(link for name in links for link in links[name]), findings)


def demand_at_force(setup: MountSetup, force_n: Amount) -> tuple[LinkDemand, ...]:
    """Demand on every link of a catch whose force is set freely: not capped by what the lathe delivers.

    For the largest force that a mount stands. Every demand grows with the force.

    Parameters
    ----------
    setup
        The mount.
    force_n
        Tangential force [N], 0 or more; a number or an array of the setup's shape.
    """
    plane = _glue_plane(setup, free_load(setup, force_n=force_n), bonded_section(setup.joint))
    return tuple(_links(setup, CASE_OF_CATCH[setup.criteria.catch], plane))


@dataclass(frozen=True, slots=True)
class _GluePlane:
    """The glue line under a load, over its points, and which of them is the worst."""

    load: ToolLoad
    actions: Actions
    stress: StressDemand
    worst: Any


def _glue_plane(setup: MountSetup, load: ToolLoad, section: Section) -> _GluePlane:
    actions = joint_actions(setup, load)
    stress = stress_of(actions, section)
    return _GluePlane(load, actions, stress, _worst(stress.tension_mpa, stress.shear_mpa))


def _links(setup: MountSetup, case: Case, plane: _GluePlane) -> list[LinkDemand]:
    """Links from blank to faceplate, in the order of the contract."""
    glued = LinkDemand(GLUE_LINE, case, _settled(plane.stress, plane.worst), plane.stress)

    def same_plane(name: str) -> LinkDemand:
        return LinkDemand(name, case, glued.demand, glued.over_points)

    links = [same_plane("blank_surface")]
    for number, ring in enumerate(setup.blank_joints, start=1):
        stress = blank_joint_stress(ring, blank_joint_actions(setup, ring, plane.load))
        links.append(_link(f"blank_joint_{number}", case, stress))
    links.append(glued)
    if setup.joint.interlayer is Interlayer.PAPER:
        links.append(same_plane("paper"))
    links.append(same_plane("block"))
    if setup.screws is not None:
        links.append(_link(SCREWS, case, screw_demand(setup, setup.screws, plane.actions)))
    return links


def _link(name: str, case: Case, over_points: Demand) -> LinkDemand:
    first, second = _parts(over_points)
    worst = _worst(first, second)
    return LinkDemand(name, case, _settled(over_points, worst), over_points)


def _case_demand(case: Case, plane: _GluePlane) -> CaseDemand:
    return CaseDemand(
        case=case,
        actions=_settled(plane.actions, plane.worst),
        stress=_settled(plane.stress, plane.worst),
        speed_rpm=_at(plane.load.points.speed_rpm, plane.worst),
        radius_mm=_at(plane.load.points.radius_mm, plane.worst),
    )


def _parts(demand: Demand) -> tuple[Any, Any]:
    if isinstance(demand, StressDemand):
        return demand.tension_mpa, demand.shear_mpa
    return demand.withdrawal_n, demand.shear_n


def _worst(first: Any, second: Any) -> Any:
    """Index on the first axis of the largest ``first``; where some tie, of the largest ``second`` among them."""
    highest = np.max(first, axis=0)
    return np.argmax(np.where(first >= highest * _TIE, second, -np.inf), axis=0)


def _at(values: Any, index: Any) -> Any:
    if np.ndim(index) == 0 and np.ndim(values) <= 1:  # one mount, the usual question: nothing to broadcast
        return float(values if np.ndim(values) == 0 else values[index])
    shaped = np.broadcast_to(values, np.broadcast_shapes(np.shape(values), (1, *np.shape(index))))
    taken = np.take_along_axis(shaped, np.asarray(index)[np.newaxis, ...], axis=0)[0]
    if np.ndim(taken) == 0:
        return float(taken)
    taken.setflags(write=False)
    return taken


def _settled(value: D, index: Any) -> D:
    return type(value)(*(_at(getattr(value, name), index) for name in value.__slots__))
