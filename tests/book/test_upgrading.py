"""Books of earlier schemas, and steps that fail."""

from __future__ import annotations

import runpy
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from jointlab.book import upgrading
from jointlab.book.book import Book
from jointlab.book.stored import PaperKind
from jointlab.errors import BookError

NEXT_STEP = """
from alembic import op
import sqlalchemy as sa

revision = "9001"
down_revision = "{down}"
branch_labels = None
depends_on = None


def upgrade():
    op.add_column("pull_revisions", sa.Column("weather", sa.Text))
    {more}
"""

FAILS = 'op.execute("UPDATE no_such_table SET a = 1")'
BREAKS_A_REFERENCE = 'op.execute("DROP TRIGGER pulls_are_not_deleted"); op.execute("DELETE FROM pulls WHERE id = 1")'


@pytest.fixture
def next_step(tmp_path, monkeypatch):
    """A version of jointlab that knows one step more, doing this besides."""

    def install(more: str) -> None:
        folder = tmp_path / "migrations"
        shutil.copytree(upgrading.MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
        known = upgrading.KNOWN_SCHEMAS
        (folder / "versions" / "r9001_next.py").write_text(NEXT_STEP.format(down=known[-1], more=more))
        monkeypatch.setattr(upgrading, "MIGRATIONS", folder)
        monkeypatch.setattr(upgrading, "KNOWN_SCHEMAS", (*known, "9001"))
        monkeypatch.setattr("jointlab.book.opening.CURRENT_SCHEMA", "9001")

    return install


@pytest.fixture
def filled(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n)) for n in range(10)])
        book.exclude(4, cause="slipped")
    return Path(place)


def _version(path: Path) -> str:
    with closing(sqlite3.connect(path)) as connection:
        (version,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return str(version)


def test_an_older_book_is_brought_forward_with_everything_in_it_and_a_copy_beside(filled, next_step):
    with Book.open(filled) as book:
        before, head = book.pulls(), book.check().head
    next_step("pass")
    with Book.open(filled) as book:
        assert book.pulls() == before
        report = book.check()
        assert (report.schema, report.damages, report.head) == ("9001", (), head)
    copy = filled.with_name("shop.before-upgrade-1.db")
    assert (_version(filled), _version(copy)) == ("9001", upgrading.KNOWN_SCHEMAS[-2])


@pytest.mark.parametrize(("more", "said"), [(FAILS, "no_such_table"), (BREAKS_A_REFERENCE, "not there")])
def test_a_step_that_fails_leaves_the_old_book_working_and_a_copy_beside(filled, next_step, monkeypatch, more, said):
    with Book.open(filled) as book:
        before = book.pulls()
    with monkeypatch.context():
        next_step(more)
        with pytest.raises(BookError, match=rf"{said}.*it is as it was") as refused:
            Book.open(filled)
        copy = filled.with_name("shop.before-upgrade-1.db")
        assert str(copy) in str(refused.value)
    monkeypatch.undo()
    for path in (filled, copy):
        with Book.open(path) as book:
            assert book.check().sound
            assert book.pulls() == before
    with Book.open(filled) as book, book._engine.connect() as connection:
        columns = {row[1] for row in connection.exec_driver_sql("PRAGMA table_info(pull_revisions)")}
        assert "weather" not in columns


def test_references_are_enforced_again_after_an_upgrade(filled, next_step):
    next_step("pass")
    with Book.open(filled) as book, book._engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


DATA = Path(__file__).parent / "data"
STORED = sorted(DATA.glob("book_*.db"))


def test_there_is_a_stored_book_of_every_released_schema():
    assert [path.stem.removeprefix("book_") for path in STORED] == list(upgrading.KNOWN_SCHEMAS)


@pytest.mark.parametrize("stored", STORED, ids=lambda path: path.stem)
def test_a_stored_book_of_each_schema_opens_with_everything_in_it(stored, place):
    maker = runpy.run_path(str(DATA / "make_book.py"))
    rows = list(maker["ROWS"])
    shutil.copyfile(stored, place)
    with Book.open(place) as book:
        expected = [maker["_pull"](row) for row in rows]
        corrected = maker["_pull"]({**rows[0], "load_n": "1400"})
        excluded = replace(expected[2], excluded_because="the bar slipped")
        standing = book.pulls()
        assert [kept.pull for kept in standing] == [corrected, expected[1], excluded, *expected[3:]]
        assert [kept.revision for kept in standing] == [2, 1, 2, 1, 1, 1, 1]
        assert standing[0].pull.entered == (("load_lbf", "337.2"),)
        first, second = book.history(1)
        assert (first.pull, first.by, first.recorded_at) == (expected[0], "Kim", "2026-03-15T08:00:00.000000+00:00")
        assert (second.reason, second.by) == ("read the wrong needle", "Kim")
        rigs = [kept.rig for kept in book.rigs()]
        assert rigs == ([] if stored.stem == "book_0001" else [maker["RIG"]])
        old = stored.stem in ("book_0001", "book_0002")
        assert [kept.document for kept in book.papers(PaperKind.PLAN)] == ([] if old else [maker["PAPER"]])
        assert [book.photo_bytes(kept.id) for kept in book.photos()] == ([] if old else [maker["PHOTO"].jpeg])
        report = book.check()
        # the same digest for ever: no later schema may disturb the chain of an earlier one
        assert report.head == "1dbf26a3f0657a4223deb9122a07d1652ad63ddd4359fd911984674b5f06488e"
        assert report.damages == ()
        assert book.import_pulls(expected).skipped == len(expected)


@pytest.mark.parametrize("stored", STORED, ids=lambda path: path.stem)
def test_a_step_that_fails_leaves_a_stored_book_of_each_schema_working_and_a_copy_beside(
    stored, place, next_step, monkeypatch
):
    shutil.copyfile(stored, place)
    schema = _version(stored)
    with monkeypatch.context():
        next_step(FAILS)
        with pytest.raises(BookError, match=r"no_such_table.*it is as it was"):
            Book.open(place)
    monkeypatch.undo()
    copy = Path(place).with_name("shop.before-upgrade-1.db")
    assert _version(copy) == schema
    assert _version(Path(place)) == upgrading.KNOWN_SCHEMAS[-1]  # the steps before it had been made
    _still_whole(place)
    _still_whole(copy)


@pytest.mark.parametrize("stored", STORED[:-1], ids=lambda path: path.stem)
def test_the_very_next_step_failing_at_its_end_leaves_an_older_book_at_its_schema(stored, place, tmp_path, monkeypatch):
    shutil.copyfile(stored, place)
    schema = _version(stored)
    following = upgrading.KNOWN_SCHEMAS[upgrading.KNOWN_SCHEMAS.index(schema) + 1]
    folder = tmp_path / "migrations"
    shutil.copytree(upgrading.MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (step,) = (folder / "versions").glob(f"*{following}*.py")
    step.write_text(
        step.read_text() + "\n\n_made = upgrade\n\n\ndef upgrade():\n    _made()\n    raise OSError('cut')\n"
    )
    with monkeypatch.context() as broken:
        broken.setattr(upgrading, "MIGRATIONS", folder)
        with pytest.raises(BookError, match=rf"from schema {schema} to {following} \(cut\)"):
            Book.open(place)
    copy = Path(place).with_name("shop.before-upgrade-1.db")
    assert (_version(Path(place)), _version(copy)) == (schema, schema)
    for path in (place, copy):
        with closing(sqlite3.connect(path)) as now, closing(sqlite3.connect(stored)) as before:
            assert list(now.iterdump()) == list(before.iterdump())
        _still_whole(path)


def _still_whole(path) -> None:
    """The jointlab of today opens it, finds everything, and goes on with it."""
    maker = runpy.run_path(str(DATA / "make_book.py"))
    with Book.open(path) as book:
        report = book.check()
        assert (report.damages, report.pulls) == ((), len(maker["ROWS"]))
        assert report.head == "1dbf26a3f0657a4223deb9122a07d1652ad63ddd4359fd911984674b5f06488e"
        assert book.exclude(2, cause="seen again").pull.excluded_because == "seen again"
        assert book.check().sound
