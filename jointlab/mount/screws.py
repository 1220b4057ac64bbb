"""Screws between faceplate and block: what the most loaded one is asked, and what it is relied on for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from jointlab.mount.demand import Actions, ScrewDemand
from jointlab.mount.setup import Amount, Block, Grain, MountSetup, Screws
from jointlab.record.vocabulary import SubstrateKind
from jointlab.record.woods import wood_named

SOURCE_GROUP = "mechanics"
SOURCE_WITHDRAWAL = "wood_handbook_8"
SOURCE_PANEL_FACTOR = "judgement"
SOURCE_MDF = "ansi_a208_2"
SOURCE_NDS = "nds_2018"

WITHDRAWAL_MPA = 108.25
"""Coefficient of the mean withdrawal of a wood screw from side grain, P = 108.25 G^2 D L in N and mm
(``SOURCE_WITHDRAWAL``)."""

COV = 0.25
LOWER_SHARE = 1.0 - 1.645 * COV
"""Relied on: mean x (1 - 1.645 x 0.25), a fifth percentile (judgement)."""

PLYWOOD_FACTOR = {Grain.FACE: 0.7, Grain.EDGE: 0.5, Grain.END: 0.5}
"""Share of the solid-wood value in plywood: on the face, and in the edges (``SOURCE_PANEL_FACTOR``)."""

MDF_N = {Grain.FACE: 780.0, Grain.EDGE: 670.0, Grain.END: 670.0}
"""Withdrawal from the weakest grade of MDF of a No. 10 screw with 17 mm of thread (``SOURCE_MDF``)."""
MDF_DIAMETER_MM = 4.826
MDF_THREAD_MM = 17.0

LEAST_COUNT = 3
"""Fewer screws on one circle do not form a group that takes a moment from every side (mechanics)."""

_SIDE_GRAIN = frozenset({SubstrateKind.SOLID_FACE, SubstrateKind.SOLID_EDGE})


@dataclass(frozen=True, slots=True)
class ScrewRating:
    """What one screw is relied on for in withdrawal.

    Parameters
    ----------
    withdrawal_n
        Lower value [N]; None when it is not rated.
    reason
        Why it is not rated, or what the value rests on.
    sources
        Keys of the sources.
    """

    withdrawal_n: Amount | None
    reason: str
    sources: tuple[str, ...] = ()


def screw_demand(setup: MountSetup, screws: Screws, actions: Actions) -> ScrewDemand:
    """Largest withdrawal and shear of one screw of the group [N].

    The screws' plane lies the block's thickness further out: M_s = M + V t. Withdrawal 4 M_s/(n D_b) + N/n about the
    centroid, a screw on the extreme; shear V/n + 2 T/(n D_b). Nothing is credited for the plate's edge.
    """
    moment_nmm = actions.moment_nmm + actions.shear_n * setup.block.thickness_mm
    lever = 1.0 / (screws.count * screws.circle_mm)
    share = 1.0 / screws.count
    return ScrewDemand(
        withdrawal_n=moment_nmm * (4.0 * lever) + actions.axial_n * share,
        shear_n=actions.shear_n * share + actions.torque_nmm * (2.0 * lever),
    )


def combined_withdrawal_n(*, withdrawal_n: Any, lateral_n: Any, angle_rad: Any) -> Any:
    """Strength of a screw pulled at an angle to the wood's surface [N]: W Z/(W cos^2 a + Z sin^2 a).

    ``angle_rad`` is between the load and the surface: 0 is a pure side load. Source: ``SOURCE_NDS``, eq. 12.4-1.
    """
    cosine2 = np.cos(angle_rad) ** 2
    return withdrawal_n * lateral_n / (withdrawal_n * cosine2 + lateral_n * (1.0 - cosine2))


def mean_withdrawal_n(*, specific_gravity: float, diameter_mm: Any, thread_mm: Any) -> Any:
    """Mean withdrawal of a wood screw from side grain [N]: 108.25 G^2 D L (``SOURCE_WITHDRAWAL``, eq. 8-10)."""
    return WITHDRAWAL_MPA * specific_gravity**2 * diameter_mm * thread_mm


def screw_withdrawal_n(setup: MountSetup) -> ScrewRating:
    """What one screw of the mount is relied on for in withdrawal, or why it is not rated.

    Solid wood by the handbook's formula, plywood at a share of it, MDF at its weakest grade's own value scaled down to
    the screw; every mean is lowered by 1.645 x 25 %.
    """
    screws = setup.screws
    if screws is None:
        return ScrewRating(None, "no screws are given: [screws] count, circle_mm, diameter_mm, thread_mm")
    if trouble := unrated_condition(screws):
        return ScrewRating(None, trouble)
    kind = setup.block.kind
    if kind in _SIDE_GRAIN:
        return _from_wood(setup.block, screws, share=1.0, what="side grain of")
    if kind is SubstrateKind.PLYWOOD:
        place = "face" if setup.block.grain is Grain.FACE else "edge"
        return _from_wood(setup.block, screws, share=PLYWOOD_FACTOR[setup.block.grain], what=f"plywood, {place}, of")
    if kind is SubstrateKind.MDF:
        return _from_mdf(setup.block, screws)
    if kind is SubstrateKind.SOLID_END:
        return ScrewRating(None, "screws in end grain are not rated in withdrawal", (SOURCE_NDS,))
    if kind is None:
        return ScrewRating(None, "the block is not described: [block] wood, or kind")
    return ScrewRating(None, f"no source gives the withdrawal of screws from {kind} as it is described here")


def unrated_condition(screws: Screws) -> str | None:
    """Condition of the screws under which no formula holds; None when there is none."""
    if screws.count < LEAST_COUNT:
        return f"{screws.count} screws: fewer than {LEAST_COUNT} do not take a moment from every side"
    if screws.reused:
        return "screws in reused or stripped holes are not rated"
    if not screws.pilot:
        return "screws without a pilot hole are not rated"
    return None


def _from_wood(block: Block, screws: Screws, *, share: float, what: str) -> ScrewRating:
    wood = wood_named(block.wood) if block.wood is not None else None
    if wood is None:
        return ScrewRating(None, f"the wood of the block is not given: [block] wood ({block.kind})")
    mean = mean_withdrawal_n(
        specific_gravity=wood.specific_gravity, diameter_mm=screws.diameter_mm, thread_mm=screws.thread_mm
    )
    told = (
        f"{what} {wood.name}, specific gravity {wood.specific_gravity:g}: {share:g} x 108.25 G^2 D L, lowered by 41 %"
    )
    sources = (
        (SOURCE_WITHDRAWAL, wood.source) if share == 1.0 else (SOURCE_WITHDRAWAL, wood.source, SOURCE_PANEL_FACTOR)
    )
    return ScrewRating(mean * share * LOWER_SHARE, told, sources)


def _from_mdf(block: Block, screws: Screws) -> ScrewRating:
    """The board's own value, scaled down as particleboard goes: with D^0.5 (L - D/3)^1.25; never up."""
    depth = (screws.thread_mm - screws.diameter_mm / 3.0) / (MDF_THREAD_MM - MDF_DIAMETER_MM / 3.0)
    scale = min(screws.diameter_mm / MDF_DIAMETER_MM, 1.0) ** 0.5 * np.clip(depth, 0.0, 1.0) ** 1.25
    board_n = MDF_N[block.grain]
    told = f"MDF of the weakest grade, {board_n:g} N for a No. 10 screw 17 mm deep, scaled down, lowered by 41 %"
    return ScrewRating(board_n * scale * LOWER_SHARE, told, (SOURCE_MDF, SOURCE_PANEL_FACTOR))
