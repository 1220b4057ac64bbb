import dataclasses

import numpy as np
import pytest

from jointlab.mount.screws import LOWER_SHARE, combined_withdrawal_n, screw_withdrawal_n
from jointlab.mount.setup import Block, Grain, Screws
from jointlab.mount.setup_of import setup_of
from jointlab.record.vocabulary import SubstrateKind

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "mass_kg": 4},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25, "wood": "yellow-poplar"},
        "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.826, "thread_mm": 19.05},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    }
)
SOLID_N = 108.25 * 0.42**2 * 4.826 * 19.05 * LOWER_SHARE


def rated(*, block=None, **screws):
    setup = dataclasses.replace(PLAIN, screws=dataclasses.replace(PLAIN.screws, **screws))
    return screw_withdrawal_n(dataclasses.replace(setup, block=block) if block else setup)


def test_side_grain_is_rated_by_the_formula_lowered_by_forty_one_percent():
    assert rated().withdrawal_n == pytest.approx(SOLID_N)
    assert rated().withdrawal_n == pytest.approx(0.58875 * 1756, rel=1e-3)


@pytest.mark.parametrize(("grain", "share"), [(Grain.FACE, 0.7), (Grain.EDGE, 0.5)])
def test_plywood_holds_a_share_of_its_wood(grain, share):
    block = Block(25.0, wood="yellow-poplar", kind=SubstrateKind.PLYWOOD, grain=grain)
    assert rated(block=block).withdrawal_n == pytest.approx(share * SOLID_N)


def test_mdf_takes_the_weakest_grade_and_never_more():
    block = Block(25.0, kind=SubstrateKind.MDF)
    assert rated(block=block, thread_mm=17.0).withdrawal_n == pytest.approx(780.0 * LOWER_SHARE)
    assert rated(block=block, diameter_mm=8.0, thread_mm=25.0).withdrawal_n == pytest.approx(780.0 * LOWER_SHARE)
    assert rated(block=block, thread_mm=10.0).withdrawal_n < 0.6 * 780.0 * LOWER_SHARE


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"count": 2}, "fewer than 3"),
        ({"reused": True}, "reused"),
        ({"pilot": False}, "pilot"),
        ({"block": Block(25.0, wood="cherry", kind=SubstrateKind.SOLID_END, grain=Grain.END)}, "end grain"),
        ({"block": Block(25.0, kind=SubstrateKind.SOLID_FACE)}, "wood of the block is not given"),
        ({"block": Block(25.0, kind=SubstrateKind.PLYWOOD)}, "wood of the block is not given"),
        ({"block": Block(25.0, kind=SubstrateKind.OSB)}, "no source"),
        ({"block": Block(25.0, kind=SubstrateKind.PARTICLEBOARD)}, "no source"),
        ({"block": Block(25.0, kind=SubstrateKind.SEGMENTED)}, "no source"),
        ({"block": Block(25.0)}, "not described"),
    ],
)
def test_what_no_source_covers_is_unrated_with_its_reason(changes, why):
    rating = rated(**changes)
    assert rating.withdrawal_n is None
    assert why in rating.reason


def test_a_screw_pulled_at_an_angle_is_as_strong_as_its_withdrawal_or_its_side_alone_at_the_ends():
    both = {"withdrawal_n": 1751.0, "lateral_n": 1200.0}
    assert combined_withdrawal_n(**both, angle_rad=0.0) == pytest.approx(1200.0)
    assert combined_withdrawal_n(**both, angle_rad=np.pi / 2) == pytest.approx(1751.0)


def test_without_screws_there_is_nothing_to_rate():
    rating = screw_withdrawal_n(dataclasses.replace(PLAIN, screws=None))
    assert rating.withdrawal_n is None
    assert "no screws are given" in rating.reason


def test_the_block_is_rated_with_three_screws():
    assert Screws(3, 76.0, 4.826, 19.05).count == 3
    assert rated(count=3).withdrawal_n == pytest.approx(SOLID_N)
