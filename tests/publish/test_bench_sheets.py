"""Bench sheets on paper."""

import io
from contextlib import closing
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from jointlab.plan import SeeDifference, ShowStrength, Terms, plan_tests
from jointlab.plan.bench_sheet import BEST_SAWN, CAUTIONS
from jointlab.publish.bench_sheets import SheetNote, asked_words, bench_sheets_pdf, looks_words
from jointlab.publish.typesetting import Paper
from jointlab.record.joint import Combination

NOTE = SheetNote(dated_on="2026-03-01", program_version="0.1.0")
PAIR = (
    Combination("yellow wood glue", "hard maple scrap"),
    Combination("#epoxy [*2*]", "birch \N{MULTIPLICATION SIGN} 3"),
)


def made(wish, **terms):
    return plan_tests(PAIR, wish=wish, terms=Terms("Spring", "2026-03-02", **terms), rng=np.random.default_rng(1))


@pytest.fixture(scope="module")
def plan():
    return made(SeeDifference(1.5, expected_mpa=4.0, log_sd=0.2), planned_looks=2, each=4)


@pytest.fixture(scope="module")
def pdf(plan):
    return bench_sheets_pdf(plan, NOTE)


@pytest.fixture(scope="module")
def text(pdf):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_every_specimen_stands_on_the_sheet_and_on_a_label(plan, text) -> None:
    for specimen in plan.specimens:
        assert text.count(specimen.code) >= 2
    assert "#epoxy [*2*] on birch \N{MULTIPLICATION SIGN} 3" in text


def test_days_orders_cautions_and_where_specimens_come_from_are_said(plan, text) -> None:
    for glue_up in plan.glue_ups:
        assert f"Glue on {glue_up.glued_on}, in this order" in text
        assert f"Test on {glue_up.tested_on}, in this order" in text
    for caution in (*CAUTIONS, BEST_SAWN):
        assert caution in text


def test_a_square_code_describes_itself_by_batch_and_specimen_alone(plan, pdf) -> None:
    from jointlab.publish.card import square_code

    tagged = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    assert tagged["/MarkInfo"]["/Marked"]
    code = plan.specimens[0].code
    assert code == f"Spring-1/{plan.specimens[0].specimen}"
    assert square_code(code) != square_code(plan.specimens[1].code)


def test_a_reader_of_square_codes_reads_every_specimen_off_the_sheets(plan, pdf) -> None:
    with closing(pypdfium2.PdfDocument(pdf)) as sheets:
        drawn = [sheet.render(scale=200 / 72, grayscale=True).to_numpy() for sheet in sheets]
    read = {code.text for sheet in drawn for code in zxingcpp.read_barcodes(sheet)}
    assert read == {specimen.code for specimen in plan.specimens}


def test_the_same_plan_gives_the_same_bytes_and_another_paper_another_size(plan, pdf) -> None:
    assert bench_sheets_pdf(plan, NOTE) == pdf
    box = PdfReader(io.BytesIO(bench_sheets_pdf(plan, NOTE, paper=Paper.LETTER))).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (792, 612)


def test_a_large_plan_runs_over_several_pages_and_repeats_its_heads() -> None:
    many = made(SeeDifference(1.5, expected_mpa=4.0, log_sd=0.2), each=12)
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(bench_sheets_pdf(many, NOTE))).pages]
    heads = [page for page in pages if "broke at" in page and "outcome" in page]
    assert len(heads) >= 4


def test_the_wish_and_the_looks_are_said_as_sentences(plan) -> None:
    assert asked_words(plan) == (
        "To see a difference of 50% between combinations (every pair), supposing a median of 4 MPa and a spread of 20%."
    )
    assert "each spends 2.50% of the doubt (5% in all)" in looks_words(plan)
    shown = made(ShowStrength(1.0, expected_mpa=4.0), each=6)
    assert asked_words(shown).startswith("To show that 95% of joints hold 1 MPa, with 95% confidence")
    assert looks_words(shown).startswith("One look, after the last glue-up")
    assert "each against" in asked_words(replace(plan, control=PAIR[0]))
