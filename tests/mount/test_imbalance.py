import numpy as np
import pytest

from jointlab.mount.face_readings import FaceReadings
from jointlab.mount.fit_up import fit_up_of
from jointlab.mount.imbalance import (
    balance_grade_offset_um,
    balancing_mass_kg,
    offset_from_balance_mm,
    offset_from_density_mm,
    offset_from_face_mm,
    offset_from_missing_mm,
    offset_from_thickness_mm,
    tilt_couple_nmm,
    vibration_mm_s,
)
from jointlab.mount.setup import Blank


def test_halves_five_percent_apart_move_the_centre_by_three_millimetres():
    """Printed: 5 %, R 150 mm: 3.18 mm (three digits)."""
    assert offset_from_density_mm(diameter_mm=300.0, density_share=0.05) == pytest.approx(3.18, abs=5e-3)


def test_two_millimetres_at_600_rpm_stand_between_two_balance_grades():
    """Printed: e omega 125.7 mm/s; offsets of G16, G40, G100 at 600 rpm 255, 637, 1592 um."""
    assert vibration_mm_s(offset_mm=2.0, speed_rpm=600.0) == pytest.approx(125.7, abs=0.05)
    grades = balance_grade_offset_um(grade_mm_s=np.array([16.0, 40.0, 100.0]), speed_rpm=600.0)
    assert grades == pytest.approx([255, 637, 1592], abs=0.5)


def test_a_mass_that_balances_measures_the_offset_it_balances():
    mass_kg = balancing_mass_kg(mass_kg=4.0, offset_mm=2.5, radius_mm=140.0)
    assert offset_from_balance_mm(added_kg=mass_kg, radius_mm=140.0, mass_kg=4.0) == pytest.approx(2.5)


def test_a_missing_piece_moves_the_centre_the_other_way_by_its_moment():
    assert offset_from_missing_mm(missing_kg=0.2, radius_mm=120.0, left_kg=4.0) == pytest.approx(6.0)


def test_a_lean_bends_a_disc_and_a_rod_alike_and_leaves_a_body_of_equal_inertias_alone():
    """A cylinder of D^2/8 = D^2/16 + L^2/12, that is L = D sqrt(3)/2, has no axis of its own."""
    disc = Blank(300.0, 30.0, 2.0, 15.0, 0.0)
    rod = Blank(50.0, 400.0, 2.0, 200.0, 0.0)
    ball = Blank(200.0, 200.0 * np.sqrt(0.75), 2.0, 80.0, 0.0)
    lean = {"tilt_rad": 0.01, "speed_rpm": 600.0}
    expected = 2.0 * (0.3**2 / 16 - 0.03**2 / 12) * (20 * np.pi) ** 2 * np.sin(0.01) * np.cos(0.01) * 1000
    assert tilt_couple_nmm(disc, **lean) == pytest.approx(expected)
    assert tilt_couple_nmm(rod, **lean) > 0.0
    assert tilt_couple_nmm(ball, **lean) == pytest.approx(0.0, abs=1e-9)


def test_a_wedge_of_thickness_moves_the_centre_by_its_first_harmonic():
    angles = 2 * np.pi * np.arange(16) / 16
    thickness = 50.0 * (1.0 + 0.08 * np.cos(angles - 0.4))
    offset_mm = offset_from_thickness_mm(thickness, diameter_mm=300.0)
    # the same by summing over a fine polar grid
    radii = (np.arange(2000) + 0.5) * 150.0 / 2000
    turn = 2 * np.pi * (np.arange(720) + 0.5) / 720
    r, t = np.meshgrid(radii, turn)
    depth = 1.0 + 0.08 * np.cos(t)
    expected = (depth * r * r * np.cos(t)).sum() / (depth * r).sum()
    assert offset_mm == pytest.approx(expected, rel=1e-3)


def test_an_oval_thickness_moves_no_centre():
    angles = 2 * np.pi * np.arange(16) / 16
    assert offset_from_thickness_mm(50 + 3 * np.cos(2 * angles), diameter_mm=300.0) == pytest.approx(0.0, abs=1e-12)


def test_too_few_thicknesses_are_refused():
    with pytest.raises(ValueError, match="three thicknesses"):
        offset_from_thickness_mm([25.0, 25.1], diameter_mm=300.0)


def test_readings_anywhere_around_give_the_offset_of_the_wedge_that_fits_them():
    """A wedge of 50 mm that gains 8 % at the rim of 300 mm, read on a circle of 100 mm at uneven places."""
    angles = np.array([0.1, 0.9, 1.7, 2.6, 3.3, 4.4, 5.2, 6.0])
    thickness = 50.0 * (1.0 + 0.08 * 50.0 / 150.0 * np.cos(angles - 0.4))
    fit = fit_up_of(FaceReadings(angles, np.full(8, 50.0), thickness))
    turn = 2 * np.pi * np.arange(16) / 16
    expected = offset_from_thickness_mm(50.0 * (1.0 + 0.08 * np.cos(turn)), diameter_mm=300.0)
    assert offset_from_face_mm(fit, diameter_mm=300.0) == pytest.approx(expected, rel=1e-9)
    assert expected == pytest.approx(4.0)  # 0.08 x 150/3
