"""Rigs are kept with every state they were in."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from jointlab.errors import InputError, UnknownEntryError
from jointlab.record.rig import Rig, RigCheck, RigKind

SCALE = Rig("Luggage scale", RigKind.SCALE_IN_LINE, capacity=490.3, resolution=0.1, class_pct=0.5, notes="blue\nhook")
LEVER = Rig("Beam", RigKind.LEVER, ratio=5.0, tare=12.5, zero=-0.25, step=10.0)
CHECKED = replace(SCALE, checks=(RigCheck("2026-03-01", 98.0665, 98.2), RigCheck("2026-04-01", 98.0665, 0.1)))


def test_a_rig_comes_back_as_it_was_kept(any_book):
    for rig in (LEVER, CHECKED):
        assert any_book.keep_rig(rig).revision == 1
    assert [stored.rig for stored in any_book.rigs()] == [LEVER, CHECKED]
    assert any_book.rig("  luggage SCALE").rig == CHECKED
    assert any_book.check().sound


def test_a_change_is_a_new_state_with_a_reason_beside_the_old(any_book):
    any_book.keep_rig(SCALE, by="Kim")
    with pytest.raises(InputError, match="say why"):
        any_book.keep_rig(CHECKED)
    assert any_book.keep_rig(CHECKED, reason="checked with a 10 kg mass").revision == 2
    assert [stored.rig for stored in any_book.rigs()] == [CHECKED]
    first, second = any_book.rig_history("luggage scale")
    assert (first.rig, first.by, first.reason) == (SCALE, "Kim", None)
    assert (second.rig, second.reason) == (CHECKED, "checked with a 10 kg mass")
    with pytest.raises(InputError, match="nothing to change"):
        any_book.keep_rig(CHECKED, reason="again")


def test_an_unknown_rig_is_told_with_the_nearest_names(any_book):
    any_book.keep_rig(SCALE)
    for ask in (any_book.rig, any_book.rig_history):
        with pytest.raises(UnknownEntryError, match=r"no rig lugage scale .*Nearest: Luggage scale"):
            ask("lugage scale")


def test_limits_of_rigs_are_held_by_the_database(any_book):
    with pytest.raises(InputError, match="limit_ratio"):
        any_book.keep_rig(replace(LEVER, ratio=-1.0))
    assert any_book.rigs() == ()
    any_book.keep_rig(LEVER)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE rig_revisions SET ratio = 4", "never changed"),
        ("DELETE FROM rig_revisions", "never deleted"),
        ("DELETE FROM chains", "never deleted"),
        ("INSERT OR REPLACE INTO rig_revisions SELECT * FROM rig_revisions", "never replaced"),
    ],
)
def test_states_of_rigs_cannot_be_changed_behind_the_book(book, place, change, said):
    book.keep_rig(LEVER)
    with closing(sqlite3.connect(place)) as connection, pytest.raises(sqlite3.IntegrityError, match=said):
        connection.execute(change)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE rig_revisions SET ratio = 4 WHERE position = 1", "revision 1 of the rig Beam is not what was stored"),
        ("DELETE FROM rig_revisions WHERE position = 1", "1 revision(s) of rigs are missing"),
        ("DELETE FROM rig_revisions WHERE position = 2", "the chain of rigs counts 2 revisions, 1 are there"),
    ],
)
def test_tampering_with_a_rig_shows(book, place, change, said):
    book.keep_rig(LEVER)
    book.keep_rig(SCALE)
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("DROP TRIGGER rig_revisions_are_not_changed")
        connection.execute("DROP TRIGGER rig_revisions_are_not_deleted")
        connection.execute(change)
    assert any(said in damage for damage in book.check().damages), book.check().damages
