import dataclasses

import numpy as np
import pytest

from jointlab.mount.demand import Case, ScrewDemand, StressDemand
from jointlab.mount.loads import weight_n
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.record.vocabulary import Interlayer

DOCUMENT = {
    "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
    "block": {"thickness_mm": 25, "wood": "hard maple"},
    "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.826, "thread_mm": 19.05},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
}
PLAIN = setup_of(DOCUMENT)
RING = {"height_mm": 40, "outer_mm": 250, "inner_mm": 200, "glue": "PVA", "substrate": "ring"}


def link_of(demand, link, case=Case.CATCH_SEVERE):
    return next(found for found in demand.links if (found.link, found.case) == (link, case))


def test_cases_and_links_come_in_the_order_of_the_contract():
    setup = setup_of(DOCUMENT | {"blank_joint": [RING, RING | {"height_mm": 60}]})
    setup = dataclasses.replace(setup, joint=dataclasses.replace(setup.joint, interlayer=Interlayer.PAPER))
    demand = mount_demand(setup)
    assert [case.case for case in demand.cases] == list(Case)
    links = list(dict.fromkeys(link.link for link in demand.links))
    assert links == ["blank_surface", "blank_joint_1", "blank_joint_2", "glue_line", "paper", "block", "screws"]
    assert [link.case for link in demand.links if link.link == "screws"] == list(Case)


def test_without_screws_or_paper_there_are_no_such_links():
    demand = mount_demand(dataclasses.replace(PLAIN, screws=None))
    assert {link.link for link in demand.links} == {"blank_surface", "glue_line", "block"}


def test_the_faces_of_the_joint_carry_what_the_glue_line_carries():
    demand = mount_demand(PLAIN)
    assert link_of(demand, "blank_surface").demand == link_of(demand, "glue_line").demand
    assert link_of(demand, "block").demand == link_of(demand, "glue_line").demand


def test_at_rest_only_the_weight_acts():
    rest = mount_demand(PLAIN).cases[0]
    assert rest.speed_rpm == 0.0
    assert rest.actions.shear_n == weight_n(PLAIN.blank)
    assert rest.actions.moment_nmm == weight_n(PLAIN.blank) * 50.0
    assert (rest.actions.torque_nmm, rest.actions.axial_n) == (0.0, 0.0)


def test_without_offset_spinning_asks_what_rest_asks():
    setup = dataclasses.replace(PLAIN, blank=dataclasses.replace(PLAIN.blank, offset_mm=0.0))
    rest, spin = mount_demand(setup).cases[:2]
    assert spin.stress == rest.stress


def test_each_link_is_shown_at_its_own_largest_demand():
    for link in mount_demand(PLAIN).links:
        over, worst = link.over_points, link.demand
        if isinstance(worst, StressDemand):
            assert worst.tension_mpa == np.max(over.tension_mpa)
        else:
            assert isinstance(worst, ScrewDemand)
            assert worst.withdrawal_n == np.max(over.withdrawal_n)


def test_among_equal_tensions_the_larger_shear_is_shown():
    """At rest-like speed of one point, all corners tie in tension where the class force acts at one radius."""
    setup = dataclasses.replace(
        PLAIN,
        blank=dataclasses.replace(PLAIN.blank, offset_mm=0.0),
        work=dataclasses.replace(PLAIN.work, min_radius_mm=150.0),
        lathe=dataclasses.replace(PLAIN.lathe, motor_w=1e5, base_rpm=30.0),
    )
    light = link_of(mount_demand(setup), "glue_line", Case.CATCH_LIGHT)
    tied = np.isclose(light.over_points.tension_mpa, light.demand.tension_mpa, rtol=1e-12)
    assert tied.sum() > 2
    assert light.demand.shear_mpa == np.max(light.over_points.shear_mpa[tied])


def test_a_hole_that_closes_makes_the_disc():
    ring = dataclasses.replace(PLAIN, joint=dataclasses.replace(PLAIN.joint, outline=Ring(100.0, 1e-9)))
    found, disc = mount_demand(ring).cases[-1].stress, mount_demand(PLAIN).cases[-1].stress
    assert found.tension_mpa == pytest.approx(disc.tension_mpa, rel=1e-12)
    assert found.shear_mpa == pytest.approx(disc.shear_mpa, rel=1e-12)


def test_a_void_that_closes_makes_the_whole_joint():
    void = dataclasses.replace(PLAIN, joint=dataclasses.replace(PLAIN.joint, void_pct=1e-12))
    found = mount_demand(void).cases[-1].stress.tension_mpa
    assert found == pytest.approx(mount_demand(PLAIN).cases[-1].stress.tension_mpa, rel=1e-6)


def test_the_corner_of_a_square_joint_sees_the_moment_turn():
    setup = dataclasses.replace(PLAIN, joint=dataclasses.replace(PLAIN.joint, outline=Rectangle(80.0, 80.0)))
    severe = mount_demand(setup).cases[-1]
    expected = severe.actions.axial_n / 6400.0 + np.sqrt(2.0) * 6.0 * severe.actions.moment_nmm / 80.0**3
    assert severe.stress.tension_mpa == pytest.approx(expected)


def test_a_joint_inside_the_blank_near_the_block_is_bent_like_the_glue_line():
    ring = RING | {"height_mm": 0, "outer_mm": 100, "inner_mm": 0}
    demand = mount_demand(setup_of(DOCUMENT | {"blank_joint": [ring]}))
    inside, glued = link_of(demand, "blank_joint_1").demand, link_of(demand, "glue_line").demand
    assert inside.tension_mpa == pytest.approx(glued.tension_mpa)
    assert inside.shear_mpa == pytest.approx(glued.shear_mpa)


def test_a_joint_beyond_the_reach_carries_only_what_is_beyond_it():
    demand = mount_demand(setup_of(DOCUMENT | {"blank_joint": [RING], "work": {"reach_mm": 30}}))
    severe, rest = link_of(demand, "blank_joint_1"), link_of(demand, "blank_joint_1", Case.REST)
    glued = link_of(demand, "glue_line")
    assert severe.demand.tension_mpa < 2.0 * rest.demand.tension_mpa
    assert severe.demand.shear_mpa < 0.3 * glued.demand.shear_mpa


def test_a_hollowed_wall_leaves_its_joint_weaker():
    solid = mount_demand(setup_of(DOCUMENT | {"blank_joint": [RING | {"inner_mm": 0}]}))
    hollow = mount_demand(setup_of(DOCUMENT | {"blank_joint": [RING | {"inner_mm": 240}]}))
    ratio = link_of(hollow, "blank_joint_1").demand.tension_mpa / link_of(solid, "blank_joint_1").demand.tension_mpa
    # between the ratio of the moduli, 1 - (240/250)^4, and that of the areas, 1 - (240/250)^2: mostly bending
    assert 1.0 / (1.0 - (240 / 250) ** 4) < ratio < 1.1 / (1.0 - (240 / 250) ** 4)


def test_a_force_set_freely_is_not_capped_by_the_lathe():
    weak = dataclasses.replace(PLAIN, lathe=dataclasses.replace(PLAIN.lathe, motor_w=1.0, rotor_kg_m2=1e-6))
    capped = link_of(mount_demand(weak), "glue_line").demand
    free = next(link for link in demand_at_force(weak, 3000.0) if link.link == "glue_line")
    assert free.case is Case.CATCH_SEVERE
    assert free.demand.tension_mpa > 1.2 * capped.tension_mpa


def test_a_force_set_freely_to_the_class_equals_the_class_where_the_lathe_delivers_it():
    strong = dataclasses.replace(PLAIN, lathe=dataclasses.replace(PLAIN.lathe, motor_w=1e5))
    for link in demand_at_force(strong, 3000.0):
        assert link.demand == link_of(mount_demand(strong), link.link).demand


def test_no_force_leaves_weight_and_imbalance():
    free = next(link for link in demand_at_force(PLAIN, 0.0) if link.link == "glue_line")
    assert free.demand.tension_mpa == pytest.approx(mount_demand(PLAIN).cases[1].stress.tension_mpa)


def test_many_mounts_in_one_call_equal_each_alone():
    diameters = np.array([60.0, 100.0, 140.0])
    many = dataclasses.replace(
        PLAIN,
        joint=dataclasses.replace(PLAIN.joint, outline=Disc(diameters)),
        lathe=dataclasses.replace(PLAIN.lathe, speed_rpm=np.array([300.0, 600.0, 1200.0])),
    )
    together = mount_demand(many)
    for index in range(3):
        alone = dataclasses.replace(
            PLAIN,
            joint=dataclasses.replace(PLAIN.joint, outline=Disc(float(diameters[index]))),
            lathe=dataclasses.replace(PLAIN.lathe, speed_rpm=(300.0, 600.0, 1200.0)[index]),
        )
        for one, three in zip(mount_demand(alone).links, together.links, strict=True):
            first = "tension_mpa" if isinstance(one.demand, StressDemand) else "withdrawal_n"
            assert np.shape(getattr(three.demand, first)) == (3,)
            assert getattr(three.demand, first)[index] == getattr(one.demand, first)
            assert np.array_equal(getattr(three.over_points, first)[:, index], getattr(one.over_points, first))


def test_forces_set_freely_for_many_mounts_may_differ():
    force_n = np.array([500.0, 1000.0])
    many = next(link for link in demand_at_force(PLAIN, force_n) if link.link == "glue_line")
    one = next(link for link in demand_at_force(PLAIN, 1000.0) if link.link == "glue_line")
    assert many.demand.tension_mpa[1] == one.demand.tension_mpa


def test_the_arrays_over_points_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        mount_demand(PLAIN).links[0].over_points.tension_mpa[0] = 0.0
