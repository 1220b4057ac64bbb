"""A preview tells all that an import would, and neither stores anything nor makes a book."""

from __future__ import annotations

import tracemalloc

import pytest

from jointlab.app import workflow
from jointlab.app.file_previews import preview_file
from jointlab.app.other_shops import preview_of_shop
from jointlab.errors import InputError
from jointlab.record.xlsx_file import sheet_of_rows

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_n,outcome"


def written(path, loads):
    rows = [f"A,{n},2026-03-14,g,s,pull,disc,50,{load},broke" for n, load in enumerate(loads)]
    path.write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    return path


def test_where_there_is_no_book_all_could_come_in_and_none_is_made(tmp_path):
    receipt, _, asked = preview_file(tmp_path / "shop.db", written(tmp_path / "new.csv", [1500, 1600]))
    assert (receipt.stored, receipt.skipped, asked.pulls) == (2, 0, 2)
    assert not (tmp_path / "shop.db").exists()


def test_a_repeated_specimen_is_told_though_there_is_no_book(tmp_path):
    file = written(tmp_path / "new.csv", [1500])
    file.write_text(file.read_text() + "A,0,2026-03-14,g,s,pull,disc,50,1500,broke\n")
    with pytest.raises(InputError, match="in row 2 already"):
        preview_file(tmp_path / "shop.db", file)


def test_rows_that_the_book_has_are_counted_and_those_that_differ_are_told(tmp_path):
    place = tmp_path / "shop.db"
    workflow.import_file(place, written(tmp_path / "old.csv", [1500, 1600]))
    receipt, _, _ = preview_file(place, written(tmp_path / "more.csv", [1500, 1600, 1700]))
    assert (receipt.stored, receipt.skipped) == (1, 2)
    with pytest.raises(InputError) as refused:
        preview_file(place, written(tmp_path / "other.csv", [1500, 1601, 1700]))
    assert [(problem.row, problem.column) for problem in refused.value.problems] == [(3, "load_n")]
    assert len(workflow.list_pulls(place)) == 2


def test_another_shops_glue_up_of_the_same_name_is_no_difference(tmp_path):
    place = tmp_path / "shop.db"
    workflow.import_file(place, written(tmp_path / "ours.csv", [1500]))
    receipt, _, _ = preview_of_shop(place, written(tmp_path / "theirs.csv", [900]), "North")
    assert (receipt.stored, receipt.skipped) == (1, 0)


@pytest.mark.parametrize(("ending", "rows"), [("csv", 400), ("xlsx", 80)])
def test_a_long_file_takes_no_more_memory_than_a_short_one(tmp_path, ending, rows):
    def peak_of(rows: int) -> int:
        file = written(tmp_path / f"{rows}.csv", [1500] * rows)
        if ending == "xlsx":
            lines = [line.split(",") for line in file.read_text().splitlines()]
            file = tmp_path / f"{rows}.xlsx"
            file.write_bytes(sheet_of_rows(lines[0], lines[1:]))
        tracemalloc.start()
        preview_file(tmp_path / "none.db", file)
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return peak

    peak_of(3 * rows)  # names are remembered, up to a limit
    assert peak_of(3 * rows) < peak_of(rows) + 1500 * 2 * rows  # a pull takes about 5,000
