"""Kind of substrate, and the share of tension taken for shear."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.setup import Grain
from jointlab.record.vocabulary import SubstrateKind
from jointlab.verdict.substrate import kind_mounted, kind_tested, kinds_of, shear_share_of


@pytest.mark.parametrize(
    ("kinds", "share"),
    [
        ((), 0.35),
        ((SubstrateKind.SOLID_FACE,), 0.35),
        ((SubstrateKind.SEGMENTED,), 0.35),
        ((SubstrateKind.PLYWOOD,), 0.70),
        ((SubstrateKind.MDF,), 0.70),
        ((SubstrateKind.OTHER,), 0.70),
        ((SubstrateKind.PLYWOOD, SubstrateKind.SOLID_EDGE), 0.35),
    ],
)
def test_the_share_for_shear_goes_by_the_kind_and_by_the_lower_when_mixed(kinds, share):
    assert shear_share_of(kinds) == share


def test_the_pulls_speak_for_the_kind_before_the_block(setup, make_evidence):
    board = replace(setup, block=replace(setup.block, kind=SubstrateKind.PLYWOOD, wood=None))
    assert kinds_of(board, make_evidence()) == (SubstrateKind.SOLID_FACE,)
    assert kinds_of(board, make_evidence(kinds=())) == (SubstrateKind.PLYWOOD,)


def test_a_block_is_solid_when_its_grain_is_stated_and_unknown_when_nothing_is(setup):
    def kind(**parts):
        return kind_mounted(replace(setup, block=replace(setup.block, wood=None, **parts)))

    assert kind(kind=None, grain=Grain.END) is SubstrateKind.SOLID_END
    assert kind(kind=None, grain=Grain.EDGE) is SubstrateKind.SOLID_EDGE
    assert kind(kind=None) is None


def test_mixed_kinds_are_no_kind(make_evidence):
    assert kind_tested(make_evidence(kinds=(SubstrateKind.MDF, SubstrateKind.OSB))) is None
