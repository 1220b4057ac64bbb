"""The closed list of unit suffixes, with exact factors.

Inside jointlab: N, mm, MPa, kg, s, rad. The doors (files, forms, JSON) may write any suffix below; each belongs to
one quantity and converts to that quantity's suffix at the doors' side (``Quantity.column_suffix``), which is what the
book stores and JSON shows. A test proves each factor against pint, which is not imported at run time.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

STANDARD_GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall, exact by definition (sources.GUM names the use; CGPM 1901)."""

POUND_KG = 0.45359237
"""International avoirdupois pound, exact by definition (1959)."""

INCH_MM = 25.4
"""International inch, exact by definition (1959)."""

_POUND_FORCE_N = POUND_KG * STANDARD_GRAVITY_M_S2


class Quantity(StrEnum):
    """A physical quantity a column can hold; its value is the suffix in which it is stored."""

    LENGTH = "mm"
    FORCE = "n"
    TORQUE = "nm"
    STRESS = "mpa"
    DURATION = "h"
    TEMPERATURE = "c"
    SHARE = "pct"
    SPREAD = "g_m2"
    DENSITY = "kg_m3"
    MASS = "kg"
    INERTIA = "kg_m2"
    POWER = "w"
    SPEED = "rpm"

    @property
    def column_suffix(self) -> str:
        """Suffix of the columns in which the quantity is stored and shown."""
        return self.value


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one quantity: stored = entered * factor + offset."""

    suffix: str
    quantity: Quantity
    factor: float
    offset: float = 0.0
    said: str = ""

    def to_stored(self, entered: float) -> float:
        """Value in the quantity's stored unit."""
        if self.offset:
            return (entered + self.offset) * self.factor
        return entered * self.factor

    def from_stored(self, stored: float) -> float:
        """Value in this unit."""
        if self.offset:
            return stored / self.factor - self.offset
        return stored / self.factor


# A suffix can serve two quantities only where the trade does so: "kg" and "lb" are masses, and read as force on a rig.
_UNITS = (
    Unit("mm", Quantity.LENGTH, 1.0),
    Unit("cm", Quantity.LENGTH, 10.0),
    Unit("in", Quantity.LENGTH, INCH_MM),
    Unit("n", Quantity.FORCE, 1.0),
    Unit("kn", Quantity.FORCE, 1000.0),
    Unit("kgf", Quantity.FORCE, STANDARD_GRAVITY_M_S2),
    Unit("kg", Quantity.FORCE, STANDARD_GRAVITY_M_S2, said="kg read as kilogram-force (kgf)"),
    Unit("lbf", Quantity.FORCE, _POUND_FORCE_N),
    Unit("lb", Quantity.FORCE, _POUND_FORCE_N, said="lb read as pound-force (lbf)"),
    Unit("nm", Quantity.TORQUE, 1.0),
    Unit("inlbf", Quantity.TORQUE, _POUND_FORCE_N * INCH_MM / 1000.0),
    Unit("ftlbf", Quantity.TORQUE, _POUND_FORCE_N * INCH_MM * 12.0 / 1000.0),
    Unit("mpa", Quantity.STRESS, 1.0),
    Unit("psi", Quantity.STRESS, _POUND_FORCE_N / INCH_MM**2),
    Unit("h", Quantity.DURATION, 1.0),
    Unit("min", Quantity.DURATION, 1.0 / 60.0),
    Unit("d", Quantity.DURATION, 24.0),
    Unit("c", Quantity.TEMPERATURE, 1.0),
    Unit("f", Quantity.TEMPERATURE, 5.0 / 9.0, offset=-32.0),
    Unit("pct", Quantity.SHARE, 1.0),
    Unit("g_m2", Quantity.SPREAD, 1.0),
    Unit("kg_m3", Quantity.DENSITY, 1.0),
    Unit("kg", Quantity.MASS, 1.0),
    Unit("g", Quantity.MASS, 0.001),
    Unit("kg_m2", Quantity.INERTIA, 1.0),
    Unit("w", Quantity.POWER, 1.0),
    Unit("rpm", Quantity.SPEED, 1.0),
)

UNITS: dict[tuple[Quantity, str], Unit] = {(unit.quantity, unit.suffix): unit for unit in _UNITS}
"""Every unit accepted at a door, by quantity and suffix."""

SUFFIXES: frozenset[str] = frozenset(unit.suffix for unit in _UNITS)
"""Every suffix a physical column may end in."""

INNER_SUFFIXES: frozenset[str] = frozenset({"s", "rad", "nmm", "mm2", "mm3", "mm4", "mpa", "n", "mm", "kg", "j", "m_s"})
"""Suffixes of physical names inside the analysis rooms, beside the stored ones."""


def units_of(quantity: Quantity) -> tuple[Unit, ...]:
    """Units in which the quantity may be written, the stored one first."""
    found = [unit for unit in _UNITS if unit.quantity is quantity]
    return tuple(sorted(found, key=lambda unit: unit.suffix != quantity.column_suffix))
