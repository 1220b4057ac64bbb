"""Laws of the demand: what makes a mount stronger never raises a demand, what makes the load worse never lowers one."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jointlab.mount.demand import StressDemand
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.setup import BlankJoint, Screws, Support, Tailstock
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Disc, Rectangle, Ring

ROUNDING = 1.0 + 1e-9

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


@st.composite
def mounts(draw):
    def number(low, high):
        return draw(st.floats(low, high))

    diameter, length = number(80, 500), number(20, 400)
    size = number(30, 80)
    outline = draw(st.sampled_from([Disc(size), Ring(size, 0.6 * size), Rectangle(size, 0.7 * size)]))
    return dataclasses.replace(
        PLAIN,
        blank=dataclasses.replace(
            PLAIN.blank,
            diameter_mm=diameter,
            length_mm=length,
            centre_mm=length / 2,
            mass_kg=number(0.2, 30),
            offset_mm=number(0, 10),
        ),
        joint=dataclasses.replace(PLAIN.joint, outline=outline, void_pct=number(0, 25)),
        lathe=dataclasses.replace(
            PLAIN.lathe,
            speed_rpm=number(300, 2500),
            motor_w=number(200, 3000),
            rotor_kg_m2=number(0.002, 0.06),
            base_rpm=number(100, 500),
        ),
        work=dataclasses.replace(
            PLAIN.work, reach_mm=length * number(0.2, 1), min_radius_mm=diameter * number(0.05, 0.5)
        ),
        support=Support(draw(st.sampled_from(list(Tailstock))), length),
        screws=Screws(draw(st.integers(3, 10)), number(20, 30), 4.8, 20.0),
        blank_joints=(
            BlankJoint(length * number(0.0, 0.9), diameter, diameter * number(0.0, 0.9), PLAIN.joint.combination),
        ),
    )


def part(value, name, **changes):
    return dataclasses.replace(value, **{name: dataclasses.replace(getattr(value, name), **changes)})


def utilisations(setup):
    """Every link's largest demand, and the combined one for three ratios of its strengths: all but 1/margin."""
    found = []
    for link in mount_demand(setup).links:
        over = link.over_points
        if isinstance(over, StressDemand):
            found += [np.hypot(over.tension_mpa, share * over.shear_mpa).max() for share in (0.0, 0.5, 3.0)]
            found += [over.shear_mpa.max(), (over.tension_mpa + over.shear_mpa).max()]
        else:
            found += [over.withdrawal_n.max(), over.shear_n.max()]
    return np.array(found)


def never_more(less, more):
    assert np.all(utilisations(less) <= utilisations(more) * ROUNDING)


LAW = settings(max_examples=40, derandomize=True, deadline=None)
grows = st.floats(1.0, 2.0)


@LAW
@given(mounts(), grows)
def test_a_larger_joint_never_asks_more(setup, by):
    outline = setup.joint.outline
    larger = type(outline)(*(getattr(outline, name) * by for name in outline.__slots__))
    never_more(part(setup, "joint", outline=larger), setup)


@LAW
@given(mounts(), grows)
def test_a_higher_chosen_speed_at_the_same_base_speed_never_asks_less(setup, by):
    slow = max(setup.lathe.speed_rpm, setup.lathe.base_rpm)
    never_more(part(setup, "lathe", speed_rpm=slow), part(setup, "lathe", speed_rpm=slow * by))


@LAW
@given(mounts())
def test_more_tailstock_never_asks_more(setup):
    none, roughing, throughout = (part(setup, "support", tailstock=tailstock) for tailstock in Tailstock)
    never_more(throughout, roughing)
    never_more(roughing, none)


@LAW
@given(mounts(), st.integers(1, 6))
def test_more_screws_never_ask_more_of_one(setup, more):
    never_more(part(setup, "screws", count=setup.screws.count + more), setup)


@LAW
@given(mounts(), grows)
def test_a_wider_circle_of_screws_never_asks_more_of_one(setup, by):
    never_more(part(setup, "screws", circle_mm=setup.screws.circle_mm * by), setup)


@LAW
@given(mounts(), st.floats(0, 5))
def test_more_void_never_asks_less(setup, more):
    never_more(setup, part(setup, "joint", void_pct=setup.joint.void_pct + more))


@LAW
@given(mounts(), grows)
def test_more_reach_never_asks_less(setup, by):
    further = min(setup.work.reach_mm * by, setup.blank.length_mm)
    never_more(setup, part(setup, "work", reach_mm=further))


@LAW
@given(mounts(), st.floats(0, 20))
def test_more_offset_never_asks_less(setup, more):
    never_more(setup, part(setup, "blank", offset_mm=setup.blank.offset_mm + more))


@LAW
@given(mounts(), st.floats(0.2, 1.0))
def test_a_smaller_least_radius_never_asks_less(setup, by):
    never_more(setup, part(setup, "work", min_radius_mm=setup.work.min_radius_mm * by))


@LAW
@given(mounts(), st.floats(0, 3000), grows)
def test_a_larger_force_set_freely_never_asks_less(setup, force_n, by):
    for less, more in zip(demand_at_force(setup, force_n), demand_at_force(setup, force_n * by), strict=True):
        first = "tension_mpa" if isinstance(less.demand, StressDemand) else "withdrawal_n"
        assert getattr(less.demand, first) <= getattr(more.demand, first) * ROUNDING


@LAW
@given(mounts(), grows)
def test_a_heavier_blank_never_bends_the_joint_less(setup, by):
    """Tension and withdrawal. The torque can fall: a heavier blank takes more of the blow, less crosses the glue."""
    heavy = part(setup, "blank", mass_kg=setup.blank.mass_kg * by)
    for less, more in zip(mount_demand(setup).links, mount_demand(heavy).links, strict=True):
        first = "tension_mpa" if isinstance(less.demand, StressDemand) else "withdrawal_n"
        assert getattr(less.demand, first) <= getattr(more.demand, first) * ROUNDING


@LAW
@given(mounts(), st.floats(0.0, 1.0))
def test_a_blank_hollowed_wider_never_asks_less_of_the_joint_inside_it(setup, share):
    """What the hollowing takes of the mass is not counted: the blank stays as heavy as it was described."""
    (ring,) = setup.blank_joints
    wider_mm = ring.inner_mm + share * 0.95 * (ring.outer_mm - ring.inner_mm)
    never_more(setup, dataclasses.replace(setup, blank_joints=(dataclasses.replace(ring, inner_mm=wider_mm),)))


LENGTHS = {
    "blank": ("diameter_mm", "length_mm", "centre_mm", "offset_mm"),
    "work": ("reach_mm", "min_radius_mm"),
    "support": ("tailstock_mm",),
    "screws": ("circle_mm", "diameter_mm", "thread_mm"),
    "block": ("thickness_mm",),
    "assumptions": ("stopping_mm",),
}


def in_other_units(setup, *, length, mass):
    """The mount told in a unit of length and one of mass; that of time follows, for gravity to stay what it is."""

    def times(value, names, by):
        return dataclasses.replace(value, **{name: getattr(value, name) * by for name in names})

    def every(value):
        return type(value)(*(getattr(value, name) * length for name in value.__slots__))

    told = {name: times(getattr(setup, name), names, length) for name, names in LENGTHS.items()}
    told["blank"] = times(told["blank"], ["mass_kg"], mass)
    told["joint"] = dataclasses.replace(setup.joint, outline=every(setup.joint.outline))
    told["assumptions"] = times(told["assumptions"], ["light_n", "firm_n", "severe_n", "cut_n"], mass)
    lathe = times(setup.lathe, ["speed_rpm", "base_rpm"], length**-0.5)
    told["lathe"] = times(times(lathe, ["motor_w"], mass * length**0.5), ["rotor_kg_m2"], mass * length**2)
    rings = tuple(times(ring, ["height_mm", "outer_mm", "inner_mm"], length) for ring in setup.blank_joints)
    return dataclasses.replace(setup, blank_joints=rings, **told)


@LAW
@given(mounts(), st.floats(0.2, 5.0), st.floats(0.2, 5.0))
def test_a_change_of_units_changes_nothing(setup, length, mass):
    """Force times ``mass``, hence stress times ``mass``/``length`` squared; every margin is the same number."""
    told = mount_demand(in_other_units(setup, length=length, mass=mass))
    for before, after in zip(mount_demand(setup).links, told.links, strict=True):
        screwed = not isinstance(before.demand, StressDemand)
        by = mass if screwed else mass / length**2
        for name in before.demand.__slots__:
            expected = getattr(before.over_points, name).max() * by
            assert getattr(after.over_points, name).max() == pytest.approx(expected, rel=1e-9)


@LAW
@given(mounts())
def test_harder_catches_never_ask_less(setup):
    stresses = [case.stress for case in mount_demand(setup).cases[-3:]]
    tensions, shears = [s.tension_mpa for s in stresses], [s.shear_mpa for s in stresses]
    assert tensions == sorted(tensions)
    assert np.all(np.array(shears) > 0.0)


@LAW
@given(mounts(), st.floats(1.0, 3.0))
def test_a_mount_scaled_in_every_length_keeps_its_weight_stresses_in_proportion(setup, by):
    """Weight k^3 on a lever k over a modulus k^3: at rest the stress of a mount scaled by k grows as k."""

    def scaled(value):
        return type(value)(*(getattr(value, name) * by for name in value.__slots__))

    blank = setup.blank
    larger = dataclasses.replace(
        setup,
        blank=dataclasses.replace(
            blank,
            diameter_mm=blank.diameter_mm * by,
            length_mm=blank.length_mm * by,
            centre_mm=blank.centre_mm * by,
            mass_kg=blank.mass_kg * by**3,
        ),
        joint=dataclasses.replace(setup.joint, outline=scaled(setup.joint.outline)),
        work=dataclasses.replace(
            setup.work, reach_mm=setup.work.reach_mm * by, min_radius_mm=setup.work.min_radius_mm * by
        ),
    )
    rest, scaled_rest = mount_demand(setup).cases[0].stress, mount_demand(larger).cases[0].stress
    assert scaled_rest.tension_mpa == pytest.approx(rest.tension_mpa * by, rel=1e-9)
