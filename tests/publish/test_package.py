from __future__ import annotations

import csv
import hashlib
import io
import json
import warnings
from dataclasses import replace

import openpyxl
import pandas as pd
import pytest

from jointlab.publish.disclosure import Private, disclosed
from jointlab.publish.package import DESCRIPTOR, data_package


@pytest.fixture
def package(made) -> dict[str, bytes]:
    return data_package(made.publication_of(), files={"index.html": b"<p>", "figures/strengths.svg": b"<svg/>"})


def descriptor_of(package) -> dict:
    return json.loads(package[DESCRIPTOR])


def test_the_package_validates_by_the_open_standard(package, tmp_path, monkeypatch) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the validating library, not of ours
        from frictionless import Package

        for name, content in package.items():
            path = tmp_path / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content)
        monkeypatch.chdir(tmp_path)
        report = Package(DESCRIPTOR).validate()
    assert report.valid, report.flatten(["title", "note"])
    assert report.stats["tasks"] == 6


def test_a_changed_cell_no_longer_validates(package, tmp_path, monkeypatch) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from frictionless import Package

        for name, content in package.items():
            path = tmp_path / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content.replace(b"broke", b"borke") if name == "pulls.csv" else content)
        monkeypatch.chdir(tmp_path)
        report = Package(DESCRIPTOR).validate()
    kinds = {kind for (kind,) in report.flatten(["type"])}
    assert {"constraint-error", "hash-count"} <= kinds


def test_every_file_is_described_with_its_size_and_hash(package) -> None:
    described = {resource["path"]: resource for resource in descriptor_of(package)["resources"]}
    assert set(described) == set(package) - {DESCRIPTOR}
    for path, resource in described.items():
        assert resource["bytes"] == len(package[path])
        assert resource["hash"] == f"sha256:{hashlib.sha256(package[path]).hexdigest()}"


def test_pulls_are_in_si_with_what_was_entered_beside(made) -> None:
    first = made.pull_of("1", lower=3.5, upper=3.5)
    entered = replace(first, pull=replace(first.pull, entered=(("load_kgf", "15.3"), ("diameter_mm", "50"))))
    publication = made.publication_of(pulls=(entered, made.pull_of("2", lower=5.0, upper=None)))
    rows = list(csv.DictReader(io.StringIO(data_package(publication)["pulls.csv"].decode())))
    assert (rows[0]["load_n"], rows[0]["load_entered"], rows[0]["load_entered_unit"]) == ("150.0", "15.3", "kgf")
    assert (rows[0]["strength_lower_mpa"], rows[0]["strength_upper_mpa"]) == ("3.5", "3.5")
    assert (rows[1]["load_entered"], rows[1]["strength_upper_mpa"]) == ("", "")


def test_fields_carry_units_limits_and_closed_lists(package) -> None:
    pulls = next(resource for resource in descriptor_of(package)["resources"] if resource["path"] == "pulls.csv")
    fields = {field["name"]: field for field in pulls["schema"]["fields"]}
    assert fields["load_n"]["unit"] == "N"
    assert fields["load_n"]["constraints"] == {"exclusiveMinimum": 0, "maximum": 1e7}
    assert fields["outcome"]["constraints"]["enum"] == ["broke", "held", "step", "handled"]
    assert pulls["schema"]["primaryKey"] == ["batch", "specimen"]


def test_a_frame_reads_the_pulls_without_this_program(package) -> None:
    frame = pd.read_csv(io.BytesIO(package["pulls.csv"]))
    assert len(frame) == 7
    assert frame["strength_lower_mpa"].tolist() == [3.5, 4.5, 5.0, 3.75, 0.0, 2.0, 2.2]
    strengths = pd.read_csv(io.BytesIO(package["strengths.csv"]))
    assert strengths["bound_mpa"].tolist()[0] == 1.5
    assert strengths["bound_mpa"].isna().tolist() == [False, True]


def test_the_same_publication_gives_the_same_package(made) -> None:
    assert data_package(made.publication_of()) == data_package(made.publication_of())


def test_the_licence_is_the_shops_choice(made) -> None:
    (licence,) = descriptor_of(data_package(made.publication_of()))["licenses"]
    assert licence["path"] == "https://creativecommons.org/licenses/by/4.0/"
    (other,) = descriptor_of(data_package(made.publication_of(licence="our own")))["licenses"]
    assert other == {"name": "our own", "title": "our own"}


def test_names_and_notes_stay_private_unless_chosen(made) -> None:
    pull = made.pull_of("1", lower=1.0, upper=1.0, notes="told in confidence", excluded_because="clamp fell off")
    publication = made.publication_of(pulls=(pull,), shop="Thimblewick Turnery")
    private = data_package(disclosed(publication))
    assert all(b"Thimblewick" not in content for content in private.values())
    assert b"told in confidence" not in private["pulls.csv"]
    assert b"clamp fell off" in private["pulls.csv"]
    public = data_package(disclosed(publication, chosen=(Private.SHOP, Private.NOTES)))
    assert b"told in confidence" in public["pulls.csv"]
    assert descriptor_of(public)["contributors"] == [{"title": "Thimblewick Turnery", "roles": ["author"]}]


@pytest.fixture(scope="module")
def opened(made) -> dict[str, bytes]:
    return data_package(made.publication_of())


def test_pandas_reads_every_table_with_the_types_the_descriptor_names(opened) -> None:
    for resource in json.loads(opened["datapackage.json"])["resources"]:
        frame = pd.read_csv(io.BytesIO(opened[resource["path"]]))
        fields = resource["schema"]["fields"]
        assert [field["name"] for field in fields] == list(frame.columns)
        for field in fields:
            cells = frame[field["name"]].dropna()
            if field["type"] in ("number", "integer") and len(cells):
                assert pd.api.types.is_numeric_dtype(cells), field["name"]
    pulls = pd.read_csv(io.BytesIO(opened["pulls.csv"]))
    assert pulls["load_n"].tolist() == [150.0] * 7
    assert pulls["strength_upper_mpa"].isna().sum() == 1


def test_a_spreadsheet_keeps_numbers_as_numbers_and_runs_nothing(opened, tmp_path) -> None:
    """A sheet filled cell by cell from the file, as an import of comma-separated values does it."""
    rows = list(csv.reader(io.StringIO(opened["pulls.csv"].decode("utf-8"), newline="")))
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append([float(cell) if cell.replace(".", "", 1).isdigit() else cell for cell in row])
    book.save(tmp_path / "pulls.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "pulls.xlsx").active
    titles = [cell.value for cell in sheet[1]]
    assert [sheet.cell(number, titles.index("load_n") + 1).value for number in range(2, 9)] == [150] * 7
    assert not [cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


def test_numbers_have_decimal_points_and_cells_are_parted_by_commas(opened) -> None:
    for name in ("pulls.csv", "strengths.csv", "bounds.csv", "families.csv"):
        text = opened[name].decode("utf-8")
        assert csv.Sniffer().sniff(text.splitlines()[0], delimiters=",;\t").delimiter == ","
        assert "\ufeff" not in text
    assert b",1.5," in opened["strengths.csv"]
