"""Worked examples of elementary mechanics (derived), to four digits.

The inputs are those of a home shop; the outputs were worked by hand formulas (F/A, M c/I, T c/J, first-order GUM law)
apart from this code. Tolerance: half a unit of the fourth digit.
"""

import pytest

from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.stress.geometry import (
    kernel_mm,
    plastic_twist_stress_mpa,
    pry_stress_mpa,
    pull_stress_mpa,
    shear_stress_mpa,
    twist_stress_mpa,
)
from jointlab.stress.rigging import bar_tare_nm, hung_load_n, jack_load_n, lever_load_n, pry_load_with_tare_n, weight_n
from jointlab.stress.section import section_of
from jointlab.stress.uncertainty import combined, of_limits, of_resolution, propagated


def four_digits(expected):
    return pytest.approx(expected, rel=5e-4)


def test_pull_off_with_a_crane_scale_gives_force_stress_and_uncertainty():
    force_n = weight_n(182.4)
    assert force_n == four_digits(1789)
    assert section_of(Disc(50.0)).area_mm2 == four_digits(1963)
    assert pull_stress_mpa(force_n, outline=Disc(50.0)) == four_digits(0.9110)
    u_mass_kg = combined(of_resolution(0.1), of_limits(0.005 * 182.4), of_limits(0.2))
    assert u_mass_kg == four_digits(0.5398)
    u_mpa = propagated(
        lambda values: pull_stress_mpa(weight_n(values["mass_kg"]), outline=Disc(values["diameter_mm"])),
        estimates={"mass_kg": 182.4, "diameter_mm": 50.0},
        standard_uncertainties={"mass_kg": u_mass_kg, "diameter_mm": of_limits(0.3)},
    )
    assert u_mpa == four_digits(0.006863)
    assert u_mpa / 0.9110 == four_digits(0.007534)
    assert 2 * u_mpa == four_digits(0.01373)


def test_two_millimetres_of_eccentricity_raise_the_peak_by_a_third():
    assert pull_stress_mpa(weight_n(182.4), outline=Disc(50.0), offset_mm=2.0) == four_digits(1.203)


def test_a_lever_on_a_ring_adds_its_own_weight():
    assert weight_n(3.2) == four_digits(31.38)
    with_weight = lever_load_n(
        applied_n=250.0, applied_arm_mm=900.0, joint_arm_mm=120.0, lever_kg=3.2, lever_centre_mm=420.0
    )
    assert with_weight == four_digits(1985)
    assert lever_load_n(applied_n=250.0, applied_arm_mm=900.0, joint_arm_mm=120.0) == four_digits(1875)
    assert section_of(Ring(60.0, 20.0)).area_mm2 == four_digits(2513)
    assert pull_stress_mpa(with_weight, outline=Ring(60.0, 20.0)) == four_digits(0.7897)


def test_the_uncertainty_of_a_lever_comes_from_all_its_arms():
    def load(values):
        return lever_load_n(
            applied_n=values["applied_n"],
            applied_arm_mm=values["applied_arm_mm"],
            joint_arm_mm=values["joint_arm_mm"],
            lever_kg=values["lever_kg"],
            lever_centre_mm=values["lever_centre_mm"],
        )

    estimates = {
        "applied_n": 250.0,
        "applied_arm_mm": 900.0,
        "joint_arm_mm": 120.0,
        "lever_kg": 3.2,
        "lever_centre_mm": 420.0,
    }
    limits = {
        "applied_n": 2.5,
        "applied_arm_mm": 2.0,
        "joint_arm_mm": 1.0,
        "lever_kg": 0.05,
        "lever_centre_mm": 10.0,
    }
    u_n = propagated(
        load, estimates=estimates, standard_uncertainties={name: of_limits(half) for name, half in limits.items()}
    )
    assert u_n == four_digits(14.75)
    assert 100 * u_n / load(estimates) == four_digits(0.7429)


def test_twisting_a_ring_gives_its_moduli_and_both_conventions():
    section = section_of(Ring(100.0, 50.0))
    assert section.area_mm2 == four_digits(5890)
    assert section.inertia_mm4 == four_digits(4.602e6)
    assert section.bending_mm3 == four_digits(9.204e4)
    assert section.torsion_mm3 == four_digits(1.841e5)
    assert twist_stress_mpa(180.0, outline=Ring(100.0, 50.0)) == four_digits(0.9778)
    assert plastic_twist_stress_mpa(180.0, outline=Ring(100.0, 50.0)) == four_digits(0.7858)
    assert twist_stress_mpa(180.0, outline=Disc(100.0)) == four_digits(0.9167)


def test_prying_a_disc_gives_tension_and_side_shear():
    assert pry_stress_mpa(600.0, outline=Disc(80.0), arm_mm=150.0) == four_digits(1.790)
    shear = shear_stress_mpa(600.0, outline=Disc(80.0))
    assert shear == four_digits(0.1194)
    assert 4.0 / 3.0 * shear == four_digits(0.1592)


def test_an_eccentric_pull_stays_in_tension_within_the_kernel():
    assert pull_stress_mpa(2000.0, outline=Disc(50.0)) == four_digits(1.019)
    assert pull_stress_mpa(2000.0, outline=Disc(50.0), offset_mm=3.0) == four_digits(1.508)
    assert pull_stress_mpa(2000.0, outline=Disc(50.0), offset_mm=-3.0) == four_digits(0.5297)
    assert kernel_mm(Disc(50.0)) == four_digits(6.250)


@pytest.mark.parametrize(
    ("outline", "arm_mm", "moment_nm", "side_n"),
    [
        # Expected breaking loads at 1 MPa (derived): moment in prying, and side pull at 300 mm, to their printed digits
        (Rectangle(25.0, 25.0), 300.0, 2.60, 8.7),
        (Disc(25.0), 300.0, 1.53, 5.1),
        (Disc(38.0), 300.0, 5.39, 18),
        (Disc(50.0), 300.0, 12.3, 41),
        (Disc(75.0), 300.0, 41.4, 138),
        (Disc(100.0), 300.0, 98.2, 327),
    ],
)
def test_a_bond_of_one_megapascal_breaks_at_the_expected_side_pull(outline, arm_mm, moment_nm, side_n):
    force_n = 1.0 / pry_stress_mpa(1.0, outline=outline, arm_mm=arm_mm)
    assert force_n * arm_mm / 1000 == pytest.approx(moment_nm, rel=5e-3)
    assert force_n == pytest.approx(side_n, rel=2e-2)


def test_a_square_in_torsion_agrees_with_the_constant_of_the_handbooks():
    # Roark / Timoshenko: 0.208 a^3 for a square (recalled from memory); the general formula is within 0.2 %
    assert section_of(Rectangle(25.0, 25.0)).torsion_mm3 == pytest.approx(0.208 * 25.0**3, rel=2e-3)


def test_the_corner_of_a_turning_square_sees_41_percent_more():
    section = section_of(Rectangle(80.0, 80.0))
    assert section.bending_mm3 / section.turning_mm3 == pytest.approx(2.0**0.5, rel=1e-12)


def test_a_ring_half_hollow_keeps_three_quarters_of_area_and_most_of_its_stiffness():
    # Derived: area 75 %, section moduli 93.75 %
    ring, disc = section_of(Ring(100.0, 50.0)), section_of(Disc(100.0))
    assert ring.area_mm2 / disc.area_mm2 == pytest.approx(0.75, rel=1e-12)
    assert ring.bending_mm3 / disc.bending_mm3 == pytest.approx(0.9375, rel=1e-12)


def test_weights_below_and_above_the_joint_count_with_their_sign():
    assert hung_load_n(mass_kg=10.0, below_kg=1.0, above_kg=0.5) == pytest.approx(10.5 * 9.80665, rel=1e-12)


def test_a_bar_held_level_adds_its_moment_and_held_upright_none():
    # A 600 mm, 1.5 kg bar held level adds 4.4 N m (derived)
    assert bar_tare_nm(bar_kg=1.5, centre_mm=300.0) == pytest.approx(4.4, abs=0.05)
    assert bar_tare_nm(bar_kg=1.5, centre_mm=300.0, slope_deg=90.0) == pytest.approx(0.0, abs=1e-12)
    tare_nm = bar_tare_nm(bar_kg=1.5, centre_mm=300.0)
    assert pry_load_with_tare_n(force_n=100.0, arm_mm=300.0, tare_nm=tare_nm) == pytest.approx(114.71, abs=0.01)


def test_a_jack_gauge_low_in_its_range_has_the_uncertainty_of_its_class():
    # Gauge 0-160 bar class 1.6 read at 80 bar: u = 0.148 MPa, 1.85 % (derived)
    u_mpa = of_limits(0.016 * 16.0)
    assert u_mpa == pytest.approx(0.148, abs=5e-4)
    assert 100 * u_mpa / 8.0 == pytest.approx(1.85, abs=5e-3)
    assert jack_load_n(pressure_mpa=8.0, piston_mm=20.0) == pytest.approx(2513.27, rel=1e-5)
