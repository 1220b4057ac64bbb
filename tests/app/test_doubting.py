"""A strength says which of the readings it rests on look wrong."""

import pytest

from jointlab.app import workflow
from jointlab.book.book import Book
from jointlab.record.csv_file import read_csv
from jointlab.record.finding import FindingCode

HEADER = (
    "batch,specimen,tested_on,glue,substrate,substrate_kind,action,shape,"
    "diameter_mm,load_n,arm_mm,outcome,excluded_because"
)
LOADS_N = (150, 160, 171, 183, 190, 204, 5_000)


def row(number, load_n, glue="PVA", excluded=""):
    return f"b{number % 2},{number},2026-03-14,{glue},maple,solid_face,pry,disc,50,{load_n},300,broke,{excluded}"


def told(tmp_path, *rows):
    place = str(tmp_path / "shop.db")
    with Book.open(place) as book:
        book.import_pulls(read_csv("\n".join([HEADER, *rows]).encode(), name="a").pulls)
    strengths = workflow.strengths_in(place)
    return {
        strength.combination.glue: [
            finding.text.split(". ")[0] for finding in strength.findings if finding.code is FindingCode.PULLS_QUESTIONED
        ]
        for strength in strengths
    }


@pytest.fixture
def rows():
    return [row(number, load_n) for number, load_n in enumerate(LOADS_N)]


def test_a_wild_reading_is_told_with_the_strength_it_feeds_and_no_other(tmp_path, rows):
    others = [row(20 + number, load_n, glue="hide") for number, load_n in enumerate(LOADS_N[:-1])]
    assert told(tmp_path, *rows, *others) == {
        "PVA": ["1 of 7 readings look wrong and are used as they stand (b0, 6)"],
        "hide": [],
    }


def test_a_reading_left_out_of_the_strength_is_not_told(tmp_path, rows):
    assert told(tmp_path, *rows[:-1], row(6, 5_000, excluded="scale misread")) == {"PVA": []}
