"""The field record as it is typed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from jointlab.app import workflow
from jointlab.app.cli import main, mounts

DEMO = Path("jointlab/app/demo_data")
BOWL = str(DEMO / "mounts" / "bowl_on_maple.toml")


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    place = tmp_path_factory.mktemp("typed") / "shop.db"
    workflow.import_file(place, DEMO / "pulls.csv")
    assert main(["mounts", "start", BOWL, "--name", "bowl", "--book", str(place)]) == 0
    return place


@pytest.fixture
def book(filled, tmp_path, capsys):
    capsys.readouterr()
    return str(shutil.copyfile(filled, tmp_path / "shop.db"))


def typed(capsys, book, *words):
    code = main(["mounts", *words, "--book", book])
    caught = capsys.readouterr()
    return code, caught.out, caught.err


def test_a_mount_is_proofed_followed_ended_and_listed(book, capsys, tmp_path):
    _, told, _ = typed(capsys, book, "proof", "bowl")
    assert told.startswith("Proof at 1.5 times the named catch: ")
    assert "Never react on the spindle lock" in told
    pull = ["--load_kgf", "600", "--height_mm", "60", "--bar_mm", "150"]
    code, told, _ = typed(capsys, book, "proof", "bowl", *pull, "--held")
    assert code == 0
    assert "times the named catch, held." in told
    _, told, _ = typed(capsys, book, "event", "bowl", "--phase", "roughing", "--hours", "0.5", "--firm", "1")
    assert "The verdict is void (catches: 1 firm)" in told
    code, told, _ = typed(capsys, book, "end", "bowl", "--as", "finished", "--block", "parted")
    assert (code, "It was said: pass: margin met" in told) == (0, True)
    drawn = tmp_path / "happened.svg"
    _, told, _ = typed(capsys, book, "--plot", str(drawn))
    assert "None of it is entered as a strength." in told
    assert "1 firm" in told
    assert drawn.read_text(encoding="utf-8").startswith("<?xml")
    _, told, _ = typed(capsys, book, "show", "bowl")
    assert "roughing, 0.5 h, 1 firm catch" in told


def test_the_list_is_one_object(book, capsys):
    code, told, _ = typed(capsys, book, "list", "--json")
    document = json.loads(told)
    assert (code, document["schema"], document["mounts"][0]["name"]) == (0, 1, "bowl")
    assert document["mounts"][0]["ended"] is None
    assert json.loads(typed(capsys, book, "show", "bowl", "--json")[1]) == document


def test_prying_off_with_the_scale_is_recorded_or_offered(book, capsys):
    end = ["end", "bowl", "--as", "finished", "--block", "pried_with_scale"]
    _, offered, _ = typed(capsys, book, *end)
    assert "jointlab record --batch Y2" in offered
    _, stored, _ = typed(capsys, book, *end, "--load_kgf", "110", "--arm_mm", "400")
    assert "A full-size pull for nothing:\nStored as pull " in stored
    assert "broke at 2 MPa" in stored


def test_turning_beyond_the_speed_that_was_decided_is_told(book, capsys):
    told = typed(capsys, book, "event", "bowl", "--hours", "1", "--top_rpm", "900")[1]
    assert "The verdict is void (turned at 900 rpm, decided for up to 600)." in told


def test_a_second_ending_puts_the_first_right_and_both_are_shown(book, capsys):
    typed(capsys, book, "end", "bowl", "--as", "finished", "--block", "parted")
    told = typed(capsys, book, "end", "bowl", "--as", "let_go", "--block", "by_itself")[1]
    assert "stays in the book: finished, block parted." in told
    shown = typed(capsys, book, "show", "bowl")[1]
    assert "finished, block parted (put right later)" in shown
    assert "let go, block by itself" in shown


def test_a_load_that_does_not_read_ends_nothing(book, capsys):
    words = ["end", "bowl", "--as", "finished", "--block", "pried_with_scale", "--load_kgf", "48,5", "--arm_mm", "300"]
    code, told, err = typed(capsys, book, *words)
    assert (code, told) == (2, "")
    assert "load_kgf = '48,5'" in err
    assert "on the lathe" in typed(capsys, book, "list")[1]


def test_three_questions_are_asked_on_a_terminal(book, capsys, monkeypatch):
    answers = iter(["finished", "pried_with_scale", "110 400"])
    asked = []

    def answer(question, **_):
        asked.append(question)
        return next(answers)

    monkeypatch.setattr(mounts, "_on_terminal", lambda: True)
    monkeypatch.setattr(mounts.typer, "prompt", answer)
    code, told, _ = typed(capsys, book, "end", "bowl")
    assert code == 0
    assert [question[:6] for question in asked] == ["1 of 3", "2 of 3", "3 of 3"]
    assert "Stored as pull " in told


@pytest.mark.parametrize(
    ("words", "column"),
    [
        (["end", "bowl"], "--as"),
        (["end", "bowl", "--as", "exploded", "--block", "parted"], "--as"),
        (["event", "bowl", "--phase", "polishing"], "--phase"),
        (["proof", "bowl", "--held"], "--load_kgf"),
        (["proof", "bowl", "--load_kgf", "60", "--height_mm", "50", "--bar_mm", "100"], "--held or --failed"),
    ],
)
def test_what_is_missing_or_unknown_is_told_by_flag(words, column, book, capsys):
    code, _, told = typed(capsys, book, *words)
    assert code == 2
    assert column in told


def test_an_unknown_mount_is_told_with_the_nearest(book, capsys):
    code, _, told = typed(capsys, book, "show", "bowll")
    assert code == 3
    assert "bowl" in told


def test_an_empty_book_says_how_to_begin(tmp_path, capsys):
    _, told, _ = typed(capsys, str(tmp_path / "empty.db"))
    assert told == "No mount is in this book: jointlab mounts start FILE.toml\n"
