"""Other shops' pulls: when they count, and copies that are called something else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.record.finding import FindingCode, Severity
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import Action, Outcome
from jointlab.verdict.others import copies_among, own_suffice, passed_off_among, sharing_of

MAPLE = Joint(Combination("yellow glue", "maple"), Disc(50.0))


def glue_up(name: str, *loads: float, action: Action = Action.PRY, outcome: Outcome = Outcome.BROKE) -> list[Pull]:
    return [
        Pull(
            batch=name,
            specimen=str(number),
            tested_on="2026-03-01",
            joint=MAPLE,
            action=action,
            loading=Loading(load=load, arm_mm=300.0),
            outcome=outcome,
            broke=Break(),
            conditions=Conditions(),
        )
        for number, load in enumerate(loads, start=1)
    ]


OWN = [*glue_up("A", 150.0, 160.0, 170.0), *glue_up("B", 155.0, 165.0)]
THEIRS = [*glue_up("X", 250.0, 260.0, 270.0), *glue_up("Y", 255.0, 265.0, 275.0)]


def codes(pulls: list[Pull], foreign: set[str]) -> dict[FindingCode, Severity]:
    return {found.code: found.severity for found in sharing_of(pulls, foreign_batches=foreign).findings}


def test_without_other_shops_nothing_is_left_out_and_nothing_told():
    sharing = sharing_of(OWN, foreign_batches=())
    assert (sharing.left_out, sharing.foreign, sharing.findings) == (frozenset(), (), ())


def test_other_shops_are_left_out_once_the_shops_own_are_enough():
    sharing = sharing_of([*OWN, *THEIRS], foreign_batches={"X", "Y"})
    assert (sharing.left_out, sharing.foreign) == ({"X", "Y"}, ())
    assert codes([*OWN, *THEIRS], {"X", "Y"}) == {FindingCode.OTHERS_LEFT_OUT: Severity.NOTE}


def test_until_then_they_count_and_are_named():
    sharing = sharing_of([*OWN[:4], *THEIRS], foreign_batches={"X", "Y"})
    assert (sharing.left_out, sharing.foreign) == (frozenset(), ("X", "Y"))


@pytest.mark.parametrize(
    ("own", "enough"),
    [
        (OWN, True),
        (OWN[:4], False),
        (glue_up("A", 1.0, 2.0, 3.0, 4.0, 5.0), False),
        ([*OWN[:4], *glue_up("B", 5.0, action=Action.TWIST)], False),
        ([*OWN[:4], replace(OWN[4], excluded_because="odd")], False),
        ([replace(pull, action=Action.PULL) for pull in OWN], True),
    ],
)
def test_enough_is_five_usable_in_two_glue_ups_of_one_action_in_tension(own, enough):
    assert own_suffice([*own, *THEIRS], {"X", "Y"}) is enough


def test_a_glue_up_whose_readings_are_all_anothers_is_a_copy_whatever_its_names_and_dates():
    copy = [replace(pull, batch="mine", specimen=f"m{n}", tested_on="2026-09-09") for n, pull in enumerate(THEIRS[:3])]
    assert copies_among([*THEIRS, *copy]) == {"mine": "X"}
    assert copies_among([*THEIRS, replace(copy[0], excluded_because="odd"), *copy[1:]]) == {"mine": "X"}


@pytest.mark.parametrize(
    "other",
    [
        glue_up("mine", 250.0, 260.0),
        glue_up("mine", 250.0, 250.0, 250.0),
        glue_up("mine", 250.0, 260.0, 271.0),
        glue_up("mine", 250.0, 260.0, 270.0, 280.0),
        glue_up("mine", 250.0, 260.0, 270.0, outcome=Outcome.HELD),
        glue_up("mine", 250.0, 260.0, 270.0, action=Action.PULL),
    ],
)
def test_a_few_equal_readings_make_no_copy(other):
    assert copies_among([*THEIRS, *other]) == {}


def test_a_copy_of_another_shops_counts_as_that_shops_whichever_came_in_first():
    mine = [replace(pull, batch="mine") for pull in THEIRS[:3]]
    for pulls in ([*THEIRS, *mine], [*mine, *THEIRS]):
        assert passed_off_among(copies_among(pulls), {"X", "Y"}) == {"mine": "X"}
        sharing = sharing_of([*pulls, *OWN[:3]], foreign_batches={"X", "Y"})
        assert set(sharing.foreign) == {"X", "Y", "mine"}
        assert "mine reads as X" in sharing.findings[0].text


def test_a_copy_of_the_shops_own_glue_up_is_told():
    again = [replace(pull, batch="C") for pull in OWN[:3]]
    assert codes([*OWN, *again], set()) == {FindingCode.BATCHES_COPIED: Severity.WARNING}
