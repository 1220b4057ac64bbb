"""Worked examples of the loads on a turning blank (derived from mechanics), to four digits.

The inputs are those of a home shop; the outputs were worked by hand formulas apart from this code. Tolerance: half a
unit of the fourth printed digit, because the examples are printed so.
"""

import numpy as np
import pytest

from jointlab.mount.actions import ToolLoad, joint_actions, joint_stress
from jointlab.mount.bond import bonded_section, rim_void_ratios
from jointlab.mount.demand import Case
from jointlab.mount.loads import (
    angular_speed_rad_s,
    available_n,
    blank_inertia_kg_m2,
    drive_torque_nmm,
    imbalance_n,
    stopping_n,
    turning_inertia_kg_m2,
    weight_n,
)
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.points import Points
from jointlab.mount.screws import combined_withdrawal_n, mean_withdrawal_n, screw_withdrawal_n
from jointlab.mount.setup_of import setup_of
from jointlab.mount.tailstock import propped_factor
from jointlab.mount.wood_strength import at_angle, at_moisture, duration_share
from jointlab.record.joint import Disc
from jointlab.record.woods import WOODS, estimated_tension_mpa, wood_named
from jointlab.stress.section import section_of
from jointlab.units import STANDARD_GRAVITY_M_S2


def four_digits(expected):
    return pytest.approx(expected, rel=5e-4)


def turned_at_the_rim(**changes):
    """300 x 100 mm of 616 kg/m3, 2 mm off, on a 100 mm disc at 600 rpm: cut at the rim, at the chosen speed only."""
    document = {
        "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
        "joint": {"glue": "PVA", "substrate": "poplar", "shape": "disc", "diameter_mm": 100, "age_h": 48},
        "block": {"thickness_mm": 25, "wood": "yellow-poplar"},
        "screws": {"count": 6, "circle_mm": 76, "diameter_mm": 4.826, "thread_mm": 19.05},
        "work": {"min_radius_mm": 150},
        "lathe": {"rpm": 600, "motor_w": 1100, "size": "full", "base_rpm": 600},
    }
    for section, keys in changes.items():
        document[section] = document.get(section, {}) | keys
    return setup_of(document)


def case_of(demand, case):
    return next(found for found in demand.cases if found.case is case)


def link_of(demand, link, case):
    return next(found for found in demand.links if found.link == link and found.case is case)


def test_spinning_two_millimetres_off_asks_little():
    setup = turned_at_the_rim()
    blank = setup.blank
    assert blank.mass_kg == four_digits(4.354)
    assert angular_speed_rad_s(600.0) == four_digits(62.83)
    assert weight_n(blank) == four_digits(42.70)
    assert imbalance_n(blank, speed_rpm=600.0) == four_digits(34.38)
    assert blank_inertia_kg_m2(blank) == four_digits(0.04899)
    spin = case_of(mount_demand(setup), Case.SPIN)
    assert spin.actions.moment_nmm == four_digits(3854)
    assert spin.stress.tension_mpa == four_digits(0.03926)
    assert spin.stress.shear_mpa == four_digits(0.009814)
    energy_j = 0.5 * blank_inertia_kg_m2(blank) * angular_speed_rad_s(600.0) ** 2
    assert energy_j == four_digits(96.69)


def test_imbalance_equals_the_weight_at_the_square_root_of_g_over_e():
    setup = turned_at_the_rim()
    speed_rpm = np.sqrt(STANDARD_GRAVITY_M_S2 / 0.002) * 60.0 / (2.0 * np.pi)
    assert speed_rpm == four_digits(668.7)
    assert imbalance_n(setup.blank, speed_rpm=speed_rpm) == pytest.approx(weight_n(setup.blank), rel=1e-12)


def test_what_the_lathe_delivers_to_a_catch():
    setup = turned_at_the_rim()
    assert drive_torque_nmm(setup, speed_rpm=600.0) == four_digits(43_770)
    assert turning_inertia_kg_m2(setup) == four_digits(0.06899)
    assert stopping_n(setup, speed_rpm=600.0) * 0.1 / 2.0 == four_digits(136.2)
    assert available_n(setup, speed_rpm=600.0, radius_mm=150.0) == four_digits(3015)


@pytest.mark.parametrize(
    ("case", "moment_nm", "tension_mpa", "shear_mpa"),
    [
        (Case.CATCH_LIGHT, 43.23, 0.4518, 0.2757),
        (Case.CATCH_FIRM, 135.1, 1.414, 0.5267),
        (Case.CATCH_SEVERE, 397.6, 4.164, 1.244),
    ],
)
def test_the_three_catches_at_the_rim(case, moment_nm, tension_mpa, shear_mpa):
    found = case_of(mount_demand(turned_at_the_rim()), case)
    assert found.actions.moment_nmm / 1000.0 == four_digits(moment_nm)
    assert found.stress.tension_mpa == four_digits(tension_mpa)
    assert found.stress.shear_mpa == four_digits(shear_mpa)
    assert (found.speed_rpm, found.radius_mm) == (600.0, 150.0)


def test_the_firm_and_the_severe_catch_in_all_their_actions():
    demand = mount_demand(turned_at_the_rim())
    firm, severe = case_of(demand, Case.CATCH_FIRM).actions, case_of(demand, Case.CATCH_SEVERE).actions
    assert (firm.axial_n, severe.axial_n) == (pytest.approx(300.0), pytest.approx(900.0))
    assert firm.shear_n == four_digits(1154)
    assert severe.shear_n == four_digits(3308)
    assert firm.torque_nmm == four_digits(74_570)
    assert severe.torque_nmm == four_digits(161_500)


@pytest.mark.parametrize(
    ("case", "utilisation"), [(Case.CATCH_SEVERE, 2.123), (Case.CATCH_FIRM, 0.7286), (Case.CATCH_LIGHT, 0.2439)]
)
def test_tension_and_shear_together_against_two_and_three_megapascals(case, utilisation):
    points = link_of(mount_demand(turned_at_the_rim()), "glue_line", case).over_points
    combined = np.hypot(points.tension_mpa / 2.0, points.shear_mpa / 3.0)
    assert combined.max() == four_digits(utilisation)


def test_a_severe_catch_half_way_in_bends_less():
    setup = turned_at_the_rim()
    load = ToolLoad(Points(np.array([600.0]), np.array([75.0])), np.array([3000.0]), sudden=True)
    actions = joint_actions(setup, load)
    stress = joint_stress(setup, actions)
    assert actions.moment_nmm[0] / 1000.0 == four_digits(357.6)
    assert stress.tension_mpa[0] == four_digits(3.757)
    assert stress.shear_mpa[0] == four_digits(0.9117)


def test_screws_stand_further_out_than_the_glue_line():
    setup = turned_at_the_rim()
    mean_n = mean_withdrawal_n(specific_gravity=0.42, diameter_mm=4.826, thread_mm=19.05)
    assert mean_n == four_digits(1756)
    assert mean_n / 4.4482216152605 == four_digits(394.7)
    assert screw_withdrawal_n(setup).withdrawal_n == four_digits(1034)
    asked = link_of(mount_demand(setup), "screws", Case.CATCH_FIRM).demand
    assert asked.withdrawal_n == four_digits(1488)
    assert asked.shear_n == four_digits(519.4)


def test_a_number_twelve_screw_in_sugar_maple():
    assert mean_withdrawal_n(specific_gravity=0.63, diameter_mm=5.486, thread_mm=20.0) == four_digits(4714)


def test_a_void_of_twenty_millimetres_at_the_rim_of_a_hundred():
    inertia, modulus = rim_void_ratios(0.04)
    assert inertia == four_digits(0.8917)
    assert modulus == four_digits(0.8630)
    assert inertia / modulus * 50.0 == four_digits(51.67)


@pytest.mark.parametrize(
    ("share", "inertia", "modulus"), [(0.1, 0.782, 0.727), (0.2, 0.654, 0.575), (0.3, 0.559, 0.469)]
)
def test_larger_voids_at_the_rim_to_their_three_printed_digits(share, inertia, modulus):
    found_inertia, found_modulus = rim_void_ratios(share)
    assert found_inertia == pytest.approx(inertia, abs=5e-4)
    assert found_modulus == pytest.approx(modulus, abs=5e-4)


def test_a_void_elsewhere_takes_its_share_of_area_and_moduli():
    setup = turned_at_the_rim(joint={"void_pct": 20, "void_at_rim": False})
    whole, left = section_of(Disc(100.0)), bonded_section(setup.joint)
    assert left.area_mm2 / whole.area_mm2 == pytest.approx(0.8)
    assert left.turning_mm3 / whole.turning_mm3 == pytest.approx(0.8)
    assert left.torsion_mm3 / whole.torsion_mm3 == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("height", "factor"), [(0.1, 0.86), (0.2, 0.72), (0.3, 0.60), (0.5, 0.38), (0.6, 0.28), (0.8, 0.12)]
)
def test_a_propped_far_end_relieves_the_joint_to_two_printed_digits(height, factor):
    assert propped_factor(height) == pytest.approx(factor, abs=5.1e-3)


def test_walnut_at_sixteen_percent_moisture():
    """Printed 1322 psi, 9.115 MPa."""
    walnut = wood_named("walnut")
    assert walnut is not None
    shear_psi = at_moisture(dry=walnut.shear_psi, green=walnut.green_shear_psi, moisture_pct=16.0)
    assert shear_psi == four_digits(1322)
    shear_mpa = at_moisture(dry=walnut.shear_mpa, green=walnut.green_shear_mpa, moisture_pct=16.0)
    assert shear_mpa == four_digits(9.115)


def test_time_under_load_by_the_madison_curve():
    """Printed: 10 s over 300 s 1.140, 8 h over 300 s 0.8437; the curve at 1 s 126.7, 1 day 82.3 (one decimal)."""
    assert duration_share(10.0) / duration_share(300.0) == four_digits(1.140)
    assert duration_share(8 * 3600.0) / duration_share(300.0) == four_digits(0.8437)
    assert 100 * duration_share(1.0) == pytest.approx(126.7, abs=0.05)
    assert 100 * duration_share(86_400.0) == pytest.approx(82.3, abs=0.05)


@pytest.mark.parametrize(("degrees", "strength_mpa"), [(30.0, 7.578), (45.0, 6.327)])
def test_strength_at_an_angle_to_the_grain(degrees, strength_mpa):
    assert at_angle(along=9.445, across=4.757, angle_rad=np.radians(degrees)) == four_digits(strength_mpa)


def test_a_screw_pulled_at_forty_five_degrees():
    found = combined_withdrawal_n(withdrawal_n=1751.0, lateral_n=1200.0, angle_rad=np.pi / 4)
    assert found == four_digits(1424)


def test_means_of_clear_wood_as_the_table_prints_them():
    """Wood Handbook Table 5-3b, psi to MPa; the printed metric digits (two decimals)."""
    walnut, oak = wood_named("walnut"), wood_named("white oak")
    assert walnut is not None
    assert oak is not None
    assert (walnut.shear_mpa, walnut.tension_mpa) == (pytest.approx(9.45, abs=5e-3), pytest.approx(4.76, abs=5e-3))
    assert (oak.shear_mpa, oak.tension_mpa) == (pytest.approx(13.79, abs=5e-3), pytest.approx(5.52, abs=5e-3))
    assert round(walnut.density_kg_m3) == 616
    assert len(WOODS) == 23


def test_tension_across_sugar_maple_is_estimated_from_its_specific_gravity():
    maple = wood_named("hard maple")
    assert maple is not None
    assert maple.tension_mpa is None
    assert estimated_tension_mpa(maple) == four_digits(5.539)


def test_shear_over_tension_runs_from_walnut_to_black_locust():
    """Ratios printed with two decimals; the extremes of the rows kept here."""
    ratios = {wood.name: wood.shear_psi / wood.tension_psi for wood in WOODS if wood.tension_psi}
    assert ratios["black walnut"] == pytest.approx(1.99, abs=5e-3)
    assert ratios["black locust"] == pytest.approx(3.88, abs=5e-3)
    assert min(ratios, key=ratios.get) == "black walnut"
    assert max(ratios, key=ratios.get) == "black locust"
