import dataclasses

import pytest

from jointlab.mount.assumptions import ASSUMPTIONS, changed_assumptions
from jointlab.mount.form import ASSUMPTION_LIMITS
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import LoadAssumptions
from jointlab.mount.setup_of import setup_of

DOCUMENT = {
    "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
    "block": {"thickness_mm": 25},
    "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
    "support": {"tailstock": "throughout"},
}
PLAIN = setup_of(DOCUMENT)


@pytest.mark.parametrize("assumption", ASSUMPTIONS, ids=lambda assumption: assumption.name)
def test_every_assumption_acts_on_some_case(assumption):
    low = mount_demand(assumption.changed(PLAIN, assumption.low)).cases
    high = mount_demand(assumption.changed(PLAIN, assumption.high)).cases
    assert any(a.stress != b.stress for a, b in zip(low, high, strict=True))


def test_assumptions_have_names_reasons_and_no_double():
    names = [assumption.name for assumption in ASSUMPTIONS]
    assert len(set(names)) == len(names) == 14
    assert all(assumption.reason for assumption in ASSUMPTIONS)


def test_every_assumption_of_the_loads_can_be_set_in_the_document():
    assert list(ASSUMPTION_LIMITS) == [field.name for field in dataclasses.fields(LoadAssumptions)]
    assert [each.key for each in ASSUMPTIONS if each.key] == [
        "severe_n",
        "firm_n",
        "light_n",
        *list(ASSUMPTION_LIMITS)[3:],
    ]
    setup = setup_of({**DOCUMENT, "factors": {"severe_n": 6000, "axial_share": 0.0}})
    assert (setup.assumptions.severe_n, setup.assumptions.axial_share, setup.assumptions.firm_n) == (
        6000.0,
        0.0,
        1000.0,
    )


def test_what_was_set_by_hand_is_told_with_what_it_was_and_whether_it_is_honest():
    assert changed_assumptions(PLAIN) == ()
    severe, axial = changed_assumptions(setup_of({**DOCUMENT, "factors": {"severe_n": 6000, "axial_share": 0.0}}))
    assert (severe.assumption.key, severe.value, severe.usual, severe.beyond) == ("severe_n", 6000.0, 3000.0, True)
    assert (axial.assumption.key, axial.value, axial.usual, axial.beyond) == ("axial_share", 0.0, 0.3, False)
