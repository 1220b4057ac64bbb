from __future__ import annotations

import io
from contextlib import closing
from dataclasses import replace

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from jointlab.publish.card import CardNote, card_record, mount_card, square_code
from jointlab.publish.typesetting import Paper
from jointlab.verdict.values import Outcome as Answer

UNPRINTED_MM = 6.0
"""Along the edge of a sheet that home printers leave white."""

NOTE = CardNote("2026-03-01", "0.1.0", "R.", "mount 17")


def text_of(card: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(card)).pages).split())


@pytest.mark.parametrize("paper", list(Paper))
def test_a_card_is_one_sheet_however_long_its_texts(made, paper) -> None:
    mount = made.mount_of(name="a very long name " * 30)
    cautions = tuple(f"{number} " + "a caution of some length that must be read " * 2 for number in range(30))
    verdict = replace(mount.verdict, cautions=cautions, scope="as stated " * 100)
    long = mount_card(replace(mount, verdict=verdict), replace(NOTE, decided_by="name " * 60), paper=paper)
    assert len(PdfReader(io.BytesIO(long)).pages) == 1


def test_a_card_says_answer_limits_checks_end_and_who_decided(made) -> None:
    text = text_of(mount_card(made.mount_of(), NOTE))
    for said in (
        "the mount stands a grab of 2340 N (238 kgf)",
        "600 rpm",
        "80 mm",
        "1.5 in a severe catch",
        "Two whole turns by hand",
        "Any catch, tick, gap",
        "Stand clear of the plane.",
        "For this glue-up.",
        "Decided on 2026-03-01 by R.",
        "qualified instructor",
    ):
        assert said in text, said


def test_a_caution_too_long_for_the_sheet_is_left_out_not_cut(made) -> None:
    mount = made.mount_of()
    long = "Never " + "x" * 200
    text = text_of(mount_card(replace(mount, verdict=replace(mount.verdict, cautions=(long, "Stop."))), NOTE))
    assert "Never x" not in text
    assert "Stop." in text


@pytest.mark.parametrize(("answer", "stands_n"), [(Answer.FAIL, 0.0), (Answer.UNDECIDED, None)])
def test_a_card_never_shows_a_limit_that_is_not_there(made, answer, stands_n) -> None:
    text = text_of(mount_card(made.mount_of(answer, stands_n=stands_n), NOTE))
    assert f"grab it stands there {'none' if stands_n == 0.0 else 'not known'}" in text


def test_the_same_mount_gives_the_same_card_and_no_code_is_no_code(made) -> None:
    assert mount_card(made.mount_of(), NOTE) == mount_card(made.mount_of(), NOTE)
    assert mount_card(made.mount_of(), replace(NOTE, code=None)) != mount_card(made.mount_of(), NOTE)


@pytest.mark.parametrize("paper", list(Paper))
def test_a_reader_of_square_codes_reads_the_record_off_the_printed_sheet(made, paper) -> None:
    record = card_record(made.mount_of(name="Schüssel für Öl", relaxed=True), dated_on="2026-03-14")
    with closing(pypdfium2.PdfDocument(mount_card(made.mount_of(), replace(NOTE, code=record), paper=paper))) as card:
        # 130 dots per inch: a sheet on a wall as a telephone sees it, not a close look
        sheet = card[0].render(scale=130 / 72, grayscale=True).to_numpy()
    (read,) = zxingcpp.read_barcodes(sheet)
    assert read.text == record
    lowest = max(read.position.bottom_left.y, read.position.bottom_right.y)
    assert lowest < sheet.shape[0] - UNPRINTED_MM / 25.4 * 130


def test_a_square_code_differs_with_its_text() -> None:
    assert square_code("a").startswith(b"<?xml")
    assert square_code("a") != square_code("b")


def test_the_code_holds_answer_label_limits_and_date_in_plain_words(made) -> None:
    told = card_record(made.mount_of(relaxed=True), dated_on="2026-03-14")
    assert "answer: pass (criteria relaxed: margin 1.2 under 1.5): margin met under these assumptions" in told
    assert told.endswith("decided: 2026-03-14")
    assert "at most: " in told
    assert len(square_code(told)) > len(square_code("short"))
