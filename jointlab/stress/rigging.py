"""Load on the joint from what hangs, levers, presses or turns: the rigs of a home shop.

Weights and masses use standard gravity (9.80665 m/s^2, exact; local gravity differs by 0.3 % at the most).
"""

from __future__ import annotations

import math

from jointlab.units import STANDARD_GRAVITY_M_S2


def weight_n(mass_kg: float) -> float:
    """Weight of a mass [N]; also the force behind a scale that reads kilograms."""
    return mass_kg * STANDARD_GRAVITY_M_S2


def hung_load_n(*, mass_kg: float, below_kg: float = 0.0, above_kg: float = 0.0) -> float:
    """Tension in a joint that carries hanging weights [N].

    Parts hanging below the joint (``below_kg``, the hanger with them) pull it too; parts sitting on it
    (``above_kg``) press it. Source: mechanics (derived).
    """
    return weight_n(mass_kg + below_kg - above_kg)


def lever_load_n(
    *,
    applied_n: float,
    applied_arm_mm: float,
    joint_arm_mm: float,
    lever_kg: float = 0.0,
    lever_centre_mm: float = 0.0,
    slope_deg: float = 0.0,
) -> float:
    """Force on a joint at one arm of a lever, loaded at the other [N].

    F_j = (F_a L_a + W L_cg) / L_j. All arms are measured horizontally from the pivot; ``slope_deg`` shortens the
    lever's own arms when it hangs out of level while the joint is pulled plumb. A lever whose weight works against
    the load has a negative ``lever_centre_mm``. Source: mechanics (derived).
    """
    level = math.cos(math.radians(slope_deg))
    turning_nmm = (applied_n * applied_arm_mm + weight_n(lever_kg) * lever_centre_mm) * level
    return turning_nmm / joint_arm_mm


def jack_load_n(*, pressure_mpa: float, piston_mm: float, efficiency: float = 1.0, spring_n: float = 0.0) -> float:
    """Force of a hydraulic jack [N]: p A eta less its return spring.

    ``efficiency`` between 0.95 and 1.00 for seal friction (common practice, no source). Source: mechanics (derived).
    """
    return pressure_mpa * math.pi * piston_mm**2 / 4.0 * efficiency - spring_n


def bar_tare_nm(*, bar_kg: float, centre_mm: float, slope_deg: float = 0.0) -> float:
    """Moment with which the weight of a prying bar itself loads the joint [N m].

    ``centre_mm`` from the glue line to the bar's centre of mass; ``slope_deg`` from level: an upright bar (90) adds
    nothing. Source: mechanics (derived).
    """
    return weight_n(bar_kg) * centre_mm * math.cos(math.radians(slope_deg)) / 1000.0


def pry_load_with_tare_n(*, force_n: float, arm_mm: float, tare_nm: float) -> float:
    """Side load that alone would pry the joint as the force and the bar's own weight do together [N].

    Source: mechanics (derived).
    """
    return force_n + tare_nm * 1000.0 / arm_mm
