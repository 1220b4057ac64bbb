import dataclasses

import pytest

from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Loading, Pull
from jointlab.record.vocabulary import Action, Outcome
from jointlab.stress.doubtful_readings import doubtful_readings, looks_wrong


def pull_at(load_n, **changes):
    """A 50 mm disc pried at 300 mm: 122.7 N make 3 MPa (36.8 N m over a section modulus of 12,272 mm3)."""
    pull = Pull(
        batch="A",
        specimen="1",
        tested_on="2026-03-14",
        joint=Joint(Combination("white glue", "maple"), Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=load_n, arm_mm=300.0),
        outcome=Outcome.BROKE,
    )
    return dataclasses.replace(pull, **changes)


@pytest.mark.parametrize(("load_n", "wrong"), [(122.7, False), (5_000.0, True), (0.1, True)])
def test_a_reading_looks_wrong_far_above_and_far_below_what_joints_of_wood_carry(load_n, wrong):
    assert looks_wrong(pull_at(load_n)) is wrong


def test_a_break_at_the_rigs_limit_looks_wrong():
    assert looks_wrong(pull_at(122.7, loading=Loading(load=122.7, arm_mm=300.0, cap=122.7)))


def test_what_is_asked_of_the_joint_and_not_of_the_reading_leaves_it_be():
    young = pull_at(122.7, tested_on="2026-03-14")
    young = dataclasses.replace(young, conditions=dataclasses.replace(young.conditions, cure_h=1.0))
    assert not looks_wrong(young)


def test_nothing_doubtful_gives_no_finding():
    assert list(doubtful_readings([], of=8)) == []


def test_the_first_five_are_named_and_all_counted():
    doubtful = [pull_at(5_000.0, specimen=str(number)) for number in range(6)]
    (finding,) = doubtful_readings(doubtful, of=8)
    assert finding.code is FindingCode.PULLS_QUESTIONED
    assert finding.text.startswith("6 of 8 readings look wrong")
    assert "(A, 0; A, 1; A, 2; A, 3; A, 4; ...)" in finding.text
    (whole,) = doubtful_readings(doubtful[:5], of=8)
    assert "(A, 0; A, 1; A, 2; A, 3; A, 4)" in whole.text
