"""The margins 1/U of a worked table (derived; recomputed apart from this code), to its printed three digits.

A blank of 300 x 100 mm at 616 kg/m3 with its centre of mass 2 mm off, 600 rpm, 1.1 kW, drive inertia 0.020 kg m2, no
tailstock, cuts up to the far end, radii from 75 to 150 mm, speeds from 300 to 600 rpm; strengths after all factors.
"""

import pytest

from jointlab.mount.demand import Case
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup_of import setup_of
from jointlab.verdict.rule import Interaction, stress_margin

DIAMETERS_MM = (75, 100, 125, 150, 200)
HARDWOOD, PLYWOOD, MDF = (2.0, 0.7), (0.7, 0.5), (0.3, 0.4)
TABLE = [
    (HARDWOOD, Case.CATCH_LIGHT, (0.95, 2.18, 4.11, 6.86, 15.2)),
    (HARDWOOD, Case.CATCH_FIRM, (0.37, 0.83, 1.57, 2.62, 5.79)),
    (HARDWOOD, Case.CATCH_SEVERE, (0.16, 0.37, 0.69, 1.14, 2.50)),
    (PLYWOOD, Case.CATCH_FIRM, (0.18, 0.41, 0.79, 1.34, 3.03)),
    (PLYWOOD, Case.CATCH_SEVERE, (0.07, 0.16, 0.30, 0.50, 1.15)),
    (MDF, Case.CATCH_FIRM, (0.07, 0.16, 0.30, 0.51, 1.17)),
]


def glue_line_demand(diameter_mm, case):
    setup = setup_of(
        {
            "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
            "joint": {"glue": "g", "substrate": "s", "shape": "disc", "diameter_mm": diameter_mm, "age_h": 168},
            "block": {"thickness_mm": 38},
            "lathe": {"rpm": 600, "motor_w": 1100, "rotor_kg_m2": 0.020},
        }
    )
    (link,) = [link for link in mount_demand(setup).links if link.link == "glue_line" and link.case is case]
    return link.over_points


@pytest.mark.parametrize(("strengths", "case", "margins"), TABLE)
def test_margins_agree_with_the_worked_table(strengths, case, margins):
    interaction = Interaction.LINEAR if strengths == MDF else Interaction.QUADRATIC
    found = [
        stress_margin(
            glue_line_demand(diameter_mm, case),
            tension_strength_mpa=strengths[0],
            shear_strength_mpa=strengths[1],
            interaction=interaction,
        )
        for diameter_mm in DIAMETERS_MM
    ]
    for margin, printed in zip(found, margins, strict=True):
        # half a unit of the last printed digit: two decimals below ten, one above
        assert margin == pytest.approx(printed, abs=0.0051 if printed < 10 else 0.051)
