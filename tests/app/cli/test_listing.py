"""The list of pulls, in tables of so many however long it is."""

from __future__ import annotations

import json

import pytest

from jointlab.app import workflow
from jointlab.app.answers import pulls_document
from jointlab.app.cli import listing, main

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_n,outcome"


@pytest.fixture
def seven(tmp_path, capsys):
    rows = [f"A,{n},2026-03-14,g,s,pull,disc,50,{1500 + n},broke" for n in range(1, 8)]
    (tmp_path / "seven.csv").write_text("\n".join([HEADER, *rows]))
    place = str(tmp_path / "shop.db")
    assert main(["import", str(tmp_path / "seven.csv"), "--book", place]) == 0
    capsys.readouterr()
    return place


def test_a_list_that_fits_is_one_table_under_its_number(seven, capsys):
    assert main(["pulls", "--book", seven]) == 0
    said = capsys.readouterr().out
    assert said.splitlines()[0].strip() == "7 pulls"
    assert said.count("specimen") == 1


def test_a_longer_list_comes_in_tables_that_say_which_pulls_they_hold(seven, capsys, monkeypatch):
    monkeypatch.setattr(listing, "IN_A_TABLE", 3)
    assert main(["pulls", "--book", seven]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.strip() for line in lines if line.startswith("Pulls ")] == [
        "Pulls 1 to 3",
        "Pulls 4 to 6",
        "Pulls 7 to 7",
    ]
    assert lines[-1] == "7 pulls."
    assert [line.split()[0] for line in lines if " A " in line] == [str(n) for n in range(1, 8)]


@pytest.mark.parametrize("limit", [2, 3, 5])
def test_a_list_cut_short_says_how_to_go_on(seven, capsys, monkeypatch, limit):
    monkeypatch.setattr(listing, "IN_A_TABLE", 3)
    assert main(["pulls", "--limit", str(limit), "--book", seven]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == f"More may follow: --after {limit}"


def test_an_empty_list_is_a_table_without_rows(tmp_path, capsys):
    assert main(["pulls", "--book", str(tmp_path / "new.db")]) == 0
    assert capsys.readouterr().out.startswith("0 pulls")


@pytest.mark.parametrize("limit", [0, 1, 7])
def test_json_that_comes_piece_by_piece_is_the_document_to_the_byte(seven, capsys, limit):
    words = ["--after", "7"] if limit == 0 else ["--limit", str(limit)]
    assert main(["pulls", "--json", *words, "--book", seven]) == 0
    said = capsys.readouterr().out
    listed = workflow.list_pulls(seven)[:limit]
    assert said == pulls_document(listed).model_dump_json() + "\n"
    assert len(json.loads(said)["pulls"]) == limit


def test_a_history_tells_numbers_to_as_few_digits_as_part_them(seven, capsys):
    for load in ("102.1", "102.1000001", "102.1"):
        words = ["pulls", "correct", "1", "--load_kgf", load, "--reason", "misread", "--book", seven]
        assert main(words) == 0
    assert main(["pulls", "correct", "1", "--notes", "a knot", "--reason", "seen later", "--book", seven]) == 0
    capsys.readouterr()
    assert main(["pulls", "history", "1", "--book", seven]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "load_n: 1501 -> 1001.26" in said
    assert "load_n: 1001.25896" in said
    assert "notes: blank -> a knot" in said
