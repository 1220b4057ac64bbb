"""The worked examples of the verdict: usage in three catches, margins of one blank, verdict table, sizes and durations.

Source of all: examples derived from the formulas and recomputed by hand (4 significant digits unless said).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from jointlab.mount.demand import Case, StressDemand
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import Surface
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Combination, Disc
from jointlab.record.vocabulary import Action, SubstrateKind
from jointlab.strength.values import CombinationStrength, WorkingBound
from jointlab.stress.section import section_of
from jointlab.verdict.capacity import capacity_of
from jointlab.verdict.evidence import Evidence, Feed
from jointlab.verdict.factors import LONG_DURATION, SIZE_EXPONENT, Side
from jointlab.verdict.rule import Interaction, outcome_of, strength_margin, usage
from jointlab.verdict.values import Outcome, StressStrength

FOUR_DIGITS = 5e-4
"""Relative: the examples are printed with four significant digits."""


def blank_of_the_examples(diameter_mm: float):
    """W6: 300 x 100 mm, 616 kg/m3, 600 rpm, 1.1 kW, rotor 0.020 kg m2, offset 2 mm; the joint a disc."""
    return setup_of(
        {
            "blank": {"diameter_mm": 300.0, "length_mm": 100.0, "density_kg_m3": 616.0, "offset_mm": 2.0},
            "joint": {
                "glue": "yellow glue",
                "substrate": "maple offcut",
                "shape": "disc",
                "diameter_mm": diameter_mm,
                "age_h": 200.0,
                "batch": "A",
            },
            "block": {"thickness_mm": 25.0},
            "lathe": {"rpm": 600.0, "motor_w": 1100.0, "rotor_kg_m2": 0.020},
        }
    )


@pytest.mark.parametrize(
    ("tension_mpa", "shear_mpa", "used"),
    # W7: the printed stresses of the disc of 100 mm, strengths (2.0, 3.0) MPa
    [(4.164, 1.244, 2.123), (1.414, 0.5267, 0.7286), (0.4518, 0.2757, 0.2439)],
)
def test_w7_usage_of_the_three_catches(tension_mpa, shear_mpa, used):
    found = usage(
        tension_mpa,
        shear_mpa,
        tension_strength_mpa=2.0,
        shear_strength_mpa=3.0,
        interaction=Interaction.QUADRATIC,
    )
    # inputs themselves are rounded to four digits, hence 3 x the rounding
    assert found == pytest.approx(used, rel=3.0 * FOUR_DIGITS)


@pytest.mark.parametrize(
    ("strength", "interaction", "case", "margins"),
    [
        # printed to 2 decimals, so within half a unit of the last digit (15.2 within 0.05)
        ((2.0, 0.7), Interaction.QUADRATIC, Case.CATCH_LIGHT, (0.95, 2.18, 4.11, 6.86, 15.2)),
        ((2.0, 0.7), Interaction.QUADRATIC, Case.CATCH_FIRM, (0.37, 0.83, 1.57, 2.62, 5.79)),
        ((2.0, 0.7), Interaction.QUADRATIC, Case.CATCH_SEVERE, (0.16, 0.37, 0.69, 1.14, 2.50)),
        ((0.7, 0.5), Interaction.QUADRATIC, Case.CATCH_FIRM, (0.18, 0.41, 0.79, 1.34, 3.03)),
        ((0.7, 0.5), Interaction.QUADRATIC, Case.CATCH_SEVERE, (0.07, 0.16, 0.30, 0.50, 1.15)),
        ((0.3, 0.4), Interaction.LINEAR, Case.CATCH_FIRM, (0.07, 0.16, 0.30, 0.51, 1.17)),
    ],
)
def test_margins_of_one_blank_on_discs_of_75_to_200_mm(strength, interaction, case, margins):
    for diameter_mm, printed in zip((75.0, 100.0, 125.0, 150.0, 200.0), margins, strict=True):
        demands = mount_demand(blank_of_the_examples(diameter_mm)).links
        glue = next(demand for demand in demands if demand.link == "glue_line" and demand.case is case)
        assert isinstance(glue.over_points, StressDemand)
        margin = strength_margin(glue.over_points, StressStrength(*strength), interaction)
        assert margin == pytest.approx(printed, abs=0.0051 if printed < 10.0 else 0.051)


W8_MPA = (1.82, 2.15, 1.40, 2.31, 1.95, 1.66, 2.04, 1.78)
W8_K_LOWER, W8_K_UPPER = 2.188, 1.358


def w8_evidence() -> Evidence:
    """Tension tests of 50 mm discs, lognormal, fifth percentile at confidence 0.75 (k for eight, printed)."""
    logs = [math.log(strength) for strength in W8_MPA]
    mean = sum(logs) / len(logs)
    spread = math.sqrt(sum((log - mean) ** 2 for log in logs) / (len(logs) - 1))
    assert (mean, spread) == pytest.approx((0.6253, 0.1579), abs=5e-5)
    bound = WorkingBound(
        math.exp(mean - W8_K_LOWER * spread), math.exp(mean - W8_K_UPPER * spread), "lognormal", 0.95, 0.75
    )
    strength = CombinationStrength(
        combination=Combination("yellow glue", "maple offcut"),
        action=Action.PULL,
        n=8,
        n_broke=8,
        n_held=0,
        n_usable=8,
        batches=2,
        batch_names=("X", "Y"),
        families=(),
        bounds=(),
        working_bound=bound,
    )
    area_mm2 = float(section_of(Disc(50.0)).area_mm2)
    feed = Feed(Action.PULL, strength, 8, ("X", "Y"), area_mm2, 200.0, None)
    return Evidence(strength.combination, feed, None, kinds=(SubstrateKind.SOLID_FACE,))


def test_w8_bounds_and_factor_from_test_to_service():
    evidence = w8_evidence()
    assert evidence.tension.bound_mpa == pytest.approx(1.323, rel=FOUR_DIGITS)
    assert evidence.tension.upper_mpa == pytest.approx(1.508, rel=FOUR_DIGITS)
    strength, upper = w8_strengths()
    # 1.323 x 0.7579 x 0.80 (sanded) x 0.95 (another glue-up)
    assert strength.tension_mpa == pytest.approx(0.7618, rel=FOUR_DIGITS)
    assert upper.tension_mpa == pytest.approx(0.8685, rel=FOUR_DIGITS)


def w8_strengths() -> tuple[StressStrength, StressStrength]:
    mount = blank_of_the_examples(100.0)
    sanded = replace(mount, joint=replace(mount.joint, surface=Surface.SANDED, batch=None))
    capacity = capacity_of(sanded, w8_evidence(), screw_withdrawal_n=None)
    assert capacity.factors is not None
    assert capacity.factors.product(Side.TENSION, Case.CATCH_SEVERE) == pytest.approx(0.5760, rel=FOUR_DIGITS)
    return capacity.glue_line(Case.CATCH_SEVERE), capacity.glue_line_upper(Case.CATCH_SEVERE)


@pytest.mark.parametrize(
    ("demand_mpa", "lower", "upper", "verdict"),
    [
        (0.350, 2.177, 2.482, Outcome.PASS),
        (0.400, 1.905, 2.171, Outcome.UNDECIDED),
        (0.500, 1.524, 1.737, Outcome.FAIL),
    ],
)
def test_w8_verdicts_at_margin_two(demand_mpa, lower, upper, verdict):
    demand = StressDemand(demand_mpa, 0.0)
    strength, strength_upper = w8_strengths()
    margins = [strength_margin(demand, side, Interaction.QUADRATIC) for side in (strength, strength_upper)]
    assert margins == pytest.approx([lower, upper], rel=FOUR_DIGITS)
    found = outcome_of(
        margin_lower=margins[0],
        margin_upper=margins[1],
        required=2.0,
        pulls=8,
        batches=2,
        all_rated=True,
        blocked=False,
    )
    assert found is verdict


def test_w9_exponents_of_size_are_those_of_the_published_pairs():
    # Barrett (1974): 460 psi at 1 cubic inch, 100 psi at 2000; laminate: 393 psi at 24.6, 280 psi at 4720 cm3
    assert math.log(4.6) / math.log(2000.0) == pytest.approx(0.2008, abs=5e-5)
    assert pytest.approx(0.2008, abs=1e-3) == SIZE_EXPONENT[Side.TENSION]
    assert math.log(393.0 / 280.0) / math.log(4720.0 / 24.6) == pytest.approx(0.06448, abs=5e-5)
    assert SIZE_EXPONENT[Side.SHEAR] >= 0.06448


def test_w10_eight_hours_against_five_minutes():
    # Madison curve, y = 108.4 / x^0.04635 + 18.3, x in seconds: printed 0.8437; the factor keeps two digits
    def share(seconds: float) -> float:
        return 108.4 / seconds**0.04635 + 18.3

    assert share(8.0 * 3600.0) / share(300.0) == pytest.approx(0.8437, rel=FOUR_DIGITS)
    assert pytest.approx(0.8437, abs=0.01) == LONG_DURATION
