"""A backup becomes a book again, or is refused for a stated reason."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from jointlab.book.book import Book
from jointlab.book.restore import restore_book
from jointlab.errors import BookError


@pytest.fixture
def backup(book, pull_of_cells, tmp_path):
    book.import_pulls([pull_of_cells(specimen=str(n)) for n in range(20)])
    book.correct(3, pull_of_cells(specimen="2", load_n="2"), reason="misread")
    return book.backup(tmp_path / "copy.db")


def _names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_restored_book_is_the_book_that_was_backed_up(backup, book, tmp_path):
    before = backup.read_bytes()
    (tmp_path / "new").mkdir()
    report = restore_book(backup, tmp_path / "new" / "shop.db")
    assert (report.sound, report.pulls, report.revisions) == (True, 20, 21)
    assert _names(tmp_path / "new") == ["shop.db"]
    with Book.open(tmp_path / "new" / "shop.db") as other:
        assert other.pulls() == book.pulls()
        assert other.history(3) == book.history(3)
        assert other.check() == book.check() == report
    assert backup.read_bytes() == before


@pytest.mark.parametrize("taken", ["", "-wal"])
def test_restoring_overwrites_nothing(backup, tmp_path, taken):
    (tmp_path / "new").mkdir()
    precious = tmp_path / "new" / f"shop.db{taken}"
    precious.write_text("keep")
    with pytest.raises(BookError, match=r"exists already; restoring overwrites nothing\. Close"):
        restore_book(backup, tmp_path / "new" / "shop.db")
    assert precious.read_text() == "keep"
    assert _names(tmp_path / "new") == [precious.name]


def _changed(path, *statements):
    with closing(sqlite3.connect(path)) as connection, connection:
        for statement in statements:
            connection.execute(statement)


def _cut(path):
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2 // 4096 * 4096])


def _forged(path):
    _changed(
        path, "DROP TRIGGER revisions_are_not_changed", "UPDATE pull_revisions SET load_n = 9000 WHERE position = 4"
    )


def _newer(path):
    _changed(path, "UPDATE alembic_version SET version_num = '9000'")


def _letter(path):
    path.write_text("Dear shop,\n" * 1000)


def _empty(path):
    path.write_bytes(b"")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_cut, "damaged|malformed|could not be restored"),
        (_forged, "is damaged and was not restored .*its digest does not fit"),
        (_newer, "newer jointlab"),
        (_letter, "not a database"),
        (_empty, "is empty"),
    ],
)
def test_a_backup_that_is_not_whole_is_refused_and_leaves_nothing_behind(backup, tmp_path, spoil, said):
    spoil(backup)
    before = backup.read_bytes()
    (tmp_path / "new").mkdir()
    with pytest.raises(BookError, match=said):
        restore_book(backup, tmp_path / "new" / "shop.db")
    assert _names(tmp_path / "new") == []
    assert backup.read_bytes() == before


def test_a_missing_backup_and_a_place_that_is_no_file_are_told(backup, tmp_path):
    with pytest.raises(BookError, match="There is no backup"):
        restore_book(tmp_path / "nowhere.db", tmp_path / "shop2.db")
    with pytest.raises(BookError, match="is neither"):
        restore_book(backup, "sqlite://")
    with pytest.raises(BookError, match="does not answer"):
        restore_book(backup, "postgresql://127.0.0.1:1/shop")
