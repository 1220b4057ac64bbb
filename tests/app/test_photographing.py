"""Photos of pulls by command: cleaned, several of one pull, nothing stored beside a file that is none."""

import io

import pytest
from PIL import Image

from jointlab.app.cli import main
from jointlab.book.book import Book

PULL = [
    "record", "--batch", "A", "--specimen", "1", "--tested_on", "2026-03-14", "--glue", "white glue",
    "--substrate", "maple", "--action", "pull", "--shape", "disc", "--diameter_mm", "25", "--load_n", "900",
    "--outcome", "broke",
]  # fmt: skip


@pytest.fixture
def pictures(tmp_path):
    paths = []
    for number, colour in enumerate(("red", "blue")):
        tags = Image.Exif()
        tags[0x010F] = "ACAMERA"
        tags[0x0112] = 6
        out = io.BytesIO()
        Image.new("RGB", (40, 20), colour).save(out, format="JPEG", exif=tags)
        paths.append(tmp_path / f"{number}.jpg")
        paths[-1].write_bytes(out.getvalue())
    return paths


def test_photos_recorded_with_a_pull_are_turned_upright_and_tell_no_camera(tmp_path, pictures, capsys):
    place = str(tmp_path / "shop.db")
    assert b"ACAMERA" in pictures[0].read_bytes()
    assert main([*PULL, "--photo", str(pictures[0]), "--photo", str(pictures[1]), "--book", place]) == 0
    with Book.open(place) as book:
        kept = book.photos(pull_id=1)
        assert [(photo.width_px, photo.height_px) for photo in kept] == [(20, 40), (20, 40)]
        assert all(b"ACAMERA" not in book.photo_bytes(photo.id) for photo in kept)
    assert "Stored as pull 1" in capsys.readouterr().out


def test_a_photo_added_twice_is_kept_once(tmp_path, pictures, capsys):
    place = str(tmp_path / "shop.db")
    assert main([*PULL, "--book", place]) == 0
    for _ in range(2):
        assert main(["pulls", "photo", "1", str(pictures[0]), "--book", place]) == 0
    with Book.open(place) as book:
        assert len(book.photos(pull_id=1)) == 1
    assert main(["pulls", "photo", "7", str(pictures[0]), "--book", place]) == 3
    assert "Photo 1 of pull 1: 20 x 40 pixels." in capsys.readouterr().out


def test_beside_a_file_that_is_no_picture_nothing_is_stored(tmp_path, pictures, capsys):
    place = str(tmp_path / "shop.db")
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"\xff\xd8 not a picture")
    assert main([*PULL, "--photo", str(pictures[0]), "--photo", str(bad), "--book", place]) == 2
    assert "is no picture" in capsys.readouterr().err
    with Book.open(place) as book:
        assert book.pulls() == ()
