"""Files of pulls read as they are stored, and what is asked of what came by."""

from __future__ import annotations

import tracemalloc
from itertools import islice

import pytest

from jointlab.app import workflow
from jointlab.app.pull_files import MOST_QUESTIONS, Questions, read_file, streamed_file, unwatched
from jointlab.book.stored import PullSelection
from jointlab.errors import InputError

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_n,outcome"


def _row(number: int, load: str = "1500") -> str:
    return f"G{number // 10},{number},2026-03-14,yellow glue,maple,pull,disc,50,{load},broke"


def _written(path, rows):
    path.write_text("\n".join([HEADER, *rows]) + "\n")
    return path


def test_pulls_come_with_their_rows_and_the_share_read_grows_to_all(tmp_path):
    file = _written(tmp_path / "pulls.csv", [_row(number) for number in range(2000)])
    with streamed_file(file) as stream:
        first = list(islice(stream.pulls.numbered, 10))
        early = stream.share_read()
        rest = list(stream.pulls.numbered)
        assert 0.0 < early < 0.5
        assert stream.share_read() == 1.0
    assert [row for row, _ in (*first, *rest)] == list(range(2, 2002))
    assert tuple(pull for _, pull in (*first, *rest)) == read_file(file).pulls


def test_a_workbook_streams_the_same_pulls(tmp_path):
    place = tmp_path / "shop.db"
    workflow.import_file(place, _written(tmp_path / "pulls.csv", [_row(number) for number in range(5)]))
    workflow.export_file(place, tmp_path / "pulls.xlsx")
    with streamed_file(tmp_path / "pulls.xlsx") as stream:
        assert [pull.specimen for _, pull in stream.pulls.numbered] == ["0", "1", "2", "3", "4"]
        assert 0.0 < stream.share_read() <= 1.0  # of the packed bytes: other parts stand behind the sheet


def test_a_long_file_takes_no_more_memory_than_a_short_one(tmp_path):
    def peak_of(rows: int) -> int:
        file = _written(tmp_path / f"{rows}.csv", (_row(number) for number in range(rows)))
        tracemalloc.start()
        with streamed_file(file) as stream:
            for _ in Questions().asked(stream.pulls.numbered):
                pass
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return peak

    peak_of(1500)  # what is loaded and remembered once
    assert peak_of(1500) < peak_of(300) + 100_000  # a tenth of what the pulls themselves would take


def test_a_bad_row_near_the_end_of_a_file_undoes_what_was_stored_before_it(tmp_path):
    place = tmp_path / "shop.db"
    file = _written(tmp_path / "pulls.csv", [*(_row(number) for number in range(900)), _row(900, load="a lot")])
    with pytest.raises(InputError, match="row 902, load_n = 'a lot'"):
        workflow.import_file(place, file)
    assert workflow.list_pulls(place) == ()
    assert workflow.check_book(place).sound


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(InputError, match="cannot be read: No such file"), streamed_file(tmp_path / "none.csv"):
        pass


def test_the_first_questions_are_listed_and_the_others_counted(tmp_path):
    file = _written(tmp_path / "pulls.csv", [_row(number, load="1") for number in range(MOST_QUESTIONS + 7)])
    receipt, _, asked = workflow.import_file(tmp_path / "shop.db", file)
    assert (receipt.stored, asked.pulls, len(asked.first), asked.more) == (27, 27, MOST_QUESTIONS, 7)
    assert asked.first[0][0] == 2
    assert asked.first[0][1].code == "stress_low"


def test_pulls_that_nobody_watches_come_as_they_are():
    assert list(unwatched(iter([(2, "a pull")]), "storing", lambda: 0.5)) == [(2, "a pull")]


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_an_export_takes_no_more_memory_for_a_long_book_than_for_a_short_one(tmp_path, monkeypatch, ending):
    monkeypatch.setattr("jointlab.book.reading.FETCHED_AT_ONCE", 20)
    rows, place = 80, tmp_path / "shop.db"
    workflow.import_file(place, _written(tmp_path / "pulls.csv", (_row(number) for number in range(3 * rows))))

    def peak_of(number: int) -> int:
        tracemalloc.start()
        workflow.export_file(place, tmp_path / f"out.{ending}", PullSelection(limit=number))
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return peak

    peak_of(3 * rows)
    assert peak_of(3 * rows) < peak_of(rows) + 2500 * 2 * rows


def test_an_export_has_the_columns_that_any_pull_fills_and_reads_back(tmp_path):
    place = tmp_path / "shop.db"
    workflow.import_file(place, _written(tmp_path / "pulls.csv", [_row(0), _row(1)]))
    assert workflow.export_file(place, tmp_path / "out.csv") == 2
    assert (tmp_path / "out.csv").read_text().splitlines()[0] == HEADER
    assert workflow.import_file(place, tmp_path / "out.csv")[0].skipped == 2
    assert workflow.export_file(place, tmp_path / "none.csv", PullSelection(glue="other")) == 0
    assert (
        (tmp_path / "none.csv").read_text().splitlines()[0].startswith("batch,specimen,tested_on,glue,substrate,prep")
    )
