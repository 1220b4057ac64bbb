"""Damage shows."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from jointlab.book.book import Book
from jointlab.book.schema import CURRENT_SCHEMA
from jointlab.errors import BookError

TRIGGERS = ("revisions_are_not_changed", "revisions_are_not_deleted", "revisions_are_not_replaced")


@pytest.fixture
def filled(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n)) for n in range(1, 6)])
        book.correct(2, pull_of_cells(specimen="2", load_n="1400"), reason="misread")
    return place


def _behind_its_back(place: str, *changes: str) -> None:
    with closing(sqlite3.connect(place)) as connection, connection:
        for trigger in TRIGGERS:
            connection.execute(f"DROP TRIGGER {trigger}")
        for change in changes:
            connection.execute(change)


def _damages(place: str) -> tuple[str, ...]:
    with Book.open(place) as book:
        return book.check().damages


def test_a_sound_book_says_how_much_is_in_it_and_its_last_digest(filled):
    with Book.open(filled) as book:
        report = book.check()
        assert (report.sound, report.schema, report.pulls, report.revisions) == (True, CURRENT_SCHEMA, 5, 6)
        assert report.head == book.history(2)[-1].digest
        assert report.remarks == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE pull_revisions SET load_n = 9000 WHERE position = 3", "revision 1 of pull 3 is not what was stored"),
        ("UPDATE pull_revisions SET reason = 'better' WHERE position = 6", "revision 2 of pull 2 is not what"),
        ("UPDATE pull_revisions SET recorded_by = 'Kim' WHERE position = 1", "revision 1 of pull 1 is not what"),
        ("UPDATE pull_revisions SET notes = 'x' WHERE position = 5", "revision 1 of pull 5 is not what"),
        ("DELETE FROM pull_revisions WHERE position = 4", "1 revision(s) are missing before revision 1 of pull 5"),
        ("DELETE FROM pull_revisions WHERE position = 6", "the ledger counts 6 revisions, 5 are there"),
        ("UPDATE ledger SET length = 7", "the ledger counts 7 revisions, 6 are there"),
        ("UPDATE pulls SET revision = 1 WHERE id = 2", "pull 2 stands at revision 1, but has 2, the newest 2"),
    ],
)
def test_each_kind_of_tampering_shows(filled, change, said):
    _behind_its_back(filled, change)
    assert any(said in damage for damage in _damages(filled)), _damages(filled)


def test_a_changed_revision_with_a_digest_made_to_fit_breaks_the_chain_after_it(filled):
    from jointlab.book.chain import digest_of

    with closing(sqlite3.connect(filled)) as connection:
        connection.row_factory = sqlite3.Row
        rows = [dict(row) for row in connection.execute("SELECT * FROM pull_revisions ORDER BY position")]
    forged = digest_of({**rows[2], "load_n": 9000.0}, before=rows[1]["digest"])
    _behind_its_back(filled, f"UPDATE pull_revisions SET load_n = 9000, digest = '{forged}' WHERE position = 3")
    assert _damages(filled) == ("revision 1 of pull 4 is not what was stored: its digest does not fit",)


def test_a_broken_reference_shows(filled):
    _behind_its_back(
        filled, "PRAGMA foreign_keys = OFF", "DROP TRIGGER pulls_are_not_deleted", "DELETE FROM pulls WHERE id = 5"
    )
    assert any("refers to a row of pulls that is not there" in damage for damage in _damages(filled))


def test_many_damages_of_a_kind_are_counted(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n)) for n in range(30)])
    _behind_its_back(place, "UPDATE pull_revisions SET load_n = 1")
    damages = _damages(place)
    assert len(damages) == 21
    assert damages[-1] == "and 10 more of the kind"


def test_a_page_written_over_shows_and_the_rest_can_still_be_looked_at(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n), notes="x" * 1000) for n in range(200)])
    path = Path(place)
    content = bytearray(path.read_bytes())
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 4096] = b"\xff" * 4096
    path.write_bytes(content)
    with Book.open(place) as book:
        report = book.check()
    assert not report.sound
    assert any(damage.startswith("file:") or "malformed" in damage for damage in report.damages), report.damages


def test_a_page_written_over_anywhere_is_told(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n), notes="x" * 300) for n in range(60)])
    path = Path(place)
    whole = path.read_bytes()
    told = 0
    for page in range(0, len(whole) // 4096, 3):
        content = bytearray(whole)
        content[page * 4096 : (page + 1) * 4096] = b"\xff" * 4096
        path.write_bytes(content)
        try:
            with Book.open(place) as book:
                told += not book.check().sound
        except BookError as refused:
            told += any(words in str(refused) for words in ("is damaged", "is not a shop book"))
        for beside in ("-wal", "-shm"):
            path.with_name(f"{path.name}{beside}").unlink(missing_ok=True)
    assert told == len(range(0, len(whole) // 4096, 3)) > 8


def test_a_clock_set_back_is_remarked_and_loses_nothing(place, pull_of_cells):
    moments = iter([datetime(2026, 3, 14, tzinfo=UTC), datetime(2026, 3, 14, tzinfo=UTC) - timedelta(days=400)])
    with Book.open(place, clock=lambda: next(moments)) as book:
        book.record(pull_of_cells())
        book.record(pull_of_cells(specimen="2"))
        report = book.check()
        assert report.sound
        assert [stored.id for stored in book.pulls()] == [1, 2]
    assert len(report.remarks) == 1
    assert "the clock was set back" in report.remarks[0]
