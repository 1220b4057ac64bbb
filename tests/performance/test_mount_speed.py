"""How fast many mounts are computed; processor time, so that other work on the machine does not count."""

import dataclasses
import time

import numpy as np
import pytest

from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import Support, Tailstock
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Disc

pytestmark = pytest.mark.performance

MANY = 100_000


def many_mounts(tailstock):
    rng = np.random.default_rng(1)
    plain = setup_of(
        {
            "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
            "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
            "block": {"thickness_mm": 25, "wood": "yellow-poplar"},
            "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.826, "thread_mm": 19.05},
            "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
        }
    )
    diameter = rng.uniform(100, 500, MANY)
    return dataclasses.replace(
        plain,
        blank=dataclasses.replace(plain.blank, diameter_mm=diameter, mass_kg=rng.uniform(1, 20, MANY)),
        joint=dataclasses.replace(plain.joint, outline=Disc(rng.uniform(40, 100, MANY))),
        lathe=dataclasses.replace(plain.lathe, speed_rpm=rng.uniform(200, 2000, MANY)),
        work=dataclasses.replace(plain.work, reach_mm=rng.uniform(10, 100, MANY), min_radius_mm=diameter / 4),
        support=Support(tailstock, 100.0),
    )


@pytest.mark.parametrize("tailstock", [Tailstock.NONE, Tailstock.THROUGHOUT])
def test_a_hundred_thousand_mounts_take_less_than_two_seconds(tailstock):
    setup = many_mounts(tailstock)
    started = time.process_time()
    demand = mount_demand(setup)
    taken_s = time.process_time() - started
    assert demand.cases[-1].stress.tension_mpa.shape == (MANY,)
    print(f"{MANY} mounts, tailstock {tailstock}: {taken_s:.2f} s of processor time")
    assert taken_s < 2.0
