import dataclasses

import numpy as np
import pytest

from jointlab.mount.demand import StressDemand
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.setup_of import setup_of
from jointlab.mount.shape import is_one_mount, shape_of
from jointlab.record.joint import Disc

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "blank_joint": [{"height_mm": 30, "outer_mm": 280, "glue": "PVA", "substrate": "ring"}],
        "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 19},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


def varied(part, name, values):
    return dataclasses.replace(PLAIN, **{part: dataclasses.replace(getattr(PLAIN, part), **{name: values})})


PLACES = [
    ("blank", "diameter_mm", [250.0, 300.0]),
    ("blank", "length_mm", [100.0, 120.0]),
    ("blank", "mass_kg", [3.0, 4.0]),
    ("blank", "centre_mm", [40.0, 50.0]),
    ("blank", "offset_mm", [0.0, 2.0]),
    ("joint", "void_pct", [0.0, 5.0]),
    ("block", "thickness_mm", [20.0, 25.0]),
    ("screws", "circle_mm", [70.0, 76.0]),
    ("lathe", "speed_rpm", [400.0, 600.0]),
    ("lathe", "motor_w", [700.0, 1100.0]),
    ("lathe", "rotor_kg_m2", [0.01, 0.02]),
    ("lathe", "base_rpm", [200.0, 300.0]),
    ("work", "reach_mm", [60.0, 100.0]),
    ("work", "min_radius_mm", [20.0, 75.0]),
    ("support", "tailstock_mm", [90.0, 100.0]),
    ("assumptions", "severe_n", [2000.0, 3000.0]),
    ("assumptions", "axial_share", [0.2, 0.3]),
]


def leading(demand):
    return demand.tension_mpa if isinstance(demand, StressDemand) else demand.withdrawal_n


@pytest.mark.parametrize(("part", "name", "values"), PLACES)
def test_any_one_number_may_be_an_array_and_each_element_is_that_mount(part, name, values):
    many = varied(part, name, np.array(values))
    assert shape_of(many) == (2,)
    assert not is_one_mount(many)
    together = mount_demand(many)
    for index, value in enumerate(values):
        alone = mount_demand(varied(part, name, value))
        for one, both in zip(alone.links, together.links, strict=True):
            assert np.shape(leading(both.demand)) == (2,)
            assert leading(both.over_points).shape[1:] == (2,)
            assert leading(both.demand)[index] == pytest.approx(leading(one.demand), rel=1e-12)
        for one, both in zip(alone.cases, together.cases, strict=True):
            assert both.stress.shear_mpa[index] == pytest.approx(one.stress.shear_mpa, rel=1e-12)


def test_the_outline_alone_may_be_an_array():
    many = varied("joint", "outline", Disc(np.array([90.0, 100.0])))
    alone = mount_demand(varied("joint", "outline", Disc(90.0)))
    assert mount_demand(many).cases[2].stress.tension_mpa[0] == alone.cases[2].stress.tension_mpa


def test_a_joint_of_the_blank_may_be_hollowed_in_an_array():
    ring = PLAIN.blank_joints[0]
    many = dataclasses.replace(PLAIN, blank_joints=(dataclasses.replace(ring, inner_mm=np.array([0.0, 200.0])),))
    found = next(link for link in mount_demand(many).links if link.link == "blank_joint_1")
    assert found.demand.tension_mpa.shape == (2,)


def test_one_mount_has_no_shape():
    assert shape_of(PLAIN) == ()
    assert is_one_mount(PLAIN)


def test_a_force_for_each_of_several_mounts_spreads_over_both():
    many = varied("joint", "void_pct", np.array([[0.0], [5.0]]))
    found = demand_at_force(many, np.array([100.0, 200.0, 300.0]))
    assert np.shape(leading(found[0].demand)) == (2, 3)


def test_arrays_of_no_common_shape_are_refused():
    odd = dataclasses.replace(
        varied("lathe", "speed_rpm", np.array([1.0, 2.0, 3.0])),
        work=dataclasses.replace(PLAIN.work, reach_mm=np.array([1.0, 2.0])),
    )
    with pytest.raises(ValueError, match="shape"):
        mount_demand(odd)
