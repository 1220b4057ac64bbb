"""A package opens where jointlab is not: in pandas, and in a spreadsheet that expects points and commas."""

from __future__ import annotations

import csv
import io
import json

import openpyxl
import pandas as pd
import pytest

from jointlab.publish.package import data_package


@pytest.fixture(scope="module")
def files(made) -> dict[str, bytes]:
    return data_package(made.publication_of())


def test_pandas_reads_every_table_with_the_types_the_descriptor_names(files) -> None:
    for resource in json.loads(files["datapackage.json"])["resources"]:
        frame = pd.read_csv(io.BytesIO(files[resource["path"]]))
        fields = resource["schema"]["fields"]
        assert [field["name"] for field in fields] == list(frame.columns)
        for field in fields:
            cells = frame[field["name"]].dropna()
            if field["type"] in ("number", "integer") and len(cells):
                assert pd.api.types.is_numeric_dtype(cells), field["name"]
    pulls = pd.read_csv(io.BytesIO(files["pulls.csv"]))
    assert pulls["load_n"].tolist() == [150.0] * 7
    assert pulls["strength_upper_mpa"].isna().sum() == 1


def test_a_spreadsheet_keeps_numbers_as_numbers_and_runs_nothing(files, tmp_path) -> None:
    """A sheet filled cell by cell from the file, as an import of comma-separated values does it."""
    rows = list(csv.reader(io.StringIO(files["pulls.csv"].decode("utf-8"), newline="")))
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append([float(cell) if cell.replace(".", "", 1).isdigit() else cell for cell in row])
    book.save(tmp_path / "pulls.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "pulls.xlsx").active
    titles = [cell.value for cell in sheet[1]]
    assert [sheet.cell(number, titles.index("load_n") + 1).value for number in range(2, 9)] == [150] * 7
    assert not [cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


def test_numbers_have_decimal_points_and_cells_are_parted_by_commas(files) -> None:
    for name in ("pulls.csv", "strengths.csv", "bounds.csv", "families.csv"):
        text = files[name].decode("utf-8")
        assert csv.Sniffer().sniff(text.splitlines()[0], delimiters=",;\t").delimiter == ","
        assert "\ufeff" not in text
    assert b",1.5," in files["strengths.csv"]
