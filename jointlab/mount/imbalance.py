"""Where an offset of the centre of mass comes from, when it was not measured as such.

Each function gives the offset e [mm] that ``[blank] offset_mm`` takes; m e is what an added mass must balance. Source:
mechanics.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from jointlab.mount.fit_up import FitUp
from jointlab.mount.loads import angular_speed_rad_s, blank_inertia_kg_m2
from jointlab.mount.setup import Blank

SOURCE = "mechanics"
SOURCE_GRADE = "iso_21940"

_MMS_RPM = 60.0 / (2.0 * np.pi)


def offset_from_density_mm(*, diameter_mm: Any, density_share: Any) -> Any:
    """Offset of a disc whose halves differ from the mean density by +/- a share [mm]: 4/(3 pi) delta R.

    Examples
    --------
    >>> round(offset_from_density_mm(diameter_mm=300.0, density_share=0.05), 2)
    3.18
    """
    return 4.0 / (3.0 * np.pi) * density_share * diameter_mm / 2.0


def offset_from_missing_mm(*, missing_kg: Any, radius_mm: Any, left_kg: Any) -> Any:
    """Offset left by a piece missing at a radius [mm]: m_v r_v over the mass that is left."""
    return missing_kg * radius_mm / left_kg


def offset_from_balance_mm(*, added_kg: Any, radius_mm: Any, mass_kg: Any) -> Any:
    """Offset measured by letting the blank settle and adding a mass until it stays anywhere [mm]: m_a r_a/m."""
    return added_kg * radius_mm / mass_kg


def balancing_mass_kg(*, mass_kg: Any, offset_mm: Any, radius_mm: Any) -> Any:
    """Mass that balances a blank when fixed opposite at a radius [kg]: m e/r."""
    return mass_kg * offset_mm / radius_mm


def offset_from_thickness_mm(thickness_mm: npt.ArrayLike, *, diameter_mm: float, hole_mm: float = 0.0) -> float:
    """Offset of a disc whose thickness varies around it [mm], from readings spaced equally.

    The thickness is taken to vary as its first harmonic, t (1 + q cos theta), from the axis to the rim: the offset is
    q (R^3 - r^3)/(3 (R^2 - r^2)), on the high side of a plane wedge's. Higher harmonics, an oval or a waviness, move no
    mass off the axis.

    Parameters
    ----------
    thickness_mm
        Readings around [mm], three or more, all above 0.
    diameter_mm, hole_mm
        Outer and inner diameter of what was measured [mm].

    Raises
    ------
    ValueError
        Fewer than three readings, or a mean thickness that is not above 0.
    """
    readings = np.asarray(thickness_mm, dtype=np.float64)
    mean = float(readings.mean()) if readings.size else 0.0
    if readings.size < 3 or mean <= 0.0:
        raise ValueError(f"three thicknesses or more, above 0, are needed; {readings.size} given")
    angles = 2.0 * np.pi * np.arange(readings.size) / readings.size
    share = 2.0 * abs(np.mean(readings * np.exp(1j * angles))) / mean
    outer, inner = diameter_mm / 2.0, hole_mm / 2.0
    return float(share * (outer**3 - inner**3) / (3.0 * (outer**2 - inner**2)))


def tilt_couple_nmm(blank: Blank, *, tilt_rad: Any, speed_rpm: Any) -> Any:
    """Moment on the joint of a blank whose own axis leans against the spindle's [N mm]: (Ip - Id) omega^2 sin cos.

    The blank as a cylinder: Ip = m D^2/8, Id = m (D^2/16 + L^2/12). It turns with the blank and is 0 where a lean makes
    no difference; its size is given.
    """
    diameter_m, length_m = blank.diameter_mm / 1000.0, blank.length_mm / 1000.0
    across = blank.mass_kg * (diameter_m**2 / 16.0 + length_m**2 / 12.0)
    squared = angular_speed_rad_s(speed_rpm) ** 2
    return 1000.0 * np.abs(blank_inertia_kg_m2(blank) - across) * squared * np.sin(tilt_rad) * np.cos(tilt_rad)


def vibration_mm_s(*, offset_mm: Any, speed_rpm: Any) -> Any:
    """Speed of the centre of mass about the axis [mm/s], e omega: the measure of balance grades, a yardstick only."""
    return offset_mm * speed_rpm / _MMS_RPM


def balance_grade_offset_um(*, grade_mm_s: Any, speed_rpm: Any) -> Any:
    """Offset of a balance grade at a speed [um]: 9549 G/n (``SOURCE_GRADE``)."""
    return 1000.0 * grade_mm_s * _MMS_RPM / speed_rpm


def offset_from_face_mm(fit: FitUp, *, diameter_mm: float) -> float:
    """Offset of a disc whose thickness was read anywhere around it [mm]: of the wedge that fits the readings best.

    Parameters
    ----------
    fit
        Readings of thickness around; the lean of the plane through them is the wedge.
    diameter_mm
        Diameter of the disc [mm].

    Raises
    ------
    ValueError
        The mean thickness is not above 0.
    """
    slope = np.tan(fit.tilt_rad)
    at_rad = fit.readings.angle_rad - fit.high_at_rad
    middle_mm = float(np.mean(fit.readings.height_mm - fit.left_mm - slope * fit.readings.radius_mm * np.cos(at_rad)))
    around_rad = 2.0 * np.pi * np.arange(16) / 16
    return offset_from_thickness_mm(middle_mm + slope * diameter_mm / 2.0 * np.cos(around_rad), diameter_mm=diameter_mm)
