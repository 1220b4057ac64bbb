"""Files as they really arrive: each is refused whole, with a message that says what to do."""

import json

import pytest

from jointlab.app.cli import main

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_kgf,arm_mm,outcome"
ROW = "A,1,2026-03-14,white glue,maple,pry,disc,50,12.5,300,broke"


def csv(header=HEADER, *rows):
    return "\n".join([header, *(rows or (ROW,))]).encode() + b"\n"


def changed(*pairs):
    row = ROW
    for old, new in pairs:
        assert old in row
        row = row.replace(old, new)
    return csv(HEADER, row)


BAD = {
    "an empty file": (b"", "is empty"),
    "a header alone": (csv(HEADER, "").rstrip() + b"\n", "no pulls"),
    "semicolons": (csv(HEADER.replace(",", ";"), ROW.replace(",", ";")), "semicolons"),
    "tabs": (csv(HEADER.replace(",", "\t"), ROW.replace(",", "\t")), "is not a column"),
    "Latin-1": (csv(HEADER, ROW.replace("white", "wei\u00df")).decode().encode("latin-1"), "UTF-8"),
    "UTF-16": (csv().decode().encode("utf-16"), "UTF-8"),
    "a spreadsheet saved as it is": (b"PK\x03\x04\x14\x00\x06\x00\x08\x00\xff\xfe", "UTF-8"),
    "zero bytes": (csv().replace(b"maple", b"ma\x00ple"), "zero byte"),
    "an open quotation mark": (csv(HEADER, '"' + ROW), "quotation marks"),
    "an empty first row": (b"\n" + csv(), "first row must be the header"),
    "a cell too many": (csv(HEADER, ROW + ",more"), "has 12 cells"),
    "a column without its unit": (csv(HEADER.replace("diameter_mm", "diameter")), "needs its unit"),
    "an unknown unit": (csv(HEADER.replace("diameter_mm", "diameter_inch")), "that unit is not known"),
    "an unknown column": (csv(HEADER.replace("substrate", "subtrate")), "did you mean substrate"),
    "one quantity twice": (csv(HEADER + ",load_n", ROW + ",122.6"), "keep one of them"),
    "a decimal comma": (csv(HEADER, ROW.replace("12.5", '"12,5"')), "decimal point"),
    "a thousands mark": (csv(HEADER, ROW.replace("12.5", '"1,200.5"')), "leave out what separates"),
    "a unit in the cell": (changed(("12.5", "12.5 kg")), "unit belongs in the column"),
    "not a number": (changed(("12.5", "nan")), "must be a number"),
    "a negative size": (changed((",50,", ",-50,")), "greater than 0"),
    "a word outside the list": (changed((",pry,", ",bend,")), "pull, pry, shear, twist"),
    "a day that does not exist": (changed(("2026-03-14", "2026-02-30")), "day"),
    "a date of another land": (changed(("2026-03-14", "14.03.2026")), "ISO date"),
    "a pry without its arm": (changed((",300,", ",,")), "needs the arm"),
    "a torque in a pull": (csv(HEADER + ",torque_nm", ROW + ",40"), "loaded by a force"),
    "a hole wider than the ring": (
        csv(HEADER + ",hole_mm", ROW.replace("disc", "ring") + ",60"), "less than the diameter",
    ),
    "a step that holds more than it broke at": (
        csv(HEADER + ",held_kgf", ROW.replace("broke", "step") + ",13"), "must be less than the load",
    ),
    "shares that do not sum": (csv(HEADER + ",wood_pct,adhesive_pct", ROW + ",50,30"), "sum to 80"),
    "the same specimen twice": (csv(HEADER, ROW, ROW), "in row 2 already"),
    "glued after it was tested": (csv(HEADER + ",glued_on", ROW + ",2026-03-20"), "must not be after"),
    "handled without a load": (changed((",12.5,", ",,"), ("broke", "handled")), "broke when handled"),
    "a reading without a rig": (csv(HEADER.replace("load_kgf", "reading_kgf")), "readings need a rig"),
}  # fmt: skip


def test_there_are_more_than_twenty_five_kinds():
    assert len(BAD) >= 25


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_is_refused_whole_with_what_to_do(kind, tmp_path, capsys):
    content, words = BAD[kind]
    file, book = tmp_path / "pulls.csv", str(tmp_path / "shop.db")
    file.write_bytes(content)
    assert main(["import", str(file), "--book", book, "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert any(words in problem["message"] for problem in error["problems"]), error
    assert main(["import", str(file), "--book", book]) == 2
    assert "Traceback" not in capsys.readouterr().err
    assert main(["pulls", "--book", book, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["pulls"] == []


@pytest.mark.parametrize("name", ["no-such-file.csv", "pulls.xlsx", "."])
def test_a_file_that_is_none_is_told(name, tmp_path, capsys):
    assert main(["import", str(tmp_path / name), "--book", str(tmp_path / "shop.db"), "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["kind"] == "input"
