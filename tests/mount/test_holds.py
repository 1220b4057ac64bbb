import pytest

from jointlab.mount.demand import Case
from jointlab.mount.holds import Footing, holds_of, plate_on_blank, screw_margin
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.screws import LOWER_SHARE, screw_withdrawal_n
from jointlab.mount.setup import HoldKind
from jointlab.mount.setup_of import setup_of

DOCUMENT = {
    "blank": {"diameter_mm": 250, "length_mm": 80, "wood": "black cherry"},
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 120, "age_h": 48},
    "block": {"thickness_mm": 38, "wood": "yellow-poplar"},
    "screws": {"count": 6, "circle_mm": 100, "diameter_mm": 5.5, "thread_mm": 30},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "midi"},
}


def options(**blank):
    return {option.name: option for option in holds_of(setup_of(DOCUMENT | {"blank": DOCUMENT["blank"] | blank}))}


def test_the_ways_to_hold_stand_side_by_side_with_what_rates_them():
    found = holds_of(setup_of(DOCUMENT))
    assert [option.kind for option in found] == [
        HoldKind.FACEPLATE,
        HoldKind.FACEPLATE_ON_BLANK,
        HoldKind.TENON_IN_JAWS,
        HoldKind.TENON_IN_JAWS,
        HoldKind.RECESS_ON_JAWS,
        HoldKind.BETWEEN_CENTRES,
    ]
    assert [option.footing for option in found[:2]] == [Footing.TESTS, Footing.SOURCE]
    assert all(option.footing is Footing.UNRATED and option.margin is None for option in found[2:])
    assert all("unrated" in option.rated_by for option in found[2:])
    assert all(option.cautions for option in found)


def test_a_plate_on_the_blank_is_rated_by_the_blank_s_wood_without_the_block_s_lever():
    setup = setup_of(DOCUMENT)
    on_blank = plate_on_blank(setup)
    relied_n = 108.25 * 0.50**2 * 5.5 * 30 * LOWER_SHARE
    assert screw_withdrawal_n(on_blank).withdrawal_n == pytest.approx(relied_n)
    severe = next(
        link for link in mount_demand(on_blank).links if (link.link, link.case) == ("screws", Case.CATCH_SEVERE)
    )
    glue_line = mount_demand(setup).cases[-1].actions
    assert severe.demand.withdrawal_n == pytest.approx(4 * glue_line.moment_nmm / 600 + glue_line.axial_n / 6)
    margin = options()["faceplate screwed straight into waste wood of the blank"].margin
    assert margin == pytest.approx(relied_n / severe.demand.withdrawal_n)
    assert margin > screw_margin(setup, screw_withdrawal_n(setup))


@pytest.mark.parametrize(
    ("blank", "why"),
    [
        ({"grain": "end"}, "end grain"),
        ({"grain": "segmented"}, "no source"),
        ({"wood": None, "mass_kg": 3.0}, "wood of the blank is not given"),
    ],
)
def test_a_plate_on_a_blank_of_which_nothing_is_known_is_unrated(blank, why):
    document = {key: value for key, value in (DOCUMENT["blank"] | blank).items() if value is not None}
    option = holds_of(setup_of(DOCUMENT | {"blank": document}))[1]
    assert option.footing is Footing.UNRATED
    assert option.margin is None
    assert why in option.rated_by


def test_a_recess_in_end_grain_is_warned_of():
    assert len(options(grain="end")["recess in the blank on spreading jaws"].cautions) == 2
    assert len(options()["recess in the blank on spreading jaws"].cautions) == 1


def test_deep_hollowing_leaves_no_room_for_a_centre():
    shallow = holds_of(setup_of(DOCUMENT))[-1]
    deep = holds_of(setup_of(DOCUMENT | {"work": {"min_radius_mm": 10}}))[-1]
    assert len(deep.cautions) == len(shallow.cautions) + 1
