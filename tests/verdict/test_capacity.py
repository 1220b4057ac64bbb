"""Strength relied on at the glue line."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.demand import Case
from jointlab.mount.setup import Surface
from jointlab.record.joint import Disc
from jointlab.record.vocabulary import SubstrateKind
from jointlab.verdict.capacity import NOTHING, capacity_of


def test_shear_is_a_share_of_the_tension_taken_before_the_factors(setup, make_evidence):
    like = replace(setup, joint=replace(setup.joint, outline=Disc(100.0)))
    capacity = capacity_of(like, make_evidence(2.0, 3.0), screw_withdrawal_n=None)
    # size 4^-0.2 and 4^-0.07, all else 1 in a catch
    strength = capacity.glue_line(Case.CATCH_SEVERE)
    assert strength.tension_mpa == pytest.approx(2.0 * 0.757858, abs=1e-5)
    assert strength.shear_mpa == pytest.approx(0.35 * 2.0 * 0.907519, abs=1e-5)
    upper = capacity.glue_line_upper(Case.CATCH_SEVERE)
    assert upper.shear_mpa == pytest.approx(0.35 * 3.0 * 0.907519, abs=1e-5)


def test_a_tested_shear_is_used_as_it_is(setup, make_evidence):
    capacity = capacity_of(setup, make_evidence(2.0, 3.0, shear=(1.6, 2.2)), screw_withdrawal_n=None)
    assert (capacity.lower.shear_mpa, capacity.upper.shear_mpa) == (1.6, 2.2)


def test_plywood_takes_the_larger_share(setup, make_evidence):
    ply = make_evidence(2.0, 3.0, kinds=(SubstrateKind.PLYWOOD,))
    assert capacity_of(setup, ply, screw_withdrawal_n=None).lower.shear_mpa == pytest.approx(1.4)


def test_without_bound_there_is_no_strength_in_tension_nor_in_the_share(setup, make_evidence):
    capacity = capacity_of(setup, make_evidence(None, None), screw_withdrawal_n=None)
    assert capacity.glue_line(Case.SPIN) == NOTHING
    assert capacity_of(setup, None, screw_withdrawal_n=5.0).glue_line(Case.SPIN) == NOTHING


@pytest.mark.parametrize("surface", [Surface.OILY, Surface.WAXED, Surface.WET])
def test_an_oily_waxed_or_wet_face_has_no_rating(setup, make_evidence, surface):
    bad = replace(setup, joint=replace(setup.joint, surface=surface))
    assert capacity_of(bad, make_evidence(), screw_withdrawal_n=None).glue_line(Case.CATCH_LIGHT) == NOTHING
