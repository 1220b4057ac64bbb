import dataclasses

import pytest

from jointlab.record.finding import FindingCode, Severity
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.questions import HIGHEST_SHEAR_MPA, HIGHEST_TENSION_MPA, questions_of
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


@pytest.mark.parametrize(("action", "limit"), [(Action.PULL, HIGHEST_TENSION_MPA), (Action.SHEAR, HIGHEST_SHEAR_MPA)])
def test_more_than_the_strongest_wood_carries_is_questioned(action, limit):
    pull = dataclasses.replace(PULL, action=action)
    assert codes(pull, limit * 1.01) == [FindingCode.STRESS_HIGH]
    assert codes(pull, limit * 0.99) == []


def test_the_limits_come_from_beech_in_tension_and_locust_in_shear():
    # Wood Handbook (2021) Table 5-3b: 1010 psi and 2480 psi; Table 5-6: COV 25 % and 14 %; 1.3 x mean x (1 + 3 COV)
    assert pytest.approx(1.3 * 1010 * 0.006894757 * 1.75, rel=1e-3) == HIGHEST_TENSION_MPA
    assert pytest.approx(1.3 * 2480 * 0.006894757 * 1.42, rel=1e-3) == HIGHEST_SHEAR_MPA


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
