import pytest

from jointlab.mount.movement import joint_width_mm, movement_mm, time_findings
from jointlab.mount.setup_of import setup_of
from jointlab.record.finding import FindingCode, Severity
from jointlab.record.joint import Disc, Rectangle, Ring

WIDE = setup_of(
    {
        "blank": {"diameter_mm": 250, "length_mm": 80, "mass_kg": 3},
        "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 150, "age_h": 48},
        "block": {"thickness_mm": 38},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "midi"},
    }
)


def test_four_percent_of_moisture_move_a_width_of_150_by_nearly_two_millimetres():
    """Printed as 1.8 mm: 4 % x 0.3 % per % x 150 mm."""
    assert movement_mm(width_mm=150.0, moisture_change_pct=4.0) == pytest.approx(1.8)
    assert movement_mm(width_mm=150.0, moisture_change_pct=-4.0) == pytest.approx(1.8)


@pytest.mark.parametrize(
    ("outline", "width_mm"), [(Disc(90.0), 90.0), (Ring(90.0, 30.0), 90.0), (Rectangle(60.0, 80.0), 80.0)]
)
def test_the_width_of_a_joint_is_its_largest(outline, width_mm):
    assert joint_width_mm(outline) == width_mm


@pytest.mark.parametrize(("days", "severity"), [(0.0, Severity.NOTE), (3.0, Severity.NOTE), (3.1, Severity.WARNING)])
def test_a_wide_joint_left_mounted_more_than_three_days_is_to_be_checked(days, severity):
    found = {finding.code: finding for finding in time_findings(WIDE, days_mounted=days)}
    assert found[FindingCode.WOOD_MOVES].severity is severity
    assert "0.45 mm for each 1 %" in found[FindingCode.WOOD_MOVES].text


def test_a_night_on_the_lathe_is_a_load_left_on():
    codes = {finding.code for finding in time_findings(WIDE, days_mounted=0.5)}
    assert FindingCode.LEFT_HANGING in codes
    assert FindingCode.LEFT_HANGING not in {finding.code for finding in time_findings(WIDE)}
