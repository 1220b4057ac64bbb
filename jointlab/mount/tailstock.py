"""What the tailstock takes off the bending moment of a cut or catch (judgement, on mechanics)."""

from __future__ import annotations

from typing import Any

import numpy as np

from jointlab.mount.loads import arm_mm
from jointlab.mount.setup import MountSetup, Tailstock

SOURCE = "mechanics"


def propped_factor(height_share: Any) -> Any:
    """Moment at a clamped joint with a propped far end, over that without: (L - z)(2 L - z)/(2 L^2) at z/L."""
    return (1.0 - height_share) * (2.0 - height_share) / 2.0


def tailstock_factor(setup: MountSetup, *, height_mm: Any) -> Any:
    """Share of the moment of a cut at a height that stays on the joint.

    1 unless the tailstock is up throughout; then the propped factor, but never below one half, because a rigid blank
    stands on a soft joint. Beyond the tailstock nothing supports.
    """
    if setup.support.tailstock is not Tailstock.THROUGHOUT:
        return np.ones_like(np.asarray(height_mm, dtype=np.float64))
    height_share = height_mm / setup.support.tailstock_mm
    return np.where(
        height_share > 1.0, 1.0, np.maximum(setup.assumptions.tailstock_least, propped_factor(height_share))
    )


def worst_arm_mm(setup: MountSetup, *, radius_mm: Any) -> Any:
    """Largest bending arm about the glue line over all cuts up to the reach [mm].

    Without a tailstock the furthest cut is the worst. With it a wide, flat blank can ask more near the block, where the
    tailstock relieves nothing and the axial force still bends: so the block itself, the reach, and the height between
    them at which the relieved arm peaks are compared.
    """
    reach_mm = setup.work.reach_mm
    far_mm = tailstock_factor(setup, height_mm=reach_mm) * arm_mm(setup, height_mm=reach_mm, radius_mm=radius_mm)
    if setup.support.tailstock is not Tailstock.THROUGHOUT:
        return far_mm
    peak_mm = np.minimum(_peak_share(setup, radius_mm) * setup.support.tailstock_mm, reach_mm)
    between_mm = tailstock_factor(setup, height_mm=peak_mm) * arm_mm(setup, height_mm=peak_mm, radius_mm=radius_mm)
    return np.maximum(np.maximum(far_mm, between_mm), arm_mm(setup, height_mm=0.0, radius_mm=radius_mm))


def _peak_share(setup: MountSetup, radius_mm: Any) -> Any:
    """Height z/L at which the propped factor times the arm peaks.

    With x = z/L, r = 0.3 R_c/L, a = 1 + 0.4^2 and b = 0.4, setting the derivative of ((1 - x)(2 - x)/2)^2 times
    (a x^2 + 2 b r x + r^2) to nothing gives a cubic; its middle root is the peak (Viete's cosines). Where there is no
    peak the height given is one like any other.
    """
    cross = setup.assumptions.radial_share
    square = 1.0 + cross**2
    level = setup.assumptions.axial_share * radius_mm / setup.support.tailstock_mm
    second = (10.0 * cross * level - 12.0 * square) / (6.0 * square)
    first = (4.0 * level**2 - 18.0 * cross * level + 4.0 * square) / (6.0 * square)
    last = (4.0 * cross * level - 6.0 * level**2) / (6.0 * square)
    slope = np.maximum(second**2 / 9.0 - first / 3.0, 1e-12)
    offset = (2.0 * second**3 - 9.0 * second * first + 27.0 * last) / 54.0
    turn = np.arccos(np.clip(-offset / slope**1.5, -1.0, 1.0)) / 3.0
    root = 2.0 * np.sqrt(slope) * np.cos(turn - 2.0 * np.pi / 3.0) - second / 3.0
    return np.clip(root, 0.0, 1.0)
