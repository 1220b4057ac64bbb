"""A backup is whole, and overwrites nothing."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing

import pytest

from jointlab.book.book import Book
from jointlab.errors import BookError


def test_a_backup_opens_as_the_same_book(book, pull_of_cells, tmp_path):
    book.record(pull_of_cells())
    book.correct(1, pull_of_cells(load_n="2"), reason="misread")
    copy = book.backup(tmp_path / "copy.db")
    with Book.open(copy) as other:
        assert other.pulls() == book.pulls()
        assert other.history(1) == book.history(1)
        assert other.check() == book.check()


def test_a_backup_is_one_file_that_needs_no_log_beside_it(book, pull_of_cells, tmp_path):
    book.record(pull_of_cells())
    folder = tmp_path / "stick"
    folder.mkdir()
    book.backup(folder / "copy.db")
    assert [file.name for file in folder.iterdir()] == ["copy.db"]
    with closing(sqlite3.connect(f"{(folder / 'copy.db').as_uri()}?immutable=1", uri=True)) as connection:
        assert connection.execute("SELECT count(*) FROM pull_revisions").fetchone() == (1,)


def test_a_backup_overwrites_nothing(book, tmp_path):
    precious = tmp_path / "precious.txt"
    precious.write_text("keep")
    with pytest.raises(BookError, match="overwrites nothing"):
        book.backup(precious)
    assert precious.read_text() == "keep"


def test_a_backup_that_cannot_be_written_leaves_nothing_behind(book, tmp_path):
    with pytest.raises(BookError, match="could not be written"):
        book.backup(tmp_path / "nowhere" / "copy.db")
    assert not (tmp_path / "nowhere").exists()


def test_a_backup_taken_while_others_write_is_one_moment_of_the_book(place, pull_of_cells, tmp_path):
    stop = threading.Event()

    def write() -> None:
        with Book.open(place) as writer:
            for batch in range(400):
                writer.import_pulls([pull_of_cells(batch=str(batch), specimen=str(n)) for n in range(3)])
                if stop.is_set():
                    return

    with Book.open(place) as book:
        thread = threading.Thread(target=write)
        thread.start()
        copies = [book.backup(tmp_path / f"copy{number}.db") for number in range(5)]
        stop.set()
        thread.join()
    sizes = []
    for copy in copies:
        with Book.open(copy) as other:
            report = other.check()
            assert report.sound
            sizes.append(report.pulls)
    assert all(size % 3 == 0 for size in sizes)  # each import whole or absent
    assert sizes == sorted(sizes)
