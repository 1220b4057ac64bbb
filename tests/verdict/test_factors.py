"""Factors from test to service, one by one; figures of mechanics worked by hand beside each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.demand import Case
from jointlab.mount.form import FACTOR_NAMES as ACCEPTED_NAMES
from jointlab.mount.setup import Grain, Surface
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Disc
from jointlab.record.vocabulary import SubstrateKind
from jointlab.sources import SOURCES
from jointlab.verdict.factors import FACTOR_NAMES, Side, factors_of


def value(setup, evidence, name):
    return {factor.name: factor.value for factor in factors_of(setup, evidence).table}[name]


def both(setup, evidence, base):
    return value(setup, evidence, f"{base}_tension"), value(setup, evidence, f"{base}_shear")


def test_every_factor_is_shown_for_tension_and_shear_with_reason_and_source(setup, make_evidence):
    table = factors_of(setup, make_evidence()).table
    assert [factor.name for factor in table] == [f"{base}_{side}" for base in FACTOR_NAMES for side in Side]
    assert all(factor.reason and factor.source.text for factor in table)
    assert set(ACCEPTED_NAMES) == {factor.name for factor in table}


def test_a_mount_like_its_tests_keeps_all_but_size_and_fatigue(setup, make_evidence):
    like = replace(setup, block=replace(setup.block, moisture_pct=10.0))
    differing = [f.name for f in factors_of(like, make_evidence()).table if f.value != 1.0]
    assert differing == ["size_tension", "size_shear", "fatigue_tension", "fatigue_shear"]


def test_areas_are_told_in_plain_figures(setup, make_evidence):
    (told,) = [each.reason for each in factors_of(setup, make_evidence()).table if each.name == "size_tension"]
    assert told.endswith("(1,963 / 31,420 mm2) to the power 0.20")
    wide = replace(setup, joint=replace(setup.joint, outline=Disc(130.0)))
    (told,) = [each.reason for each in factors_of(wide, make_evidence()).table if each.name == "size_shear"]
    assert told.endswith("(1,963 / 13,270 mm2) to the power 0.07")


def test_size_follows_the_ratio_of_outline_areas_and_never_gains(setup, make_evidence):
    evidence = make_evidence()
    twice = replace(setup, joint=replace(setup.joint, outline=Disc(100.0)))
    assert both(twice, evidence, "size") == pytest.approx((0.7579, 0.9075), abs=5e-5)
    smaller = replace(setup, joint=replace(setup.joint, outline=Disc(30.0)))
    assert both(smaller, evidence, "size") == (1.0, 1.0)


def test_fatigue_acts_on_spin_and_cut_alone(setup, make_evidence):
    factors = factors_of(setup, make_evidence())
    catch = factors.product(Side.TENSION, Case.CATCH_SEVERE)
    assert factors.product(Side.TENSION, Case.REST) == catch
    assert factors.product(Side.TENSION, Case.SPIN) == pytest.approx(0.80 * catch)
    assert factors.product(Side.SHEAR, Case.CUT) == pytest.approx(0.75 * factors.product(Side.SHEAR, Case.CATCH_FIRM))


def test_eight_hours_under_load_cost_the_steady_cases_and_give_a_catch_no_bonus(setup, make_evidence):
    long = replace(setup, work=replace(setup.work, minutes=481.0))
    assert both(long, make_evidence(), "duration") == (0.85, 0.85)
    assert both(replace(setup, work=replace(setup.work, minutes=480.0)), make_evidence(), "duration") == (1.0, 1.0)
    plain, tired = factors_of(setup, make_evidence()), factors_of(long, make_evidence())
    assert tired.product(Side.TENSION, Case.CATCH_SEVERE) == plain.product(Side.TENSION, Case.CATCH_SEVERE)
    assert tired.product(Side.TENSION, Case.REST) == pytest.approx(0.85 * plain.product(Side.TENSION, Case.REST))


@pytest.mark.parametrize(
    ("tested", "mounted", "tension", "shear"),
    [
        (10.0, 12.0, 1.0, 1.0),  # no change below 12 %
        (10.0, 16.0, 0.94, 0.90),  # 4 x 1.5 %, 4 x 2.5 %
        (16.0, 16.0, 1.0, 1.0),  # no difference
        (16.0, 8.0, 1.0, 1.0),  # no bonus
        (12.0, 30.0, 0.644, 0.54),  # green: (1 - 13 x 1.5 %) 0.8, (1 - 13 x 2.5 %) 0.8
        (14.0, 18.0, 0.91 / 0.97, 0.85 / 0.95),
    ],
)
def test_moist_wood_is_weaker_than_dry_tests(setup, make_evidence, tested, mounted, tension, shear):
    moist = replace(setup, blank=replace(setup.blank, moisture_pct=mounted))
    assert both(moist, make_evidence(moisture_pct=tested), "moisture") == pytest.approx((tension, shear), abs=1e-12)


def test_a_panel_keeps_three_quarters_at_sixteen_per_cent(setup, make_evidence):
    ply = make_evidence(kinds=(SubstrateKind.PLYWOOD,))
    block = replace(setup.block, kind=SubstrateKind.PLYWOOD, wood=None)
    assert both(replace(setup, block=replace(block, moisture_pct=16.0)), ply, "moisture") == (0.75, 0.75)
    assert both(replace(setup, block=replace(block, moisture_pct=15.9)), ply, "moisture") == (1.0, 1.0)


@pytest.mark.parametrize(
    ("tested_h", "age_h", "expected"),
    [(170.0, 48.0, 0.9), (170.0, 168.0, 0.9), (170.0, 168.1, 1.0), (48.0, 48.0, 1.0), (48.0, 500.0, 1.0)],
)
def test_a_younger_joint_than_the_tested_ones_is_cured_less(setup, make_evidence, tested_h, age_h, expected):
    young = replace(setup, joint=replace(setup.joint, age_h=age_h))
    assert both(young, make_evidence(cure_h=tested_h), "cure") == (expected, expected)


def test_a_sanded_face_counts_only_against_tests_that_were_not(setup, make_evidence):
    sanded = replace(setup, joint=replace(setup.joint, surface=Surface.SANDED))
    assert both(sanded, make_evidence(), "surface") == (0.8, 0.8)
    assert both(sanded, make_evidence(sanded=True), "surface") == (1.0, 1.0)
    assert both(setup, make_evidence(sanded=True), "surface") == (1.0, 1.0)


def test_end_grain_on_evidence_from_face_grain_keeps_a_quarter(setup, make_evidence):
    end = replace(setup, block=replace(setup.block, kind=SubstrateKind.SOLID_END, grain=Grain.END))
    assert both(end, make_evidence(), "grain") == (0.25, 0.25)
    assert both(end, make_evidence(kinds=(SubstrateKind.SOLID_END,)), "grain") == (1.0, 1.0)
    assert both(setup, make_evidence(kinds=(SubstrateKind.SOLID_END,)), "grain") == (0.25, 0.25)


@pytest.mark.parametrize(("batch", "expected"), [("A", 1.0), (" b ", 1.0), ("C", 0.95), (None, 0.95)])
def test_a_glue_up_that_was_not_tested_is_relied_on_less(setup, make_evidence, batch, expected):
    mount = replace(setup, joint=replace(setup.joint, batch=batch))
    assert both(mount, make_evidence(), "operator") == (expected, expected)


def test_what_is_not_stated_counts_as_equal_and_is_named(setup, make_evidence):
    bare = replace(setup, block=replace(setup.block, kind=None, wood=None))
    factors = factors_of(bare, make_evidence(cure_h=None, moisture_pct=None, kinds=()))
    found = [finding for finding in factors.findings if finding.code is FindingCode.NOT_COMPARED]
    assert len(found) == 1
    for word in ("moisture", "cure", "grain"):
        assert word in found[0].text
        assert value(bare, make_evidence(cure_h=None, moisture_pct=None, kinds=()), f"{word}_tension") == 1.0


def test_a_factor_set_by_hand_replaces_the_rule_and_is_told(setup, make_evidence):
    edged = replace(setup, factors=(("edge_tension", 0.8), ("operator_shear", 0.5)))
    factors = factors_of(edged, make_evidence())
    named = {factor.name: factor for factor in factors.table}
    assert (named["edge_tension"].value, named["edge_shear"].value) == (0.8, 1.0)
    assert named["operator_shear"].overridden
    assert named["operator_shear"].source.key == "stated"
    changed = [finding for finding in factors.findings if finding.code is FindingCode.FACTOR_CHANGED]
    assert "edge_tension 0.8" in changed[0].text
    assert "operator_shear 0.5" in changed[0].text


def test_size_takes_its_exponent_from_another_source_on_each_side(setup, make_evidence):
    sources = {factor.name: factor.source for factor in factors_of(setup, make_evidence()).table}
    assert sources["size_tension"] == SOURCES["barrett_1974"]
    assert sources["size_shear"] == SOURCES["gougeon_laminate"]


@pytest.mark.parametrize(
    ("tested", "mounted", "expected", "source"),
    [
        ((), SubstrateKind.PLYWOOD, 0.75, "apa_pds"),
        ((SubstrateKind.PLYWOOD,), SubstrateKind.SOLID_FACE, 0.75, "apa_pds"),
        ((), None, 0.94, "wood_moisture"),
    ],
)
def test_moisture_goes_by_the_kind_that_was_tested_and_by_the_mounts_own_where_that_is_unknown(
    setup, make_evidence, tested, mounted, expected, source
):
    # a panel keeps 0.75 at 16 %; solid wood tested at 10 % loses 1.5 % for each of the four above 12 %
    block = replace(setup.block, kind=mounted, wood=None, moisture_pct=16.0)
    table = {f.name: f for f in factors_of(replace(setup, block=block), make_evidence(kinds=tested)).table}
    assert table["moisture_tension"].value == pytest.approx(expected, abs=1e-12)
    assert table["moisture_tension"].source == SOURCES[source]
