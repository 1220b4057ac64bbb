"""Margins of the whole chain of demand against given strengths (derived; printed with two or three digits).

A blank of 300 x 100 mm and 616 kg/m3, 2 mm off, at 600 rpm and 1.1 kW, no tailstock, full reach; worst radius from 75
to 150 mm, worst speed from 300 to 600 rpm. The table prints 1/U for tension and shear strengths relied on; tolerance:
half a unit of the last printed digit, and a hair for its rounding.
"""

import numpy as np
import pytest

from jointlab.mount.demand import Case
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup_of import setup_of

DIAMETERS_MM = (75.0, 100.0, 125.0, 150.0, 200.0)


def margins(tension_mpa, shear_mpa, case, *, combined):
    found = []
    for diameter_mm in DIAMETERS_MM:
        setup = setup_of(
            {
                "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
                "joint": {"glue": "g", "substrate": "s", "shape": "disc", "diameter_mm": diameter_mm, "age_h": 48},
                "block": {"thickness_mm": 25},
                "lathe": {"rpm": 600, "motor_w": 1100, "size": "full"},
            }
        )
        links = mount_demand(setup).links
        points = next(link for link in links if (link.link, link.case) == ("glue_line", case)).over_points
        used = combined(points.tension_mpa / tension_mpa, points.shear_mpa / shear_mpa)
        found.append(1.0 / used.max())
    return found


@pytest.mark.parametrize(
    ("case", "printed"),
    [
        (Case.CATCH_LIGHT, (0.95, 2.18, 4.11, 6.86, 15.2)),
        (Case.CATCH_FIRM, (0.37, 0.83, 1.57, 2.62, 5.79)),
        (Case.CATCH_SEVERE, (0.16, 0.37, 0.69, 1.14, 2.50)),
    ],
)
def test_hardwood_face_grain_relied_on_for_two_and_seven_tenths(case, printed):
    found = margins(2.0, 0.7, case, combined=np.hypot)
    assert found == pytest.approx(printed, abs=0.0051, rel=0.0035)


@pytest.mark.parametrize(
    ("case", "printed"),
    [(Case.CATCH_FIRM, (0.18, 0.41, 0.79, 1.34, 3.03)), (Case.CATCH_SEVERE, (0.07, 0.16, 0.30, 0.50, 1.15))],
)
def test_plywood_relied_on_for_seven_and_five_tenths(case, printed):
    found = margins(0.7, 0.5, case, combined=np.hypot)
    assert found == pytest.approx(printed, abs=0.0051, rel=0.0035)


@pytest.mark.parametrize(("case", "printed"), [(Case.CATCH_FIRM, (0.07, 0.16, 0.30, 0.51, 1.17))])
def test_mdf_relied_on_for_three_and_four_tenths_adds_up_straight(case, printed):
    found = margins(0.3, 0.4, case, combined=np.add)
    assert found == pytest.approx(printed, abs=0.0051, rel=0.0035)
