import numpy as np
import pytest

from jointlab.mount.wood_strength import at_angle, at_moisture, duration_share


def test_between_dry_and_green_a_strength_falls_from_one_to_the_other():
    moistures = np.array([4.0, 12.0, 18.0, 25.0, 60.0])
    found = at_moisture(dry=10.0, green=6.0, moisture_pct=moistures)
    assert found[[0, 1]] == pytest.approx([10.0, 10.0])
    assert found[[3, 4]] == pytest.approx([6.0, 6.0])
    assert 6.0 < found[2] < 10.0


@pytest.mark.parametrize(
    ("dry_psi", "green_psi", "green_from_pct", "loss_pct"), [(1880, 1110, 27.0, 3.58), (900, 680, 25.0, 2.18)]
)
def test_shear_lost_for_each_percent_of_moisture(dry_psi, green_psi, green_from_pct, loss_pct):
    """Yellow birch and eastern white pine, printed 3.58 and 2.18 %; an independent table prints 3.6 and 2.2."""
    less = at_moisture(dry=dry_psi, green=green_psi, moisture_pct=13.0, green_from_pct=green_from_pct)
    assert 100.0 * (dry_psi / less - 1.0) == pytest.approx(loss_pct, abs=5e-3)


def test_along_and_across_are_the_ends_of_the_angle():
    assert at_angle(along=9.0, across=4.0, angle_rad=0.0) == pytest.approx(9.0)
    assert at_angle(along=9.0, across=4.0, angle_rad=np.pi / 2) == pytest.approx(4.0)


def test_a_standard_test_of_seven_and_a_half_minutes_counts_whole():
    """Printed 100.0 % at 450 s."""
    assert duration_share(450.0) == pytest.approx(1.0, abs=5e-4)
