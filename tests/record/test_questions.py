import dataclasses
import math

import pytest

from jointlab.record.finding import FindingCode, Severity
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.questions import highest_mpa, questions_of
from jointlab.record.vocabulary import Action, BrokeAt, Outcome

PULL = Pull(
    batch="A",
    specimen="1",
    tested_on="2026-03-14",
    joint=Joint(Combination("white glue", "maple"), Disc(50.0)),
    action=Action.PRY,
    loading=Loading(load=120.0, arm_mm=300.0),
    outcome=Outcome.BROKE,
)


def codes(pull, stress_mpa=2.9):
    return [finding.code for finding in questions_of(pull, stress_mpa=stress_mpa)]


def test_an_ordinary_pull_raises_no_question():
    assert codes(PULL) == []


@pytest.mark.parametrize("action", [Action.PULL, Action.SHEAR])
def test_more_than_the_strongest_wood_carries_is_questioned(action):
    pull, limit = (
        dataclasses.replace(PULL, action=action, joint=Joint(Combination("white glue", "scrap"), Disc(50.0))),
        highest_mpa(action),
    )
    assert codes(pull, limit * 1.01) == [FindingCode.STRESS_HIGH]
    assert codes(pull, limit * 0.99) == []


# Wood Handbook (2021) Table 5-3b, psi: beech 1010 and black locust 2480 are the highest; black cherry 560 and 1700;
# yellow-poplar 540. Table 5-6: COV 25 % (tension across the grain) and 14 % (shear). Rule: 1.3 x mean x (1 + 3 COV).
@pytest.mark.parametrize(
    ("action", "woods", "mean_psi", "spread"),
    [
        (Action.PRY, (), 1010, 0.25),
        (Action.TWIST, (), 2480, 0.14),
        (Action.PULL, ("black cherry",), 560, 0.25),
        (Action.SHEAR, ("cherry", "offcut"), 1700, 0.14),
        (Action.PRY, ("black cherry", "yellow-poplar"), 540, 0.25),
    ],
)
def test_the_limit_is_that_of_the_weaker_wood_named(action, woods, mean_psi, spread):
    expected = 1.3 * mean_psi * 0.006894757 * (1 + 3 * spread)
    assert highest_mpa(action, woods=woods) == pytest.approx(expected, rel=1e-3)


def test_a_reading_of_kilograms_entered_as_kilonewtons_is_questioned():
    assert FindingCode.STRESS_HIGH in codes(PULL, 2.9 * 1000 / 9.80665)


def test_almost_no_stress_is_questioned_unless_it_broke_in_handling():
    assert codes(PULL, 0.049) == [FindingCode.STRESS_LOW]
    assert codes(dataclasses.replace(PULL, outcome=Outcome.HANDLED), 0.049) == []


def test_a_break_at_the_rigs_limit_is_questioned():
    near = dataclasses.replace(PULL, loading=Loading(load=98.0, cap=100.0, arm_mm=300.0))
    assert codes(near) == [FindingCode.NEAR_CAP]
    below = dataclasses.replace(PULL, loading=Loading(load=97.9, cap=100.0, arm_mm=300.0))
    assert codes(below) == []
    assert codes(dataclasses.replace(near, outcome=Outcome.HELD)) == []


def test_a_young_joint_and_moist_wood_are_questioned():
    young = dataclasses.replace(PULL, conditions=Conditions(cure_h=23.9, moisture_pct=16.1))
    assert codes(young) == [FindingCode.CURED_SHORT, FindingCode.WOOD_MOIST]
    ripe = dataclasses.replace(PULL, conditions=Conditions(cure_h=24.0, moisture_pct=16.0))
    assert codes(ripe) == []


def test_a_pull_without_information_is_said_to_be_so():
    slipped = dataclasses.replace(PULL, outcome=Outcome.HANDLED, broke=Break(broke_at=BrokeAt.BAR))
    (finding,) = questions_of(slipped, stress_mpa=0.5)
    assert finding.code is FindingCode.NO_INFORMATION
    assert finding.severity is Severity.WARNING


def test_a_stress_of_just_the_least_expected_is_not_questioned():
    assert codes(PULL, 0.05) == []
    assert codes(PULL, math.nextafter(0.05, 0.0)) == [FindingCode.STRESS_LOW]
