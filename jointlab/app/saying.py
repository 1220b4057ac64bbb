"""Short sentences that every door says alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jointlab.stress.joint_stress import JointStress

SOURCE = "judgement"

LEAST_SHARE, MOST_SHARE = 0.01, 0.9999
"""Coverage and confidence that may be asked for: beyond them no number of pulls says anything (``SOURCE``)."""


def stress_words(stress: JointStress) -> str:
    """Bounds on a strength as a turner would say them."""
    if not stress.carries_information:
        return "says nothing of the joint's strength"
    if stress.upper_mpa is None:
        return f"held {stress.lower_mpa:.3g} MPa"
    if stress.exact:
        return f"broke at {stress.lower_mpa:.3g} MPa"
    if stress.lower_mpa == 0.0:
        return f"broke below {stress.upper_mpa:.3g} MPa"
    return f"broke between {stress.lower_mpa:.3g} and {stress.upper_mpa:.3g} MPa"
