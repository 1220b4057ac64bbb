from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

DATASETS = Path(__file__).parents[2] / "datasets"
FILES = sorted(path for path in DATASETS.rglob("*") if path.suffix in (".csv", ".toml"))
TABLES = [path for path in FILES if path.suffix == ".csv"]
UNIT_OF_SUFFIX = {
    "mm": "mm",
    "kgf": "kgf",
    "lbf": "lbf",
    "n": "N",
    "nm": "N m",
    "pct": "%",
    "h": "h",
    "c": "C",
    "g_m2": "g/m2",
}
UNITS_OF_OTHERS = {"celsius": "C", "rh": "%", "days": "d", "pounds": "lbf"}


def named(path: Path) -> str:
    return path.relative_to(DATASETS).as_posix()


def section_of(path: Path) -> str:
    """The part of the nearest card that describes a file."""
    card = next(folder / "card.md" for folder in path.parents if (folder / "card.md").exists())
    title = path.relative_to(card.parent).as_posix()
    parts = re.split(r"^## (.+)$", card.read_text(encoding="utf-8"), flags=re.MULTILINE)
    sections = dict(zip(parts[1::2], parts[2::2], strict=True))
    return sections[title]


def table_of(section: str) -> list[tuple[str, str, str]]:
    lines = [line for line in section.splitlines() if line.startswith("|")]
    cells = [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in lines]
    assert cells[0] == ("column", "unit", "meaning")
    return cells[2:]


def unit_in_name(column: str) -> str:
    if column in UNITS_OF_OTHERS:
        return UNITS_OF_OTHERS[column]
    return next((unit for suffix, unit in UNIT_OF_SUFFIX.items() if column.endswith(f"_{suffix}")), "-")


def test_there_are_files_to_hold_cards_against() -> None:
    assert {named(path) for path in TABLES} >= {
        "demo/pulls.csv",
        "adhesive_bond_336/original.csv",
        "adhesive_bond_336/pulls.csv",
    }


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_file_has_a_card_with_source_licence_and_quirks(path: Path) -> None:
    section = section_of(path)
    for fact in ("Source", "Licence", "Quirks"):
        assert re.search(rf"^- {fact}: \S", section, flags=re.MULTILINE), fact


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_a_card_names_the_columns_of_its_file_in_order_with_their_units(path: Path) -> None:
    header = path.read_text(encoding="utf-8").splitlines()[0].split(",")
    table = table_of(section_of(path))
    assert [row[0] for row in table] == header
    assert [row[1] for row in table] == [unit_in_name(column) for column in header]
    assert all(row[2] for row in table)


@pytest.mark.parametrize("path", TABLES, ids=named)
def test_a_card_counts_the_rows_of_its_file(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as lines:
        rows = sum(1 for _ in csv.reader(lines)) - 1
    assert f"- Rows: {rows}\n" in section_of(path)


def test_nobody_elses_measurements_are_told_as_ours_nor_invented_ones_as_real() -> None:
    assert "Invented." in (DATASETS / "demo" / "card.md").read_text(encoding="utf-8")
    with (DATASETS / "demo" / "pulls.csv").open(encoding="utf-8", newline="") as lines:
        assert all(row["notes"].startswith("invented") for row in csv.DictReader(lines))
    with (DATASETS / "adhesive_bond_336" / "pulls.csv").open(encoding="utf-8", newline="") as lines:
        assert all("invented" in row["notes"] for row in csv.DictReader(lines))
    card = (DATASETS / "adhesive_bond_336" / "card.md").read_text(encoding="utf-8")
    assert card.count("- Licence: not established") == 2
