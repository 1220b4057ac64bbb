import copy
import math

import pytest

from jointlab.errors import InputError
from jointlab.mount.setup import BlankState, CatchClass, Grain, Surface, Tailstock
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Rectangle, Ring
from jointlab.record.vocabulary import SubstrateKind

LEAST = {
    "blank": {"diameter_mm": 300, "length_mm": 100, "wood": "black walnut"},
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 120, "age_h": 48},
    "block": {"thickness_mm": 25},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
}


def document(**changes):
    made = copy.deepcopy(LEAST)
    for section, keys in changes.items():
        if isinstance(keys, dict) and isinstance(made.get(section), dict):
            made[section] |= keys
            made[section] = {key: value for key, value in made[section].items() if value is not None}
        else:
            made[section] = keys
    return made


def problems_of(made):
    with pytest.raises(InputError) as caught:
        setup_of(made)
    return {problem.column: problem for problem in caught.value.problems}


def test_the_least_document_takes_every_default_of_the_contract():
    setup = setup_of(LEAST)
    assert setup.blank.mass_kg == pytest.approx(616.0 * math.pi * 0.15**2 * 0.1)
    assert (setup.blank.centre_mm, setup.blank.offset_mm, setup.blank.state) == (50.0, 1.0, BlankState.TRUED)
    assert (setup.work.reach_mm, setup.work.min_radius_mm, setup.work.minutes) == (100.0, 75.0, 30.0)
    assert (setup.lathe.rotor_kg_m2, setup.lathe.base_rpm) == (0.020, 300.0)
    assert (setup.support.tailstock, setup.support.tailstock_mm) == (Tailstock.NONE, 100.0)
    assert (setup.joint.void_pct, setup.joint.void_at_rim, setup.joint.surface) == (0.0, True, Surface.CLEAN)
    assert (setup.criteria.coverage, setup.criteria.confidence, setup.criteria.margin) == (0.95, 0.95, 1.5)
    assert setup.criteria.catch is CatchClass.SEVERE
    assert setup.criteria.relaxed == ()
    assert setup.screws is None
    assert setup.joint.combination.preparation == ""


@pytest.mark.parametrize(("state", "offset_mm"), [("trued", 1.0), ("sawn_round", 5.0), ("natural_edge", 15.0)])
def test_the_state_of_the_blank_sets_its_offset(state, offset_mm):
    assert setup_of(document(blank={"state": state})).blank.offset_mm == offset_mm


def test_a_measured_offset_stands_before_the_state():
    assert setup_of(document(blank={"state": "natural_edge", "offset_mm": 2.5})).blank.offset_mm == 2.5


@pytest.mark.parametrize(("size", "rotor"), [("mini", 0.002), ("midi", 0.008), ("full", 0.020), ("heavy", 0.060)])
def test_the_size_of_the_lathe_sets_its_rotor(size, rotor):
    assert setup_of(document(lathe={"size": size})).lathe.rotor_kg_m2 == rotor


def test_a_measured_rotor_stands_before_the_size():
    assert setup_of(document(lathe={"size": None, "rotor_kg_m2": 0.011})).lathe.rotor_kg_m2 == 0.011


@pytest.mark.parametrize(
    ("changes", "margin"),
    [
        ({}, 1.5),
        ({"people": {"learner": True}}, 2.0),
        ({"people": {"bystanders": True}}, 2.0),
        ({"blank": {"wood": None, "mass_kg": 10.0}}, 1.5),
        ({"blank": {"wood": None, "mass_kg": 10.1}}, 2.0),
        ({"blank": {"diameter_mm": 400, "length_mm": 40}}, 1.5),
        ({"blank": {"diameter_mm": 401, "length_mm": 40}}, 2.0),
    ],
)
def test_the_default_margin_is_larger_where_more_is_at_stake(changes, margin):
    criteria = setup_of(document(**changes)).criteria
    assert (criteria.margin, criteria.margin_default, criteria.relaxed) == (margin, margin, ())


def test_a_given_margin_is_used_and_named_relaxed_when_below_the_default():
    criteria = setup_of(document(people={"learner": True}, criteria={"margin": 1.8})).criteria
    assert (criteria.margin, criteria.margin_default) == (1.8, 2.0)
    assert criteria.relaxed == ("margin 1.8 under 2",)


def test_a_margin_below_one_is_refused():
    problem = problems_of(document(criteria={"margin": 0.99}))["criteria.margin"]
    assert problem.message == "must be at least 1 and at most 100"
    assert problem.value == "0.99"


def test_every_problem_is_told_at_once_with_its_dotted_key_value_and_what_is_allowed():
    made = document(
        blank={"diameter_mm": -12, "lenght_mm": 3, "mass_kg": 4},
        joint={"shape": "round", "age_h": None},
        lathe={"size": None, "rpm": "fast"},
        screws={"count": 6.0, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 19, "pilot": 1},
        criteria={"catch": "huge"},
        factors={"size_tension": 0, "age_tension": 1.0},
        turning={"rpm": 3},
        blank_joint=[{"height_mm": 10, "outer_mm": 90, "glue": "PVA"}],
    )
    problems = problems_of(made)
    assert problems["blank.diameter_mm"].message == "must be greater than 0 and at most 10000"
    assert problems["blank.diameter_mm"].value == "-12"
    assert "did you mean length_mm" in problems["blank.lenght_mm"].message
    assert problems["joint.shape"].allowed == "one of disc, ring, rectangle"
    assert problems["joint.age_h"].message.startswith("is needed")
    assert problems["lathe.rpm"].message == "must be a number"
    assert problems["screws.count"].message == "must be a whole number"
    assert problems["screws.pilot"].message == "must be true or false"
    assert problems["criteria.catch"].allowed == "one of light, firm, severe"
    assert problems["factors.size_tension"].message == "must be greater than 0 and at most 10"
    assert "is not a key of the mount" in problems["factors.age_tension"].message
    assert "is not a key of the mount" in problems["turning"].message
    assert problems["blank_joint.1.substrate"].message == "is needed"
    assert len(problems) == 12


@pytest.mark.parametrize("missing", ["blank", "joint", "block", "lathe"])
def test_a_needed_section_that_is_missing_is_named(missing):
    made = document()
    del made[missing]
    assert problems_of(made)[missing].message == f"the section [{missing}] is needed"


@pytest.mark.parametrize(
    ("keys", "column"),
    [
        ({"wood": None}, "blank.mass_kg"),
        ({"mass_kg": 4.0}, "blank.wood"),
        ({"mass_kg": 4.0, "density_kg_m3": 600.0, "wood": None}, "blank.density_kg_m3"),
    ],
)
def test_exactly_one_key_gives_the_mass(keys, column):
    assert problems_of(document(blank=keys))[column].allowed == "exactly one of mass_kg, density_kg_m3, wood"


def test_an_unknown_wood_is_answered_with_the_nearest_names():
    message = problems_of(document(blank={"wood": "black wallnut"}))["blank.wood"].message
    assert "is not in the table of woods; nearest: black walnut" in message


def test_a_wood_of_several_kinds_is_answered_with_all_of_them():
    message = problems_of(document(block={"wood": "maple"}))["block.wood"].message
    assert "sugar maple, red maple, silver maple, bigleaf maple" in message


@pytest.mark.parametrize(
    ("changes", "column"),
    [
        ({"joint": {"shape": "ring"}}, "joint.hole_mm"),
        ({"joint": {"shape": "ring", "hole_mm": 120}}, "joint.hole_mm"),
        ({"joint": {"shape": "rectangle", "width_mm": 80, "depth_mm": 80}}, "joint.diameter_mm"),
        ({"joint": {"diameter_mm": 301}}, "joint.diameter_mm"),
        ({"joint": {"void_pct": 31}}, "joint.void_pct"),
        ({"joint": {"age_h": float("nan")}}, "joint.age_h"),
        ({"work": {"reach_mm": 101}}, "work.reach_mm"),
        ({"work": {"min_radius_mm": 151}}, "work.min_radius_mm"),
        ({"blank": {"centre_mm": 101}}, "blank.centre_mm"),
        ({"blank": {"offset_mm": 151}}, "blank.offset_mm"),
        ({"lathe": {"size": None}}, "lathe.size"),
        ({"screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 26}}, "screws.thread_mm"),
        (
            {
                "hold": {"plate_mm": 70},
                "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.8, "thread_mm": 20},
            },
            "screws.circle_mm",
        ),
        ({"block": {"kind": "solid_end", "grain": "face"}}, "block.grain"),
        (
            {"blank_joint": [{"height_mm": 101, "outer_mm": 90, "glue": "PVA", "substrate": "maple"}]},
            "blank_joint.1.height_mm",
        ),
        (
            {"blank_joint": [{"height_mm": 1, "outer_mm": 90, "inner_mm": 90, "glue": "PVA", "substrate": "maple"}]},
            "blank_joint.1.inner_mm",
        ),
        (
            {"blank_joint": [{"height_mm": 1, "outer_mm": 301, "glue": "PVA", "substrate": "maple"}]},
            "blank_joint.1.outer_mm",
        ),
        ({"blank_joint": {"height_mm": 1}}, "blank_joint"),
        ({"blank": 3}, "blank"),
        ({"factors": 3}, "factors"),
        ({"factors": {"size_tension": True}}, "factors.size_tension"),
        ({"joint": {"glue": 5}}, "joint.glue"),
        ({"joint": {"glue": "  "}}, "joint.glue"),
    ],
)
def test_what_cannot_be_is_refused_at_its_key(changes, column):
    assert list(problems_of(document(**changes))) == [column]


def test_ring_and_rectangle_become_outlines():
    ring = setup_of(document(joint={"shape": "ring", "hole_mm": 60}))
    assert ring.joint.outline == Ring(120.0, 60.0)
    flat = setup_of(document(joint={"shape": "rectangle", "diameter_mm": None, "width_mm": 80, "depth_mm": 60}))
    assert flat.joint.outline == Rectangle(80.0, 60.0)


@pytest.mark.parametrize(
    ("keys", "kind", "grain"),
    [
        ({"wood": "cherry"}, SubstrateKind.SOLID_FACE, Grain.FACE),
        ({"wood": "cherry", "grain": "end"}, SubstrateKind.SOLID_END, Grain.END),
        ({"kind": "solid_edge"}, SubstrateKind.SOLID_EDGE, Grain.EDGE),
        ({"kind": "plywood", "wood": "Douglas fir"}, SubstrateKind.PLYWOOD, Grain.FACE),
        ({}, None, Grain.FACE),
    ],
)
def test_a_block_of_named_wood_is_solid_and_a_solid_kind_says_its_grain(keys, kind, grain):
    block = setup_of(document(block=keys)).block
    assert (block.kind, block.grain) == (kind, grain)


def test_factors_are_kept_in_the_order_of_the_closed_list():
    factors = setup_of(document(factors={"operator_shear": 0.8, "size_tension": 0.9})).factors
    assert factors == (("size_tension", 0.9), ("operator_shear", 0.8))


def test_the_classes_of_catch_stay_in_their_order_whichever_is_set():
    for factors, column in (({"severe_n": 900}, "factors.severe_n"), ({"light_n": 1200}, "factors.firm_n")):
        (problem,) = problems_of(document(factors=factors)).values()
        assert problem.column == column
        assert "must be at least" in problem.message
    assert setup_of(document(factors={"severe_n": 900, "firm_n": 800})).assumptions.severe_n == 900.0
    assert (
        problems_of(document(factors={"tailstock_least": 1.2}))["factors.tailstock_least"].allowed
        == "at least 0 and at most 1"
    )
