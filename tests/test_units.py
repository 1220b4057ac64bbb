"""Every factor against pint, a general unit library (its definitions follow NIST SP 811)."""

import pint
import pytest

from jointlab.units import SUFFIXES, UNITS, Quantity, units_of

PINT_NAMES = {
    "mm": "millimeter", "cm": "centimeter", "in": "inch", "n": "newton", "kn": "kilonewton", "kgf": "kilogram_force",
    "lbf": "pound_force", "nm": "newton*meter", "inlbf": "inch*pound_force", "ftlbf": "foot*pound_force",
    "mpa": "megapascal",
    "psi": "psi", "h": "hour", "min": "minute", "d": "day", "c": "degC", "f": "degF", "pct": "percent",
    "g_m2": "gram/meter**2", "kg_m3": "kilogram/meter**3", "kg_m2": "kilogram*meter**2", "g": "gram", "w": "watt",
    "rpm": "revolution/minute",
}  # fmt: skip


REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def pint_name(unit):
    if unit.suffix in ("kg", "lb"):
        return (
            {"kg": "kilogram_force", "lb": "pound_force"}[unit.suffix]
            if unit.quantity is Quantity.FORCE
            else "kilogram"
        )
    return PINT_NAMES[unit.suffix]


@pytest.mark.parametrize("unit", UNITS.values(), ids=lambda unit: f"{unit.quantity.name.lower()}-{unit.suffix}")
@pytest.mark.parametrize("value", [1.0, 37.5])
def test_each_factor_agrees_with_pint(unit, value):
    stored = UNITS[(unit.quantity, unit.quantity.column_suffix)]
    expected = REGISTRY.Quantity(value, pint_name(unit)).to(pint_name(stored)).magnitude
    assert unit.to_stored(value) == pytest.approx(expected, rel=1e-12)
    assert unit.from_stored(unit.to_stored(value)) == pytest.approx(value, rel=1e-12)


def test_the_list_of_suffixes_is_the_contracts():
    contract = "mm cm in n kn kgf kg lbf lb nm inlbf ftlbf mpa psi h min d c f pct g_m2 kg_m3 kg g kg_m2 w rpm"
    assert frozenset(contract.split()) == SUFFIXES


@pytest.mark.parametrize("quantity", list(Quantity))
def test_the_stored_unit_comes_first(quantity):
    assert units_of(quantity)[0].suffix == quantity.column_suffix
    assert units_of(quantity)[0].factor == 1.0


def test_only_kilogram_and_pound_as_force_are_said_back():
    assert sorted(unit.suffix for unit in UNITS.values() if unit.said) == ["kg", "lb"]
