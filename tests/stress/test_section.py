"""Sections of bonds against hand calculations."""

import math

import pytest

from jointlab.record.joint import Rectangle, Ring
from jointlab.stress.section import section_of


def test_a_rectangle_has_the_section_of_a_hand_calculation():
    # 40 wide, 30 deep: I = 40 x 27000 / 12, Z = I / 15 = 6000 and over the width 8000; the corner by 3, 4, 5: 4800
    section = section_of(Rectangle(40.0, 30.0))
    assert section.area_mm2 == pytest.approx(1200.0, rel=1e-12)
    assert section.inertia_mm4 == pytest.approx(90_000.0, rel=1e-12)
    assert section.bending_mm3 == pytest.approx(6_000.0, rel=1e-12)
    assert section.turning_mm3 == pytest.approx(4_800.0, rel=1e-12)
    assert section.torsion_mm3 == pytest.approx(40.0 * 900.0 / 4.35, rel=1e-12)


def test_a_ring_is_a_disc_less_its_hole():
    # pi / 64 times 50^4 - 30^4 = 5 440 000; polar modulus twice the modulus for bending
    section = section_of(Ring(50.0, 30.0))
    assert section.area_mm2 == pytest.approx(400.0 * math.pi, rel=1e-12)
    assert section.inertia_mm4 == pytest.approx(85_000.0 * math.pi, rel=1e-12)
    assert section.bending_mm3 == pytest.approx(3_400.0 * math.pi, rel=1e-12)
    assert section.torsion_mm3 == pytest.approx(6_800.0 * math.pi, rel=1e-12)
