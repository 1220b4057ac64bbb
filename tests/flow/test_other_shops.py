"""Another shop's pulls, from the file to the verdict by command line and browser, and to what is published."""

from __future__ import annotations

import csv
import json
import tomllib
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from jointlab.app import publishing
from jointlab.app.cli import main
from jointlab.app.web.application import make_app
from jointlab.app.web.mount_state import state_of_document
from jointlab.app.web.shop import Shop

DEMO = Path(__file__).parents[2] / "datasets" / "demo"
BOWL = DEMO / "mounts" / "bowl_on_maple.toml"


def pries() -> list[str]:
    return [
        row
        for row in (DEMO / "pulls.csv").read_text(encoding="utf-8").splitlines()
        if row.startswith("batch") or (",hard maple scrap," in row and ",yellow wood glue," in row and ",pry," in row)
    ]


@pytest.fixture
def theirs(tmp_path: Path) -> Path:
    path = tmp_path / "theirs.csv"
    path.write_text("\n".join(pries()) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def book(tmp_path: Path) -> str:
    return str(tmp_path / "shop.db")


def decided(capsys, book: str, *words: str) -> tuple[int, dict]:
    capsys.readouterr()
    code = main(["decide", str(BOWL), "--book", book, "--json", *words])
    return code, json.loads(capsys.readouterr().out)


def codes(said: dict) -> set[str]:
    return {found["code"] for found in said["findings"]}


def renamed(theirs: Path, folder: Path) -> Path:
    rows = list(csv.reader(theirs.read_text(encoding="utf-8").splitlines()))
    place = rows[0].index("batch")
    path = folder / "mine.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([rows[0], *([*r[:place], f"mine {r[place]}", *r[place + 1 :]] for r in rows[1:])])
    return path


def test_the_same_pulls_pass_as_ones_own_and_never_as_another_shops(theirs, book, tmp_path, capsys):
    main(["import", str(theirs), "--book", str(tmp_path / "own.db")])
    code, own = decided(capsys, str(tmp_path / "own.db"))
    assert (code, own["verdict"]) == (0, "pass")
    main(["import", str(theirs), "--shop", "North", "--book", book])
    assert "No mount passes on them" in capsys.readouterr().out
    code, said = decided(capsys, book)
    assert (code, said["verdict"]) == (11, "undecided")
    assert said["margin_lower"] > said["margin_required"]
    assert "others_alone" in codes(said)


def test_nor_in_the_browser(theirs, book, capsys):
    main(["import", str(theirs), "--shop", "North", "--book", book])
    client = TestClient(make_app(Shop(place=book, names=frozenset({"testserver"}))))
    state = state_of_document(tomllib.loads(BOWL.read_text()), name="bowl_on_maple")
    page = client.get(f"/mount?{state.query}").text
    token = page.split('name="token" value="')[1].split('"')[0]
    client.post("/mount/decide", data={"token": token, "name": state.name, **state.texts})
    page = client.get(f"/mount?{state.query}").text
    assert "Take this look down" not in page
    assert "Undecided" in page
    assert "other shops&#39; evidence alone is never a pass" in page
    assert decided(capsys, book)[1]["verdict"] == "undecided"


def test_passed_off_as_ones_own_under_new_names_they_are_known_again(theirs, book, tmp_path, capsys):
    main(["import", str(theirs), "--shop", "North", "--book", book])
    assert main(["import", str(renamed(theirs, tmp_path)), "--book", book]) == 0
    code, said = decided(capsys, book)
    assert (code, said["verdict"]) == (11, "undecided")
    assert {"others_alone", "batches_copied"} <= codes(said)
    assert "reads as" in next(found["text"] for found in said["findings"] if found["code"] == "batches_copied")


def test_with_enough_of_ones_own_they_are_shown_and_not_counted(theirs, book, tmp_path, capsys):
    main(["import", str(theirs), "--book", book])
    _, own = decided(capsys, book)
    stronger = tmp_path / "stronger.csv"
    rows = list(csv.DictReader(theirs.read_text(encoding="utf-8").splitlines()))
    load = next(name for name in rows[0] if name.startswith("load_"))
    with stronger.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows({**row, load: f"{3.0 * float(row[load]):.2f}"} for row in rows)
    main(["import", str(stronger), "--shop", "North", "--book", book])
    _, said = decided(capsys, book)
    assert said["margin_lower"] == own["margin_lower"]
    assert said["criteria"]["confidence_spent"] == own["criteria"]["confidence_spent"]
    assert "others_left_out" in codes(said)


def test_what_is_published_is_the_shops_own_alone(theirs, book, tmp_path, monkeypatch):
    rows = pries()
    own = tmp_path / "own.csv"
    own.write_text("\n".join(row.replace("maple scrap", "maple offcut") for row in rows) + "\n", encoding="utf-8")
    main(["import", str(own), "--book", book])
    main(["import", str(theirs), "--shop", "North", "--book", book])
    monkeypatch.setattr(publishing, "publication_files", lambda pulls, *_, **__: {"pulls": pulls})
    published = publishing.results_files(book, publishing.Wish("ours"))["pulls"]
    assert {pull.joint.combination.substrate for pull in published} == {"hard maple offcut"}
    assert len(published) == len(rows) - 1
