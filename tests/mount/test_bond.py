import dataclasses

import numpy as np
import pytest

from jointlab.mount.bond import bonded_section, rim_void_ratios
from jointlab.mount.setup import MountJoint
from jointlab.record.joint import Combination, Disc, Rectangle, Ring
from jointlab.stress.section import section_of

JOINT = MountJoint(Combination("PVA", "maple"), Disc(100.0), age_h=48.0)


def test_the_ratios_of_a_void_at_the_rim_are_those_of_counting_the_bond_left_in_small_squares():
    """Second moment about the centroid of what is left, and the furthest point of the rim, from a fine raster."""
    for share in (0.04, 0.15, 0.3):
        radius = np.sqrt(share)
        step = 2.0 / 1600
        x, y = np.meshgrid(np.arange(-1 + step / 2, 1, step), np.arange(-1 + step / 2, 1, step))
        left = (x**2 + y**2 < 1.0) & ((x - (1.0 - radius)) ** 2 + y**2 > share)
        centre = x[left].mean()
        inertia = ((x[left] - centre) ** 2).sum() * step**2 / (np.pi / 4.0)
        found_inertia, found_modulus = rim_void_ratios(share)
        assert found_inertia == pytest.approx(inertia, rel=2e-3)
        assert found_modulus == pytest.approx(inertia / (1.0 - centre), rel=2e-3)


def test_without_a_void_the_section_is_the_outline_s():
    assert rim_void_ratios(0.0) == (1.0, 1.0)
    assert bonded_section(JOINT).turning_mm3 == section_of(JOINT.outline).turning_mm3


@pytest.mark.parametrize("outline", [Disc(100.0), Ring(100.0, 50.0), Rectangle(80.0, 60.0)])
def test_every_outline_takes_the_disc_s_ratios(outline):
    whole = section_of(outline)
    left = bonded_section(dataclasses.replace(JOINT, outline=outline, void_pct=10.0))
    assert left.area_mm2 / whole.area_mm2 == pytest.approx(0.9)
    assert left.turning_mm3 / whole.turning_mm3 == pytest.approx(0.727, abs=5e-4)
    assert left.torsion_mm3 / whole.torsion_mm3 == pytest.approx(0.727, abs=5e-4)
    assert left.inertia_mm4 / whole.inertia_mm4 == pytest.approx(0.782, abs=5e-4)


def test_a_void_at_the_rim_costs_more_than_its_share():
    shares = np.linspace(0.001, 0.3, 50)
    assert np.all(rim_void_ratios(shares)[1] < 1.0 - shares)
