from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from jointlab.publish.drawing import (
    EXACT,
    HANDLED,
    HELD,
    HELD_OPEN,
    PAPER,
    RELIED_ON,
    STEP,
    THEMED,
    UNUSED,
    ImageForm,
    drawable,
    drawn,
    inked,
    key_of_marks,
    lines_of,
)

WHITE_LUMINANCE = 1.0
READABLE_CONTRAST = 4.5  # WCAG 2.2, 1.4.3: text of usual size


def luminance(colour: str) -> float:
    """Relative luminance of a colour (WCAG 2.2)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def image(form: ImageForm) -> bytes:
    with inked(height_in=1.0) as figure:
        figure.text(0.1, 0.5, "pry $x$")
        key_of_marks(figure, [EXACT, HELD, STEP, HANDLED, RELIED_ON, HELD_OPEN], title="key")
        return drawn(figure, form)


@pytest.mark.parametrize("form", list(ImageForm))
def test_the_same_drawing_gives_the_same_bytes(form) -> None:
    assert image(form) == image(form)


def test_a_vector_drawing_names_no_date_no_program_and_no_letters_to_be_found_elsewhere() -> None:
    svg = image(ImageForm.SVG)
    root = ET.fromstring(svg)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert b"<text" not in svg
    assert b"Matplotlib" not in svg
    assert b"dc:date" not in svg


def test_a_picture_is_wide_enough_to_be_looked_at_closely() -> None:
    png = image(ImageForm.PNG)
    assert png.startswith(b"\x89PNG\r\n")
    assert int.from_bytes(png[16:20]) == 820  # 4.1 inches at 200 dots


def test_marks_are_told_apart_by_shape_and_fill_alone() -> None:
    marks = (EXACT, HELD, STEP, HANDLED, UNUSED)
    assert len({(mark.shape, mark.face == PAPER) for mark in marks}) == len(marks)
    assert HELD.shape == ">"  # points to where the strength lies: above
    assert HANDLED.shape == "<"
    assert RELIED_ON.dashes != HELD_OPEN.dashes


def test_every_mark_stands_out_from_the_paper() -> None:
    for mark in (EXACT, HELD, STEP, HANDLED, UNUSED, RELIED_ON):
        contrast = (WHITE_LUMINANCE + 0.05) / (luminance(mark.colour) + 0.05)
        assert contrast >= READABLE_CONTRAST, mark.word
        assert mark.colour in THEMED


def test_letters_the_font_lacks_are_replaced_and_others_kept() -> None:
    assert drawable("Ahorn \u00e4\u03b1") == "Ahorn \u00e4\u03b1"
    assert drawable("a\u6f22") == "a\N{REPLACEMENT CHARACTER}"


def test_long_names_are_broken_and_then_cut_with_an_ellipsis() -> None:
    assert lines_of("yellow glue on maple", letters=12) == "yellow glue\non maple"
    cut = lines_of("one two three four five six", letters=8, lines=2)
    assert cut.count("\n") == 1
    assert cut.endswith("\N{HORIZONTAL ELLIPSIS}")
    assert all(len(line) <= 8 for line in cut.split("\n"))


def test_every_path_says_where_it_goes_as_the_standard_of_drawings_wants() -> None:
    paths = [each for each in ET.fromstring(image(ImageForm.SVG)).iter() if each.tag.endswith("}path")]
    assert paths
    assert all("d" in path.attrib for path in paths)
    assert any(path.attrib["d"] == "" for path in paths)  # the letter between two words
