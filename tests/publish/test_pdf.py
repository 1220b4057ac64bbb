from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from jointlab.mount.envelope import EnvelopeAxis
from jointlab.mount.setup import Tailstock
from jointlab.publish import tables
from jointlab.publish.pdf import _sheet, _widths, results_pdf
from jointlab.publish.typesetting import Paper
from jointlab.record.joint import Combination
from jointlab.verdict.operating import OperatingLine, OperatingPoint

MARKUP = '#panic("x") *bold* $x^2$ \\ <label> @ref // gone'
POINTS_PER_MM = 72.0 / 25.4


@pytest.fixture(scope="module")
def pdf(made) -> bytes:
    return results_pdf(made.publication_of())


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_the_same_publication_gives_the_same_bytes(pdf, made) -> None:
    assert results_pdf(made.publication_of()) == pdf


def test_the_document_is_tagged_titled_and_in_a_language(pdf) -> None:
    catalogue = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/Lang"].startswith("en")
    assert catalogue["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"pdfuaid" in catalogue["/Metadata"].get_data()
    assert PdfReader(io.BytesIO(pdf)).metadata.title == "What holds a bowl"


def test_figures_are_vectors(pdf) -> None:
    assert not [image for page in PdfReader(io.BytesIO(pdf)).pages for image in page.images]


@pytest.mark.parametrize(("paper", "width_mm", "height_mm"), [(Paper.A4, 210.0, 297.0), (Paper.LETTER, 215.9, 279.4)])
def test_the_sheet_has_the_size_asked(made, paper, width_mm, height_mm) -> None:
    pages = PdfReader(io.BytesIO(results_pdf(made.publication_of(plots=(), mounts=()), paper=paper))).pages
    for page in pages:
        assert float(page.mediabox.width) / POINTS_PER_MM == pytest.approx(width_mm, abs=0.1)
        assert float(page.mediabox.height) / POINTS_PER_MM == pytest.approx(height_mm, abs=0.1)


def test_paper_and_page_say_the_same(pdf) -> None:
    text = text_of(pdf)
    for said in (
        "What can a joint made with yellow glue be relied on for?",
        "the mount stands a grab of 2340 N (238 kgf) at the furthest cut",
        "Open: Glue-ups are not counted.",
        "A joint of 140 mm would settle it.",
        "Elementary mechanics of bending, torsion and rotation",
        "not used: clamp fell off",
        "under 0.24",
    ):
        assert said in text, said
    assert not re.search(r"\bsafe", text, flags=re.IGNORECASE)


def test_other_sizes_are_drawn_and_tabled_on_paper_too(made, pdf) -> None:
    assert "If it were otherwise" not in text_of(pdf)
    line = OperatingLine(
        EnvelopeAxis.JOINT_DIAMETER, Tailstock.NONE, (OperatingPoint(100.0, 1299.0, 950.0, practice_rpm=900.0),)
    )
    mount = replace(made.mount_of(), envelope=(line,))
    told = text_of(results_pdf(made.publication_of(mounts=(mount,), plots=())))
    assert "If it were otherwise" in told
    assert "100 1290 950 * 900" in told


def test_no_text_of_a_shop_acts_as_markup(made) -> None:
    odd = Combination(MARKUP, "maple")
    publication = made.publication_of(
        title=MARKUP,
        question=MARKUP,
        shop=MARKUP,
        pulls=(made.pull_of("1", combination=odd, lower=1.0, upper=1.0, notes=MARKUP),),
        strengths=(made.strength_of(odd, bound_mpa=0.5),),
        plots=(),
        mounts=(),
    )
    text = text_of(results_pdf(publication))
    assert text.count('#panic("x") *bold* $x^2$') >= 4


def test_an_empty_publication_is_still_a_document(made) -> None:
    empty = made.publication_of(pulls=(), strengths=(), mounts=(), plots=(), methods=())
    assert "What do these joints hold?" in text_of(results_pdf(empty))


def test_no_table_is_wider_than_the_sheet_and_every_number_fits_its_column(made) -> None:
    mount = made.mount_of()
    for table in (tables.links_table(mount), tables.strengths_table(made.publication_of().strengths)):
        widths = _widths(table, 8.0)
        assert sum(width.get("pt", 0.0) for width in widths) < 490.0
        assert all("share" in width or width["pt"] > 9.0 for width in widths)
    wide = tables.Table("", ("a", "b"), (("x" * 15, "y" * 15),) * 2)
    assert ["pt" in width for width in _widths(wide, 8.0)] == [True, True]
    wider = tables.Table("", tuple("abcdefg"), (("x" * 20,) * 7,) * 2)
    assert all("share" in width for width in _widths(wider, 8.0)[-3:])


def test_a_narrow_long_table_stands_in_two_columns() -> None:
    rows = tuple((str(number), "1.23") for number in range(40))
    assert _sheet(tables.Table("", ("pull", "MPa"), rows))["columns"] == 2
    assert _sheet(tables.Table("", ("pull", "MPa"), rows[:5]))["columns"] == 1
    assert _sheet(tables.Table("", ("pull", "MPa"), tuple((row[0], "long " * 20) for row in rows)))["columns"] == 1


def test_rows_stand_below_what_they_have_in_common() -> None:
    parted = tables.Table("", ("pull",), (("1",), ("2",), ("3",)), parted=((0, "maple"), (2, "plywood")))
    assert _sheet(parted)["rows"] == ["maple", ["1"], ["2"], "plywood", ["3"]]
