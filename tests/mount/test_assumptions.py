import pytest

from jointlab.mount.assumptions import ASSUMPTIONS
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup_of import setup_of

PLAIN = setup_of(
    {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
        "support": {"tailstock": "throughout"},
    }
)


@pytest.mark.parametrize("assumption", ASSUMPTIONS, ids=lambda assumption: assumption.name)
def test_every_assumption_acts_on_some_case(assumption):
    low = mount_demand(assumption.changed(PLAIN, assumption.low)).cases
    high = mount_demand(assumption.changed(PLAIN, assumption.high)).cases
    assert any(a.stress != b.stress for a, b in zip(low, high, strict=True))


def test_assumptions_have_names_reasons_and_no_double():
    names = [assumption.name for assumption in ASSUMPTIONS]
    assert len(set(names)) == len(names) == 14
    assert all(assumption.reason for assumption in ASSUMPTIONS)
