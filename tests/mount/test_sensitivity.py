import dataclasses

import numpy as np
import pytest

from jointlab.mount.assumptions import ASSUMPTIONS
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.sensitivity import glue_line_tension, study_of, swings_of
from jointlab.mount.setup import Support, Tailstock
from jointlab.mount.setup_of import setup_of
from jointlab.sources import SOURCES

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)


def by_name(swings):
    return {swing.assumption.name: swing for swing in swings}


def test_every_assumption_names_its_source_and_holds_its_default_in_its_range():
    for assumption in ASSUMPTIONS:
        assert assumption.source in SOURCES
        assert assumption.low < assumption.high
        assert assumption.low <= assumption.value(PLAIN) <= assumption.high
        assert assumption.value(assumption.changed(PLAIN, assumption.high)) == assumption.high


def test_each_end_of_a_swing_is_the_mount_with_that_assumption_alone_changed():
    for swing in swings_of(PLAIN):
        for end, measured in ((swing.assumption.low, swing.at_low), (swing.assumption.high, swing.at_high)):
            alone = swing.assumption.changed(PLAIN, end)
            assert measured == pytest.approx(glue_line_tension(alone, mount_demand(alone)), rel=1e-12)
        assert swing.stands == pytest.approx(glue_line_tension(PLAIN, mount_demand(PLAIN)), rel=1e-12)


def test_the_force_of_the_catch_swings_the_demand_most_and_what_does_not_act_not_at_all():
    swings = swings_of(PLAIN)
    assert swings[0].assumption.name == "force of a severe catch [N]"
    assert [swing.width for swing in swings] == sorted((swing.width for swing in swings), reverse=True)
    named = by_name(swings)
    for name in ("force of a light catch [N]", "force of a heavy cut [N]", "least moment left with the tailstock up"):
        assert named[name].width == 0.0


def test_with_the_tailstock_up_what_it_leaves_matters():
    supported = dataclasses.replace(PLAIN, support=Support(Tailstock.THROUGHOUT, 100.0))
    assert by_name(swings_of(supported))["least moment left with the tailstock up"].width > 0.5


def test_a_measure_of_one_s_own_can_be_looked_at():
    def shear(_setup, demand):
        return demand.cases[-1].stress.shear_mpa

    named = by_name(swings_of(PLAIN, measure=shear))
    assert named["inertia of the drive's side [kg m2]"].width > 0.5


def test_a_study_is_the_same_for_the_same_seed_and_ranks_what_matters():
    one = study_of(PLAIN, rng=np.random.default_rng(7), draws=3000)
    two = study_of(PLAIN, rng=np.random.default_rng(7), draws=3000)
    assert np.array_equal(one.measured, two.measured)
    ranked = dict(zip((a.name for a in one.assumptions), one.rank_correlation, strict=True))
    assert ranked["force of a severe catch [N]"] > 0.3
    assert abs(ranked["force of a light catch [N]"]) < 0.06
    assert ranked["arc over which a catch stops the blank [mm]"] < -0.1
    for assumption, column in zip(one.assumptions, one.drawn.T, strict=True):
        assert assumption.low <= column.min()
        assert column.max() <= assumption.high
    assert one.quantile(0.05) < one.quantile(0.5) < one.quantile(0.95)


def test_a_study_of_a_measure_that_nothing_moves_correlates_with_nothing():
    study = study_of(PLAIN, rng=np.random.default_rng(7), draws=50, measure=lambda _setup, _demand: 1.0)
    assert set(study.rank_correlation) == {0.0}
