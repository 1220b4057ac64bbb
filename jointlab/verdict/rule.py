"""The rule: how combined stresses use up a strength, what margin is left, and what verdict follows."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Any

import numpy as np

from jointlab.mount.demand import ScrewDemand, StressDemand
from jointlab.mount.setup import MountSetup
from jointlab.record.vocabulary import GlueFamily, Interlayer, SubstrateKind
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS, Evidence
from jointlab.verdict.families import families_of
from jointlab.verdict.substrate import kinds_of
from jointlab.verdict.values import Outcome, ScrewStrength, StressStrength

SOURCE = "norris"


class Interaction(StrEnum):
    """How tension and shear at one point add up (``SOURCE``; the linear sum is a judgement)."""

    QUADRATIC = "quadratic"
    LINEAR = "linear"


def interaction_of(setup: MountSetup, evidence: Evidence) -> Interaction:
    """Linear for MDF, paper and cyanoacrylate, which part in layers or break brittle; else quadratic."""
    weak_layer = SubstrateKind.MDF in kinds_of(setup, evidence)
    paper = Interlayer.PAPER in (setup.joint.interlayer, *evidence.interlayers)
    brittle = GlueFamily.CYANOACRYLATE in families_of(setup, evidence)
    return Interaction.LINEAR if weak_layer or paper or brittle else Interaction.QUADRATIC


def usage(
    tension_mpa: Any, shear_mpa: Any, *, tension_strength_mpa: Any, shear_strength_mpa: Any, interaction: Interaction
) -> Any:
    """Share of the strength used up, U, at each point; 1 is the limit. Arrays broadcast.

    Quadratic: sqrt((sigma/f_t)^2 + (tau/f_v)^2); linear: sigma/f_t + tau/f_v. Where the plane is pressed together
    (sigma <= 0) only tau/f_v counts, and no friction is credited. A strength of 0 is used up by any stress.

    Source: norris (quadratic form), judgement (linear).
    """
    pulled = _share(np.maximum(tension_mpa, 0.0), tension_strength_mpa)
    sheared = _share(shear_mpa, shear_strength_mpa)
    return np.hypot(pulled, sheared) if interaction is Interaction.QUADRATIC else pulled + sheared


def _share(stress_mpa: Any, strength_mpa: Any) -> Any:
    if isinstance(strength_mpa, float) and strength_mpa > 0.0:
        return stress_mpa / strength_mpa  # one mount, the usual question: nothing to broadcast
    stress, strength = np.broadcast_arrays(
        np.asarray(stress_mpa, dtype=np.float64), np.asarray(strength_mpa, dtype=np.float64)
    )
    nothing = np.where(stress > 0.0, np.inf, 0.0)
    return np.divide(stress, strength, out=nothing, where=strength > 0.0)


def stress_margin(
    demand: StressDemand,
    *,
    tension_strength_mpa: float | None,
    shear_strength_mpa: float | None,
    interaction: Interaction,
) -> float | None:
    """Least margin 1/U over the points of a case; None without a strength, infinite without a demand."""
    if tension_strength_mpa is None or shear_strength_mpa is None:
        return None
    used = usage(
        demand.tension_mpa,
        demand.shear_mpa,
        tension_strength_mpa=tension_strength_mpa,
        shear_strength_mpa=shear_strength_mpa,
        interaction=interaction,
    )
    return _inverse(float(np.max(used)))


def strength_margin(demand: StressDemand, strength: StressStrength, interaction: Interaction) -> float | None:
    """Least margin over the points of a case against one pair of strengths."""
    return stress_margin(
        demand,
        tension_strength_mpa=strength.tension_mpa,
        shear_strength_mpa=strength.shear_mpa,
        interaction=interaction,
    )


def screw_margin(demand: ScrewDemand, strength: ScrewStrength) -> float | None:
    """Least margin of the most loaded screw, by withdrawal alone; None when its strength is unrated."""
    if strength.withdrawal_n is None:
        return None
    return _inverse(float(np.max(demand.withdrawal_n)) / strength.withdrawal_n)


def _inverse(used: float) -> float:
    if used <= 0.0:
        return math.inf
    return 1.0 / used


def outcome_of(
    *,
    margin_lower: float | None,
    margin_upper: float | None,
    required: float,
    pulls: int,
    batches: int,
    all_rated: bool,
    blocked: bool,
) -> Outcome:
    """The verdict. Fail: the upper margin misses what is required. Pass: the lower one reaches it, on enough evidence.

    Enough is five usable pulls in two glue-ups, every link rated and no blocking finding. A blocking finding turns a
    pass into undecided, never into a fail, and an upper margin that does not exist never fails.
    """
    if margin_upper is not None and margin_upper < required:
        return Outcome.FAIL
    reached = margin_lower is not None and margin_lower >= required
    enough = pulls >= LEAST_PULLS and batches >= LEAST_BATCHES
    return Outcome.PASS if reached and enough and all_rated and not blocked else Outcome.UNDECIDED
