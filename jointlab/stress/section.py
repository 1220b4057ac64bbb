"""Section properties of a bond: area, second moment, section moduli for bending and for torsion."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from jointlab.record.joint import Disc, Outline, Rectangle, Ring

SOURCE = "mechanics"


@dataclass(frozen=True, slots=True)
class Section:
    """Properties of a bonded outline. Each may be a number or a float64 array of one common shape.

    Parameters
    ----------
    area_mm2
        Bonded area.
    inertia_mm4
        Second moment of area about the bending axis.
    bending_mm3
        Section modulus for bending: Z = I / c. For a rectangle, bending over ``depth_mm``.
    turning_mm3
        Section modulus under a moment that turns with the blank. Round outlines: the same as ``bending_mm3``. A
        rectangle's corner sees M sqrt(1/Zx^2 + 1/Zy^2).
    torsion_mm3
        Section modulus for torsion, elastic.
    """

    area_mm2: Any
    inertia_mm4: Any
    bending_mm3: Any
    turning_mm3: Any
    torsion_mm3: Any


def section_of(outline: Outline) -> Section:
    """Section properties of an outline; a disc is a ring whose hole is nothing.

    Rectangle in torsion: W = b t^2 / (3 + 1.8 t/b) with t the short side, within 4 % of the exact series. Source:
    elementary mechanics (derived); the torsion formula is recalled from memory.

    Examples
    --------
    >>> round(section_of(Disc(50.0)).area_mm2, 1)
    1963.5
    """
    match outline:
        case Disc(diameter_mm):
            return _round_section(diameter_mm, 0.0)
        case Ring(diameter_mm, hole_mm):
            return _round_section(diameter_mm, hole_mm)
        case Rectangle(width_mm, depth_mm):
            return _rectangle_section(width_mm, depth_mm)


def _round_section(outer_mm: Any, inner_mm: Any) -> Section:
    inertia = math.pi * (outer_mm**4 - inner_mm**4) / 64.0
    bending = 2.0 * inertia / outer_mm
    return Section(
        area_mm2=math.pi * (outer_mm**2 - inner_mm**2) / 4.0,
        inertia_mm4=inertia,
        bending_mm3=bending,
        turning_mm3=bending,
        torsion_mm3=2.0 * bending,
    )


def _rectangle_section(width_mm: Any, depth_mm: Any) -> Section:
    import numpy as np  # only here: most bonds are round, and a command that only records should stay quick

    over_depth = width_mm * depth_mm**2 / 6.0
    over_width = depth_mm * width_mm**2 / 6.0
    short, long = np.minimum(width_mm, depth_mm), np.maximum(width_mm, depth_mm)
    return Section(
        area_mm2=width_mm * depth_mm,
        inertia_mm4=width_mm * depth_mm**3 / 12.0,
        bending_mm3=over_depth,
        turning_mm3=1.0 / np.hypot(1.0 / over_depth, 1.0 / over_width),
        torsion_mm3=long * short**2 / (3.0 + 1.8 * short / long),
    )
