"""A photo is kept small, upright, and tells nothing but what it shows."""

from __future__ import annotations

import io
import zlib

import pytest
from PIL import Image

from jointlab.errors import InputError
from jointlab.record.photo import LONGEST_SIDE_PX, MOST_BYTES, cleaned_photo

ORIENTATION, CAMERA, GPS = 0x0112, 0x010F, 0x8825


def picture(size=(40, 30), *, form="JPEG", mode="RGB", colour="red", **saved) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, colour).save(out, format=form, **saved)
    return out.getvalue()


def with_metadata(orientation: int = 1) -> bytes:
    exif = Image.Exif()
    exif[ORIENTATION], exif[CAMERA] = orientation, "Some Camera"
    exif.get_ifd(GPS)[2] = (47.0, 22.0, 30.0)
    return picture(exif=exif, comment=b"at home")


def test_location_camera_and_comments_are_gone():
    raw = with_metadata()
    assert b"Some Camera" in raw
    assert b"at home" in raw
    photo = cleaned_photo(raw)
    kept = Image.open(io.BytesIO(photo.jpeg))
    assert kept.format == "JPEG"
    assert not kept.getexif()
    assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Some Camera" not in photo.jpeg
    assert b"at home" not in photo.jpeg


def test_a_picture_taken_sideways_is_turned_upright():
    photo = cleaned_photo(with_metadata(orientation=6))
    assert (photo.width_px, photo.height_px) == (30, 40)


def test_a_large_picture_is_made_smaller_and_keeps_its_shape():
    photo = cleaned_photo(picture((4000, 3000)))
    assert (photo.width_px, photo.height_px) == (LONGEST_SIDE_PX, 1500)
    assert Image.open(io.BytesIO(photo.jpeg)).size == (LONGEST_SIDE_PX, 1500)


@pytest.mark.parametrize(
    ("form", "mode", "colour"), [("PNG", "RGBA", (255, 0, 0, 0)), ("PNG", "L", 255), ("WEBP", "RGB", "white")]
)
def test_other_forms_become_jpeg_and_what_is_clear_becomes_white(form, mode, colour):
    kept = Image.open(io.BytesIO(cleaned_photo(picture(form=form, mode=mode, colour=colour)).jpeg))
    assert kept.mode == "RGB"
    assert min(kept.getpixel((20, 15))) > 250


def test_what_is_cleaned_already_stays_a_photo_of_its_size():
    once = cleaned_photo(picture())
    again = cleaned_photo(once.jpeg)
    assert (again.width_px, again.height_px) == (once.width_px, once.height_px)


def bomb(width_px: int, height_px: int) -> bytes:
    """A small PNG whose head promises so many pixels."""
    raw = bytearray(picture(form="PNG"))
    head = raw.index(b"IHDR")
    raw[head + 4 : head + 12] = width_px.to_bytes(4, "big") + height_px.to_bytes(4, "big")
    raw[head + 17 : head + 21] = zlib.crc32(raw[head : head + 17]).to_bytes(4, "big")
    return bytes(raw)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "no picture of a known form"),
        (b"%PDF-1.7 not a picture", "no picture of a known form"),
        (picture(form="GIF", mode="P", colour=1), "no picture of a known form: JPEG, PNG, WEBP"),
        (picture((400, 300))[:900], "is damaged"),
        (picture((400, 300), form="PNG")[:200], "is damaged"),
        (b"\xff" * (MOST_BYTES + 1), "at most 25 MB"),
    ],
)
def test_what_is_no_whole_picture_is_refused(raw, said):
    with pytest.raises(InputError, match=said):
        cleaned_photo(raw, name="break.jpg")


@pytest.mark.parametrize("side_px", [60_000, 10_000])
def test_a_picture_that_would_unpack_to_a_huge_one_is_refused_before_it_is(side_px):
    with pytest.raises(InputError, match="at most 80 million"):
        cleaned_photo(bomb(side_px, side_px))


@pytest.mark.parametrize(("pixels", "said"), [(80_000_001, "at most 80 million"), (80_000_000, "is damaged")])
def test_eighty_million_pixels_are_taken_and_one_more_is_not(pixels, said):
    with pytest.raises(InputError, match=said):
        cleaned_photo(bomb(pixels, 1))


def test_a_photo_is_kept_with_the_luminance_steps_of_quality_85():
    # ITU-T T.81 Table K.1 holds 16, 11 ... 99 for a quality of 50; by the customary scale (200 - 2 x 85) % of
    # it, rounded by hand: 4.8 -> 5, 3.3 -> 3, and 29.7 -> 30 for the last
    steps = Image.open(io.BytesIO(cleaned_photo(picture()).jpeg)).quantization[0]
    assert (*steps[:2], steps[63]) == (5, 3, 30)
