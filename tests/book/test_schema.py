"""The tables, their limits, and the migrations that make them."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import create_engine, insert
from sqlalchemy.exc import IntegrityError

from jointlab.book.cells import cells_of
from jointlab.book.migrations.versions import r0001_first_book as first
from jointlab.book.migrations.versions import r0002_rigs as second
from jointlab.book.schema import APPLICATION_ID, METADATA, PULL_REVISIONS, PULLS, check_text
from jointlab.book.schema_beside import EVERY_TABLE
from jointlab.record.limits import limits_in
from jointlab.record.rig_row import RIG_REQUIRED, RigRow
from jointlab.record.row import COLUMNS, REQUIRED, PullRow, limits_of, words_of


def _statements(path: str) -> dict[str, str]:
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND type <> 'trigger'")
        return {name: re.sub(r"\s+", " ", sql) for name, sql in rows if name != "alembic_version"}


def test_the_migrations_make_exactly_the_tables_in_use(book, place, tmp_path):
    engine = create_engine(f"sqlite:///{tmp_path / 'plain.db'}")
    METADATA.create_all(engine, tables=EVERY_TABLE)
    engine.dispose()
    assert _statements(place) == _statements(str(tmp_path / "plain.db"))


@pytest.mark.parametrize(
    ("frozen", "model", "required"),
    [(first.CONTRACT, PullRow, REQUIRED), (second.CONTRACT, RigRow, RIG_REQUIRED)],
    ids=["pulls", "rigs"],
)
def test_the_frozen_limits_are_the_limits_of_the_row(frozen, model, required):
    assert [column for column, _, _, _ in frozen] == list(model.model_fields)
    for column, kind, needed, limit in frozen:
        assert kind == ("number" if limits_in(model, column) else "text"), column
        assert needed == (column in required), column
        assert limit == check_text(column, model=model), column


def test_a_book_is_marked_as_one(book, place):
    with closing(sqlite3.connect(place)) as connection:
        assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)


def _beyond(column: str) -> list[object]:
    beyond: list[object] = []
    for word, limit in limits_of(column).items():
        beyond.append({"gt": limit, "ge": limit - 1e-6, "lt": limit, "le": limit * (1 + 1e-9) + 1e-9}[word])
    if words_of(column):
        beyond.append("nonsense")
    if not beyond and check_text(column):
        beyond.append("x" * 4001)
    return beyond


CASES = [(column, value) for column in COLUMNS for value in _beyond(column)]


@pytest.mark.parametrize(("column", "value"), CASES, ids=[f"{column}={value!s:.12}" for column, value in CASES])
def test_each_limit_is_held_by_the_database_too(book, pull_of_cells, column, value):
    cells = {**cells_of(pull_of_cells()), column: value}
    row = {"position": 1, "pull_id": 1, "revision": 1, "recorded_at": "now", "digest": "0" * 64, **cells}
    head = {"id": 1, "batch_key": "g1", "specimen_key": "1", "revision": 1}
    with book._engine.begin() as connection:
        connection.execute(insert(PULLS), [head])
        with pytest.raises(IntegrityError, match=f"limit_{column}"):
            connection.execute(insert(PULL_REVISIONS), [row])


def test_there_are_limits_to_try():
    assert len(CASES) > 70
    assert {column for column, _ in CASES} >= {"load_n", "air_c", "shape", "glue", "notes"}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE pull_revisions SET load_n = 1", "never changed"),
        ("DELETE FROM pull_revisions", "never deleted"),
        ("DELETE FROM pulls", "never deleted"),
        ("DELETE FROM ledger", "never deleted"),
        ("INSERT OR REPLACE INTO pull_revisions SELECT * FROM pull_revisions", "never replaced"),
    ],
)
def test_revisions_cannot_be_changed_behind_the_book(book, place, pull_of_cells, change, said):
    book.record(pull_of_cells())
    with closing(sqlite3.connect(place)) as connection, pytest.raises(sqlite3.IntegrityError, match=said):
        connection.execute(change)
    assert book.check().sound


@pytest.mark.parametrize("column", REQUIRED)
def test_what_the_contract_needs_cannot_be_blank(book, pull_of_cells, column):
    row = {"position": 1, "pull_id": 1, "revision": 1, "recorded_at": "now", "digest": "0" * 64}
    cells = {**cells_of(pull_of_cells()), column: None}
    with book._engine.begin() as connection, pytest.raises(IntegrityError, match=column):
        connection.execute(insert(PULL_REVISIONS), [{**row, **cells}])


def test_a_revision_belongs_to_a_pull(book, pull_of_cells):
    row = {"position": 1, "pull_id": 1, "revision": 1, "recorded_at": "now", "digest": "0" * 64}
    with book._engine.begin() as connection, pytest.raises(IntegrityError, match="FOREIGN KEY"):
        connection.execute(insert(PULL_REVISIONS), [{**row, **cells_of(pull_of_cells())}])
