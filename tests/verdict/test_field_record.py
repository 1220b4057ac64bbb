"""What became of a mount: what voids its verdict, and what a proof of it is worth afterwards."""

from __future__ import annotations

from dataclasses import replace

import pytest

from jointlab.mount.setup import CatchClass
from jointlab.verdict.field_record import (
    End,
    Ended,
    Event,
    FieldRecord,
    Inspection,
    Phase,
    Predicted,
    Proofed,
    Removal,
)
from jointlab.verdict.values import Outcome

PASSED = Predicted(Outcome.PASS, "pass: margin met", 2.1, 1.5, 2070.0, CatchClass.SEVERE, 1e-4)
RECORD = FieldRecord("bowl", "white glue on maple", PASSED, "2026-03-01T10:00:00")
PROOF = Proofed("2026-03-01T11:00:00", 1.6, 500.0, 100.0, 120.0, 4, held=True)
ROUGHED = Event("2026-03-01T12:00:00", Phase.ROUGHING, 0.5, 600.0)


def test_hours_speeds_phases_and_catches_add_up():
    shaped = replace(ROUGHED, phase=Phase.SHAPING, top_rpm=900.0, hours=1.0, catches=((CatchClass.FIRM, 2),))
    record = replace(RECORD, events=(ROUGHED, shaped, replace(ROUGHED, top_rpm=None)))
    assert (record.hours, record.top_rpm) == (2.0, 900.0)
    assert record.phases == (Phase.ROUGHING, Phase.SHAPING)
    assert (record.catches(CatchClass.FIRM), record.catches(CatchClass.LIGHT)) == (2, 0)
    assert RECORD.top_rpm is None


@pytest.mark.parametrize(
    ("event", "why"),
    [
        (replace(ROUGHED, catches=((CatchClass.LIGHT, 1),)), "catches: 1 light"),
        (replace(ROUGHED, inspection=Inspection.CHANGED), "the joint looked changed"),
        (replace(ROUGHED, phase=Phase.REMOUNTING), "it was mounted anew"),
        (replace(ROUGHED, inspection=Inspection.SOUND), None),
        (replace(ROUGHED, catches=((CatchClass.LIGHT, 0),)), None),
    ],
)
def test_any_catch_change_or_remounting_voids_the_verdict_and_the_proof(event, why):
    record = replace(RECORD, proofs=(PROOF,), events=(event,))
    assert record.void_because == why
    assert record.proofed == (1.6 if why is None else None)


def test_turning_faster_than_was_decided_voids_the_verdict_but_no_proof():
    record = replace(RECORD, proofs=(PROOF,), events=(ROUGHED, replace(ROUGHED, top_rpm=620.0)), speed_rpm=600.0)
    assert record.void_because == "turned at 620 rpm, decided for up to 600"
    assert record.proofed == 1.6
    assert replace(record, events=(ROUGHED,)).void_because is None
    assert replace(record, decided_at="2026-03-02T09:00:00").void_because is None


def test_a_verdict_made_anew_afterwards_stands_but_an_older_proof_does_not():
    caught = replace(ROUGHED, catches=((CatchClass.SEVERE, 1),))
    record = replace(RECORD, decided_at="2026-03-02T09:00:00", proofs=(PROOF,), events=(caught,))
    assert record.void_because is None
    assert record.proofed is None
    again = replace(record, proofs=(PROOF, replace(PROOF, at="2026-03-02T10:00:00", factor=1.5)))
    assert again.proofed == 1.5


def test_a_proof_counts_when_it_held_in_four_directions_and_one_that_failed_spoils_all():
    assert replace(RECORD, proofs=(replace(PROOF, directions=3),)).proofed is None
    failed = replace(RECORD, proofs=(PROOF, replace(PROOF, held=False, factor=2.0)))
    assert failed.proofed is None
    assert failed.void_because == "its proof failed"


def test_how_it_ended_is_kept_apart_from_what_was_said():
    ended = replace(RECORD, ended=Ended("2026-03-03T10:00:00", End.LET_GO, Removal.BY_ITSELF))
    assert ended.predicted.verdict is Outcome.PASS
    assert ended.ended is not None
    assert ended.ended.end is End.LET_GO
