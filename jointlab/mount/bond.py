"""What of the mount's bond carries: its section, less its voids."""

from __future__ import annotations

from typing import Any

import numpy as np

from jointlab.mount.setup import Amount, MountJoint
from jointlab.stress.section import Section, section_of

SOURCE = "mechanics"


def rim_void_ratios(void_share: Amount) -> tuple[Any, Any]:
    """Second moment and section modulus left by one round void that touches the rim, as shares of the whole disc.

    A disc of radius 1 less a disc of radius b = sqrt(share) centred at 1 - b: the centroid shifts away from the void,
    and the rim beside the void is then the furthest point. Source: mechanics (parallel axes).

    Parameters
    ----------
    void_share
        Void over outline, 0 to 0.3 [-].

    Returns
    -------
    tuple
        I / I_whole and Z / Z_whole, of the shape of ``void_share``.
    """
    share = np.asarray(void_share, dtype=np.float64)
    radius = np.sqrt(share)
    place = 1.0 - radius
    shift = share * place / (1.0 - share)
    hole = share**2 + 4.0 * share * place**2  # (pi b^4/4 + pi b^2 place^2) / (pi/4)
    inertia = 1.0 - hole - 4.0 * (1.0 - share) * shift**2
    return inertia, inertia / (1.0 + shift)


def bonded_section(joint: MountJoint) -> Section:
    """Section of the mount's bond with its voids taken out.

    At the rim (the default, when it is unknown where they are) bending and torsion take the ratio of a void at the rim;
    a ring and a rectangle take the disc's ratio at the same share (judgement). Elsewhere they take 1 - share. The area
    always takes 1 - share.
    """
    whole = section_of(joint.outline)
    share = np.asarray(joint.void_pct, dtype=np.float64) / 100.0
    inertia, modulus = rim_void_ratios(share) if joint.void_at_rim else (1.0 - share, 1.0 - share)
    return Section(
        area_mm2=whole.area_mm2 * (1.0 - share),
        inertia_mm4=whole.inertia_mm4 * inertia,
        bending_mm3=whole.bending_mm3 * modulus,
        turning_mm3=whole.turning_mm3 * modulus,
        torsion_mm3=whole.torsion_mm3 * modulus,
    )
