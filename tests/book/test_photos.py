"""Photos of pulls and mounts come back byte for byte, and a changed one shows."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing

import pytest

from jointlab.book.book import Book
from jointlab.book.stored import PaperKind
from jointlab.errors import UnknownEntryError
from jointlab.record.photo import Photo

BREAK = Photo(b"\xff\xd8 a break \xff\xd9", 40, 30)
BLOCK = Photo(b"\xff\xd8 a block \xff\xd9", 80, 60)


def test_photos_come_back_byte_for_byte_several_of_a_pull_or_mount(any_book, pull_of_cells):
    pull = any_book.record(pull_of_cells())
    any_book.keep_paper(PaperKind.MOUNT, {"schema": 1}, key="Bowl")
    first = any_book.keep_photo(BREAK, pull_id=pull.id, caption="the clean side", by="Kim")
    any_book.keep_photo(BLOCK, pull_id=pull.id)
    mounted = any_book.keep_photo(BLOCK, mount="bowl")
    assert (first.id, first.pull_id, first.mount, first.caption, first.by) == (
        1,
        pull.id,
        None,
        "the clean side",
        "Kim",
    )
    assert (first.width_px, first.height_px, first.sha256) == (40, 30, hashlib.sha256(BREAK.jpeg).hexdigest())
    assert any_book.photo_bytes(1) == BREAK.jpeg
    assert [photo.id for photo in any_book.photos(pull_id=pull.id)] == [1, 2]
    assert any_book.photos(mount="BOWL") == (mounted,)
    assert len(any_book.photos()) == 3
    assert any_book.check().sound


def test_a_photo_belongs_to_something_that_is_in_the_book(any_book, pull_of_cells):
    with pytest.raises(UnknownEntryError):
        any_book.keep_photo(BREAK, pull_id=7)
    with pytest.raises(UnknownEntryError):
        any_book.keep_photo(BREAK, mount="bowl")
    pull = any_book.record(pull_of_cells())
    for both in ({}, {"pull_id": pull.id, "mount": "bowl"}):
        with pytest.raises(ValueError, match="a pull or a mount"):
            any_book.keep_photo(BREAK, **both)
    with pytest.raises(UnknownEntryError):
        any_book.photo_bytes(1)
    assert any_book.photos() == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE photos SET picture = x'ffd8' WHERE position = 1", "photo 1 is not what was stored: its bytes changed"),
        ("UPDATE photos SET caption = 'other' WHERE position = 1", "photo 1 is not what was stored: its digest"),
        ("DELETE FROM photos WHERE position = 2", "the chain of photos counts 2 revisions, 1 are there"),
    ],
)
def test_tampering_with_a_photo_shows(book, place, pull_of_cells, change, said):
    pull = book.record(pull_of_cells())
    book.keep_photo(BREAK, pull_id=pull.id)
    book.keep_photo(BLOCK, pull_id=pull.id)
    with closing(sqlite3.connect(place)) as connection, connection:
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            connection.execute(change)
        for trigger in ("photos_are_not_changed", "photos_are_not_deleted"):
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute(change)
    with Book.open(place) as again:
        assert any(said in damage for damage in again.check().damages)
