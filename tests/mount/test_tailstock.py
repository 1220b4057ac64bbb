import dataclasses

import numpy as np
import pytest

from jointlab.mount import loads
from jointlab.mount.setup import Support, Tailstock, Work
from jointlab.mount.setup_of import setup_of
from jointlab.mount.tailstock import tailstock_factor, worst_arm_mm

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "mass_kg": 4},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


def arm_mm(height_mm, radius_mm):
    return loads.arm_mm(PLAIN, height_mm=height_mm, radius_mm=radius_mm)


def supported(tailstock, *, reach_mm=100.0, tailstock_mm=100.0):
    return dataclasses.replace(PLAIN, work=Work(reach_mm, 75.0), support=Support(tailstock, tailstock_mm))


@pytest.mark.parametrize("tailstock", [Tailstock.NONE, Tailstock.ROUGHING])
def test_a_tailstock_that_must_come_away_earns_nothing(tailstock):
    assert worst_arm_mm(supported(tailstock), radius_mm=150.0) == arm_mm(100.0, 150.0)


def test_a_tailstock_up_throughout_takes_half_of_the_moment_of_the_furthest_cut():
    assert worst_arm_mm(supported(Tailstock.THROUGHOUT), radius_mm=150.0) == pytest.approx(0.5 * arm_mm(100.0, 150.0))


def test_nearer_the_block_the_tailstock_takes_less():
    setup = supported(Tailstock.THROUGHOUT)
    assert tailstock_factor(setup, height_mm=10.0) == pytest.approx(0.855)
    assert tailstock_factor(setup, height_mm=20.0) == pytest.approx(0.72)
    assert tailstock_factor(setup, height_mm=60.0) == 0.5


def test_beyond_the_tailstock_nothing_supports():
    assert tailstock_factor(supported(Tailstock.THROUGHOUT, tailstock_mm=60.0), height_mm=61.0) == 1.0


def test_on_a_wide_flat_blank_the_cut_at_the_block_governs():
    setup = supported(Tailstock.THROUGHOUT, reach_mm=30.0, tailstock_mm=30.0)
    assert worst_arm_mm(setup, radius_mm=200.0) == pytest.approx(60.0)
    assert 0.5 * arm_mm(30.0, 200.0) < 40.0


@pytest.mark.parametrize("radius_mm", [1.0, 30.0, 60.0, 80.0, 90.0, 100.0, 300.0, 900.0])
@pytest.mark.parametrize("reach_mm", [2.0, 20.0, 36.0, 38.0, 45.0, 100.0])
def test_the_worst_height_agrees_with_a_dense_search(radius_mm, reach_mm):
    setup = supported(Tailstock.THROUGHOUT, reach_mm=reach_mm)
    heights_mm = np.linspace(0.0, reach_mm, 20_001)
    searched = (tailstock_factor(setup, height_mm=heights_mm) * arm_mm(heights_mm, radius_mm)).max()
    assert worst_arm_mm(setup, radius_mm=radius_mm) == pytest.approx(searched, rel=1e-7)
