"""A book copied from one engine to the other loses nothing."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import select

from jointlab.app.cli import main
from jointlab.book.book import Book
from jointlab.book.moving import copy_book
from jointlab.book.schema import LEDGER, PULL_REVISIONS
from jointlab.book.schema_beside import CHAINS, PAPERS, PHOTOS, RIG_REVISIONS
from jointlab.book.stored import PaperKind
from jointlab.errors import BookError
from jointlab.record.photo import Photo
from jointlab.record.rig import Rig, RigCheck, RigKind


def _fill(place, pull_of_cells):
    with Book.open(place) as book:
        book.import_pulls([pull_of_cells(specimen=str(n), notes="Öl\nzwei") for n in range(520)])
        book.correct(7, pull_of_cells(specimen="6", load_n="0.1"), reason="misread", by="Kim")
        book.exclude(3, cause="slipped")
        book.keep_rig(Rig("Beam", RigKind.LEVER, ratio=5.0, checks=(RigCheck("2026-03-01", 1.0, 1.1),)))
        book.keep_rig(Rig("Beam", RigKind.LEVER, ratio=5.1), reason="measured again")
        book.keep_paper(PaperKind.MOUNT, {"schema": 1, "margin": 2.5}, key="Ash bowl", subject="bowl", by="Kim")
        book.keep_paper(PaperKind.MOUNT, {"schema": 1, "margin": 2.4}, key="Ash bowl", reason="turned down")
        for number in range(12):
            book.keep_photo(Photo(bytes([0xFF, number]) * 500, 4, 3), pull_id=number + 1, caption="Bruch")
        book.keep_photo(Photo(b"a mount", 4, 3), mount="ash bowl")


def _everything(place):
    """All that a book gives back, its chains link by link."""
    with Book.open(place) as book:
        links = []
        with book._engine.connect() as connection:
            for table in (PULL_REVISIONS, RIG_REVISIONS, PAPERS, PHOTOS):
                links += connection.execute(select(table.c.position, table.c.digest).order_by(table.c.position)).all()
            links += connection.execute(select(CHAINS).order_by(CHAINS.c.name)).all()
            links += connection.execute(select(LEDGER)).all()
        papers = (book.papers(PaperKind.MOUNT), book.paper_history(PaperKind.MOUNT, "ash bowl"))
        photos = [(photo, book.photo_bytes(photo.id)) for photo in book.photos()]
        return (
            [tuple(link) for link in links],
            (book.check(), book.pulls(), book.history(7), book.combinations()),
            (book.rigs(), book.rig_history("beam"), papers, photos),
        )


def test_there_and_back_again_everything_is_the_same(tmp_path, any_place, pull_of_cells):
    first, last = tmp_path / "first.db", tmp_path / "last.db"
    _fill(first, pull_of_cells)
    assert copy_book(first, any_place).sound
    assert _everything(any_place) == _everything(first)
    copy_book(any_place, last)
    assert _everything(last) == _everything(first)
    with Book.open(last) as book:
        assert book.record(pull_of_cells(specimen="new")).id == 521
        assert book.check().sound


def test_backup_and_restore_move_a_book_to_the_other_engine_and_back_with_everything(
    tmp_path, any_place, pull_of_cells, capsys
):
    first, out, back = tmp_path / "first.db", tmp_path / "out.db", tmp_path / "back.db"
    _fill(first, pull_of_cells)
    assert main(["backup", str(out), "--book", str(first)]) == 0
    kept = out.read_bytes()
    assert main(["restore", str(out), "--book", any_place]) == 0
    assert "520 pulls" in capsys.readouterr().out
    assert out.read_bytes() == kept
    assert _everything(any_place) == _everything(first)
    assert main(["backup", str(back), "--book", any_place]) == 0
    assert not list(tmp_path.glob("back.db?*"))  # one file, without a log beside it
    assert _everything(back) == _everything(first)
    capsys.readouterr()
    assert main(["restore", str(out), "--book", any_place]) == 3
    assert main(["backup", str(back), "--book", any_place]) == 3
    assert "overwrites nothing" in capsys.readouterr().err


@pytest.mark.postgresql
def test_a_damaged_or_older_backup_is_looked_at_before_a_server_takes_it(
    tmp_path, postgresql_server, pull_of_cells, capsys
):
    first, address = tmp_path / "first.db", postgresql_server.new_database()
    _fill(first, pull_of_cells)
    with closing(sqlite3.connect(first)) as connection, connection:
        connection.execute("DROP TRIGGER papers_are_not_changed")
        connection.execute("UPDATE papers SET document = '{}' WHERE position = 1")
    assert main(["restore", str(first), "--book", address]) == 3
    assert "was not let stand" in capsys.readouterr().err
    older = Path(__file__).parent / "data" / "book_0001.db"
    before = older.read_bytes()
    assert main(["restore", str(older), "--book", address]) == 0
    assert older.read_bytes() == before
    with Book.open(address) as book:
        assert book.check().sound
        assert len(book.pulls()) == 7


def test_a_copy_goes_into_an_empty_book_only(tmp_path, pull_of_cells):
    first, second = tmp_path / "first.db", tmp_path / "second.db"
    _fill(first, pull_of_cells)
    with Book.open(second) as book:
        book.record(pull_of_cells())
    with pytest.raises(BookError, match="has entries already"):
        copy_book(first, second)
    with Book.open(second) as book:
        assert len(book.pulls()) == 1


def test_a_damaged_book_is_not_copied(tmp_path, pull_of_cells):
    first, second = tmp_path / "first.db", tmp_path / "second.db"
    _fill(first, pull_of_cells)
    with closing(sqlite3.connect(first)) as connection, connection:
        connection.execute("DROP TRIGGER revisions_are_not_changed")
        connection.execute("UPDATE pull_revisions SET load_n = 1 WHERE position = 8")
    with pytest.raises(BookError, match="was not let stand"):
        copy_book(first, second)
    with Book.open(second) as book:
        assert book.pulls() == ()
