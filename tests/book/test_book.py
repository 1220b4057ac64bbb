"""The shop book as its users meet it."""

from __future__ import annotations

import hashlib
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from jointlab.book.book import Book
from jointlab.book.stored import PullSelection
from jointlab.errors import BookError, InputError, UnknownEntryError


def _tell_version(path: Path, version: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (version,))


def _bytes_around(path: Path) -> dict[str, str]:
    return {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in path.parent.iterdir()}


def test_a_new_path_becomes_an_empty_book(place):
    with Book.open(place) as book:
        assert book.pulls() == ()
        assert book.combinations() == ()
        assert book.check().sound


def test_what_was_recorded_is_there_after_closing_and_opening(place, pull_of_cells):
    with Book.open(place) as book:
        stored = book.record(pull_of_cells())
    with Book.open(place) as book:
        assert book.pulls() == (stored,)
        assert book.pulls()[0].pull.entered == (("load_n", "1500"),)


def test_a_url_names_the_same_book_as_its_path(place, pull_of_cells):
    with Book.open(place) as book:
        book.record(pull_of_cells())
    with Book.open(f"sqlite:///{place}") as book:
        assert len(book.pulls()) == 1


def test_a_book_in_memory_serves_for_a_try_and_can_be_kept_as_a_file(pull_of_cells, tmp_path):
    with Book.open("sqlite://") as book:
        book.record(pull_of_cells())
        assert len(book.pulls()) == 1
        kept = book.backup(tmp_path / "kept.db")
        with Book.open(kept) as other:
            assert other.pulls() == book.pulls()


def test_the_file_is_durable_and_enforces_references(book):
    with book._engine.connect() as connection:
        settings = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    assert settings == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 10_000}


def test_the_moment_in_the_history_is_utc(place, pull_of_cells):
    noon = datetime(2026, 3, 14, 12, 0, tzinfo=timezone(timedelta(hours=2)))
    with Book.open(place, clock=lambda: noon) as book:
        book.record(pull_of_cells())
        assert book.history(1)[0].recorded_at == noon.astimezone(UTC).isoformat(timespec="microseconds")


def test_a_book_of_a_newer_jointlab_is_refused_byte_for_byte_untouched(place, pull_of_cells):
    with Book.open(place) as book:
        book.record(pull_of_cells())
    _tell_version(Path(place), "9000")
    before = _bytes_around(Path(place))
    with pytest.raises(BookError, match=r"newer jointlab \(schema 9000") as refused:
        Book.open(place)
    assert refused.value.exit_code == 3
    assert _bytes_around(Path(place)) == before


def test_another_database_is_refused_untouched(tmp_path):
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE guests (name TEXT)")
    before = _bytes_around(path)
    with pytest.raises(BookError, match="holds other tables"):
        Book.open(path)
    assert _bytes_around(path) == before


def test_another_kind_of_file_is_refused_untouched(tmp_path):
    path = tmp_path / "letter.txt"
    path.write_text("Dear shop,\n" * 100)
    before = _bytes_around(path)
    with pytest.raises(BookError, match="not a shop book"):
        Book.open(path)
    assert _bytes_around(path) == before


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(BookError, match=r"folder .* does not exist") as refused:
        Book.open(tmp_path / "nowhere" / "shop.db")
    assert "nowhere" in str(refused.value)


def test_a_folder_is_no_book(tmp_path):
    with pytest.raises(BookError, match="is a folder"):
        Book.open(tmp_path)


def test_an_unknown_number_is_an_unknown_entry(book, pull_of_cells):
    for asked in (lambda: book.pull(7), lambda: book.history(7), lambda: book.exclude(7, cause="x")):
        with pytest.raises(UnknownEntryError, match="no pull 7"):
            asked()
    with pytest.raises(UnknownEntryError, match="no pull 7"):
        book.correct(7, pull_of_cells(), reason="x")


def test_a_locked_book_says_so_and_nothing_is_lost(place, pull_of_cells, monkeypatch):
    monkeypatch.setattr("jointlab.book.engine.BUSY_TIMEOUT_MS", 50)
    with Book.open(place) as book, closing(sqlite3.connect(place, isolation_level=None)) as other:
        book.record(pull_of_cells())
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookError, match="try again"):
            book.record(pull_of_cells(specimen="2"))
        assert len(book.pulls()) == 1
        other.execute("ROLLBACK")
        assert book.record(pull_of_cells(specimen="2")).id == 2


_WATCHED = """
import sys
from jointlab.book.book import Book
from jointlab.record.row import checked_row, pull_of
cells = {"batch": "G9", "specimen": sys.argv[2], "tested_on": "2026-03-14", "glue": "g", "substrate": "s",
         "action": "pull", "shape": "disc", "diameter_mm": "50", "load_n": "9", "outcome": "broke"}
with Book.open(sys.argv[1]) as book:
    book.record(pull_of(checked_row(cells)))
heavy = ("alembic", "scipy", "pandas", "statsmodels", "matplotlib", "seaborn", "numpy", "pint", "PIL",
         "jointlab.book.schema_beside", "jointlab.book.importing", "jointlab.record.rig_row", "jointlab.record.photo")
print(",".join(name for name in heavy if name in sys.modules))
"""


def _modules_loaded(place: str, specimen: str) -> str:
    run = subprocess.run(
        [sys.executable, "-c", _WATCHED, place, specimen], capture_output=True, text=True, check=True, timeout=60
    )
    return run.stdout.strip()


def test_alembic_is_loaded_only_for_a_book_that_is_not_up_to_date(place):
    assert _modules_loaded(place, "1") == "alembic"
    assert _modules_loaded(place, "2") == ""


def test_pulls_are_selected_by_names_without_case(book, pull_of_cells):
    book.record(pull_of_cells())
    book.record(pull_of_cells(specimen="2", glue="HIDE  glue", preparation="Sanded"))
    book.record(pull_of_cells(specimen="3", action="shear", batch="g2"))
    chosen = {
        "glue": PullSelection(glue="hide glue"),
        "substrate": PullSelection(substrate="mdf"),
        "sanded": PullSelection(preparation="sanded"),
        "none given": PullSelection(preparation=""),
        "action": PullSelection(action=book.pull(3).pull.action),
        "batch": PullSelection(batch="G2"),
        "ids": PullSelection(ids=(3, 1, 99)),
        "no ids": PullSelection(ids=()),
    }
    found = {name: [stored.id for stored in book.pulls(selection)] for name, selection in chosen.items()}
    assert found == {
        "glue": [2],
        "substrate": [1, 2, 3],
        "sanded": [2],
        "none given": [1, 3],
        "action": [3],
        "batch": [3],
        "ids": [1, 3],
        "no ids": [],
    }


def test_what_is_no_text_is_refused_by_the_book_itself(book, pull_of_cells):
    book.record(pull_of_cells())
    with pytest.raises(InputError, match="is no text"):
        book.pulls(PullSelection(glue="\udcff"))
    with pytest.raises(InputError, match="larger than any book counts to"):
        book.pulls(PullSelection(ids=(10**30,)))
