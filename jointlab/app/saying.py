"""Short sentences that every door says alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jointlab.app.looking import DoubtLeft
    from jointlab.record.rig import Rig
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


def rig_words(rig: Rig) -> str:
    """The rig in a line, in N, MPa or N m as it reads."""
    unit = {"n": "N", "mpa": "MPa", "nm": "N m"}
    reads, loads = unit[rig.kind.reads.column_suffix], unit[rig.kind.loads.column_suffix]
    parts = [str(rig.kind)]
    if rig.ratio != 1.0:
        parts.append(f"ratio {rig.ratio:g}")
    if rig.arm_mm is not None:
        parts.append(f"arm {rig.arm_mm:g} mm")
    if rig.tare:
        parts.append(f"tare {rig.tare:.4g} {loads}")
    for word, value in (("zero", rig.zero or None), ("cap", rig.capacity), ("resolution", rig.resolution)):
        if value is not None:
            parts.append(f"{word} {value:.4g} {reads}")
    if rig.step is not None:
        parts.append(f"step {rig.step:.4g} {reads}")
    if rig.class_pct is not None:
        parts.append(f"class {rig.class_pct:g} %")
    if rig.last_check is not None:
        last = rig.last_check
        parts.append(f"checked {last.checked_on[:10]} (known {last.known:.4g}, showed {last.shown:.4g} {reads})")
    return ", ".join(parts)


def doubt_left_told(found: DoubtLeft) -> str:
    """What earlier looks at a combination left of the doubt, and what that means for a plan, in a sentence or two."""
    looks = "1 look" if found.looks == 1 else f"{found.looks} looks"
    if found.left <= 0.0:
        return (
            f"{found.combination} was looked at before: {looks} spent all of the doubt, and no mount passes on further "
            "looks. Plan another combination or preparation."
        )
    return (
        f"{found.combination} was looked at before: {looks} left {100.0 * found.left:.3g} % of the doubt, which is all "
        "that further looks have to share. A mount then needs more of the same pulls than the chance above supposes."
    )
