"""A workbook of pulls reads as a CSV file does, and nothing in it is ever run or guessed at."""

from __future__ import annotations

import io
import random
import zipfile
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from jointlab.errors import InputError
from jointlab.record.csv_file import read_csv
from jointlab.record.xlsx_file import MOST_UNPACKED_BYTES, read_xlsx, sheet_of_rows, written_xlsx

DEMO = Path("datasets/demo/pulls.csv")
HEADER = ["batch", "specimen", "tested_on", "glue", "substrate", "action", "shape", "diameter_mm", "load_n", "outcome"]
ROW = ["A", "1", "2026-01-17", "yellow glue", "maple", "pull", "disc", 50, 1500.5, "broke"]


def workbook(*sheets: tuple[str, list[list[object]]]) -> bytes:
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def changed(**cells: object) -> list[object]:
    return [cells.get(title, cell) for title, cell in zip(HEADER, ROW, strict=True)]


def test_what_is_written_reads_back_to_the_same_pulls():
    pulls = read_csv(DEMO.read_bytes(), name="pulls.csv").pulls
    again = read_xlsx(written_xlsx(pulls), name="pulls.xlsx")
    assert [replace(pull, entered=()) for pull in again.pulls] == [replace(pull, entered=()) for pull in pulls]
    assert again.rows == tuple(range(2, len(pulls) + 2))


def test_text_that_looks_like_a_formula_is_stored_as_text_and_comes_back():
    (pull,) = read_csv(f"{','.join(HEADER)},notes\n{','.join(map(str, ROW))},x\n".encode(), name="x").pulls
    hostile = replace(pull, notes="=HYPERLINK(1)", batch="+A", specimen="-1")
    content = written_xlsx([hostile])
    (again,) = read_xlsx(content, name="x").pulls
    assert (again.notes, again.batch, again.specimen) == ("=HYPERLINK(1)", "+A", "-1")
    kinds = {cell.data_type for row in load_workbook(io.BytesIO(content)).active.iter_rows() for cell in row}
    assert "f" not in kinds


def test_dates_and_numbers_of_a_sheet_are_read_as_they_are_shown():
    row = changed(tested_on=datetime.fromisoformat("2026-01-17"), specimen=7, diameter_mm=50.0)
    moment = changed(tested_on=datetime.fromisoformat("2026-01-18T16:20"), specimen=8)
    first, second = read_xlsx(workbook(("Sheet1", [HEADER, row, moment])), name="x").pulls
    assert (first.tested_on, first.specimen, first.loading.load) == ("2026-01-17", "7", 1500.5)
    assert second.tested_on == "2026-01-18T16:20"


def test_the_sheet_named_pulls_is_read_or_the_only_one_that_is_filled():
    filled = [HEADER, ROW]
    assert len(read_xlsx(workbook(("notes", [["hello"]]), ("Pulls", filled)), name="x").pulls) == 1
    assert len(read_xlsx(workbook(("empty", []), ("any", filled)), name="x").pulls) == 1
    with pytest.raises(InputError, match="several sheets are filled"):
        read_xlsx(workbook(("one", filled), ("two", filled)), name="x")
    with pytest.raises(InputError, match="no sheet is filled"):
        read_xlsx(workbook(("one", [])), name="x")


def test_every_problem_is_told_at_once_with_its_row_and_column():
    rows = [HEADER, changed(load_n="12,5", specimen="2"), [], changed(diameter_mm=-12), changed(outcome="=A1")]
    with pytest.raises(InputError) as refused:
        read_xlsx(workbook(("Sheet1", rows)), name="pulls.xlsx")
    told = {(problem.row, problem.column) for problem in refused.value.problems}
    assert {(2, "load_n"), (4, "diameter_mm"), (5, "outcome")} <= told


def test_empty_rows_above_the_header_are_refused():
    with pytest.raises(InputError, match="the first row must be the header"):
        read_xlsx(workbook(("Sheet1", [[], HEADER, ROW])), name="x")


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 no zip", b"batch,specimen\n", workbook(("a", [["x"]]))[:-60]])
def test_what_is_no_workbook_is_refused(content):
    with pytest.raises(InputError, match=r"no workbook that can be read"):
        read_xlsx(content, name="pulls.xlsx")


def test_a_zip_that_is_no_workbook_and_one_that_would_unpack_to_too_much_are_refused(monkeypatch):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/workbook.xml", b"0" * 1_000_000)
    with pytest.raises(InputError, match="no workbook that can be read"):
        read_xlsx(out.getvalue(), name="x")
    assert MOST_UNPACKED_BYTES == 500_000_000
    monkeypatch.setattr("jointlab.record.xlsx_file.MOST_UNPACKED_BYTES", 999_999)
    with pytest.raises(InputError, match="unpacks to more than"):
        read_xlsx(out.getvalue(), name="x")


def test_random_damage_is_never_a_crash():
    whole = sheet_of_rows(HEADER, [ROW])
    chance = random.Random(3)
    for _ in range(150):
        damaged = bytearray(whole)
        for _ in range(chance.randint(1, 6)):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        try:
            read_xlsx(bytes(damaged), name="x")
        except InputError:
            continue


def renumbered(row: int) -> bytes:
    """A workbook of one pull whose row says that it is the sheet's row of this number."""
    return remade(workbook(("pulls", [HEADER, ROW])), b'<row r="2"', f'<row r="{row}"'.encode())


def remade(content: bytes, old: bytes, new: bytes) -> bytes:
    """The workbook with something in its sheet written otherwise."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        members = {name: packed.read(name) for name in packed.namelist()}
    sheet = next(name for name in members if "sheet1" in name)
    assert old in members[sheet]
    members[sheet] = members[sheet].replace(old, new)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return out.getvalue()


def test_a_row_beyond_the_end_of_a_sheet_is_refused_before_the_gap_is_walked():
    with pytest.raises(InputError, match="beyond 1048576"):
        read_xlsx(renumbered(9_999_999_999), name="x.xlsx")
    assert read_xlsx(renumbered(40_000), name="x.xlsx").rows == (40_000,)


def test_a_workbook_that_tells_its_size_wrong_loses_no_row():
    content = workbook(("pulls", [HEADER, ROW, changed(specimen="2"), changed(specimen="3")]))
    assert len(read_xlsx(remade(content, b'ref="A1:J4"', b'ref="A1:J2"'), name="x.xlsx").pulls) == 3


def test_a_workbook_of_more_bytes_than_any_shop_has_is_refused_before_it_is_opened():
    with pytest.raises(InputError, match="is larger than 50 MB"):
        read_xlsx(bytes(50_000_001), name="x.xlsx")


def test_the_titles_of_a_workbook_stand_out():
    cells = next(load_workbook(io.BytesIO(sheet_of_rows(["batch"], [["A"]]))).active.iter_rows())
    assert cells[0].font.bold
