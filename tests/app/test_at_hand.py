"""What is kept of a book's pulls is what the book holds, whoever wrote last."""

import subprocess
import sys

import pytest

from jointlab.app import workflow
from jointlab.app.at_hand import Shelf, TheVery, combinations_at_hand, pulls_at_hand
from jointlab.book.book import Book
from jointlab.book.stored import PullSelection
from jointlab.mount.setup_of import setup_of
from jointlab.record.csv_file import read_csv
from jointlab.record.joint import Combination

HEADER = "batch,specimen,tested_on,glue,substrate,substrate_kind,action,shape,diameter_mm,load_n,arm_mm,outcome"
ASKED = PullSelection(glue="PVA", substrate="maple", preparation="")
MOUNT = {
    "blank": {"diameter_mm": 250, "length_mm": 80, "wood": "black cherry"},
    "joint": {"glue": "PVA", "substrate": "maple", "shape": "disc", "diameter_mm": 130, "age_h": 168},
    "block": {"thickness_mm": 38, "wood": "sugar maple"},
    "lathe": {"motor_w": 1100, "size": "midi", "rpm": 600},
}


def row(batch, specimen, load_n, glue="PVA"):
    return f"b{batch},{specimen},2026-03-14,{glue},maple,solid_face,pry,disc,50,{load_n},300,broke"


@pytest.fixture
def place(tmp_path):
    place = str(tmp_path / "shop.db")
    rows = [row(batch, specimen, 300 + 7 * batch + 11 * specimen) for batch in (1, 2) for specimen in range(4)]
    with Book.open(place) as book:
        book.import_pulls(read_csv("\n".join([HEADER, *rows, row(1, 9, 200, "hide")]).encode(), name="a").pulls)
    return place


def test_the_same_pulls_are_given_until_the_book_has_another_entry(place):
    with Book.open(place) as book:
        first = pulls_at_hand(book, ASKED)
        assert pulls_at_hand(book, ASKED) is first
        assert first == book.pulls(ASKED)
        book.exclude(first[0].id, cause="slipped")
        after = pulls_at_hand(book, ASKED)
        assert after == book.pulls(ASKED)
        assert [kept.revision for kept in after] == [2, 1, 1, 1, 1, 1, 1, 1]


def test_a_pull_recorded_by_another_process_is_seen_at_once(place):
    recorded = (
        "from jointlab.app import workflow; workflow.record_pull({!r}, dict(batch='b3', specimen='1', "
        "tested_on='2026-03-15', glue='PVA', substrate='maple', action='pry', shape='disc', diameter_mm='50', "
        "load_n='345', arm_mm='300', outcome='broke'))"
    )
    with Book.open(place) as book:
        assert len(pulls_at_hand(book, ASKED)) == 8
        assert [stored.pulls for stored in combinations_at_hand(book)] == [1, 8]
        subprocess.run([sys.executable, "-c", recorded.format(place)], check=True)
        assert pulls_at_hand(book, ASKED)[-1].pull.batch == "b3"
        assert [stored.pulls for stored in combinations_at_hand(book)] == [1, 9]


def test_a_verdict_follows_what_another_process_records(place):
    setup = setup_of(MOUNT)
    before = workflow.decide_setup(place, setup, name="bowl")
    assert workflow.decide_setup(place, setup, name="bowl").verdict == before.verdict
    weak = [row(3, specimen, 60 + specimen) for specimen in range(3)]
    code = (
        "import sys; from jointlab.book.book import Book; from jointlab.record.csv_file import read_csv\n"
        "with Book.open(sys.argv[1]) as book: book.import_pulls(read_csv(sys.argv[2].encode(), name='a').pulls)"
    )
    subprocess.run([sys.executable, "-c", code, place, "\n".join([HEADER, *weak])], check=True)
    after = workflow.decide_setup(place, setup, name="bowl")
    assert after.evidence.n_usable == before.evidence.n_usable + 3 == 11
    assert after.verdict.margin_lower < 0.5 * before.verdict.margin_lower
    assert after.glue_ups == ("b1", "b2", "b3")


def test_another_book_is_another_shelf_even_where_both_are_empty(tmp_path):
    for name in ("one", "two"):
        with Book.open(tmp_path / f"{name}.db") as book:
            assert pulls_at_hand(book, ASKED) == ()
            text = "\n".join([HEADER, row(name, 1, 300)])
            book.import_pulls(read_csv(text.encode(), name="a").pulls)
            assert [kept.pull.batch for kept in pulls_at_hand(book, ASKED)] == [f"b{name}"]


def test_rows_beyond_the_bound_are_let_go_the_oldest_first(place):
    shelf = Shelf(most_rows=10)
    asked = []

    def read(name, rows):
        return shelf.rows(book, name, lambda: asked.append(name) or tuple(range(rows)))

    with Book.open(place) as book:
        for name, rows in (("a", 4), ("b", 4), ("a", 4), ("c", 4)):
            read(name, rows)
        assert asked == ["a", "b", "c"]
        assert shelf.held == 8
        read("a", 4)
        assert asked == ["a", "b", "c"]
        read("b", 4)
        assert asked == ["a", "b", "c", "b"]
        read("too many", 11)
        assert shelf.held == 0


def test_values_are_the_very_same_only_as_objects():
    one, other = Combination("PVA", "maple"), Combination("PVA", "maple")
    assert one == other
    assert TheVery([one]) == TheVery((one,))
    assert hash(TheVery([one])) == hash(TheVery((one,)))
    assert TheVery([one]) != TheVery([other])
    assert TheVery([one]) != TheVery([one, one])
    assert TheVery([one]) != (one,)
