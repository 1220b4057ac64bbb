"""The rigs of a shop by command, and the readings taken on them."""

import json

import pytest

from jointlab.app.cli import main

PULL = ["--batch", "A", "--tested_on", "2026-03-14", "--glue", "white glue", "--substrate", "maple", "--action", "pull"]
DISC = ["--shape", "disc", "--diameter_mm", "25"]
SCALE = ["--kind", "scale_in_line", "--capacity_kgf", "50", "--resolution_kgf", "0.1", "--class_pct", "0.5"]


@pytest.fixture
def book(tmp_path):
    place = str(tmp_path / "shop.db")
    assert main(["rigs", "keep", "scale", *SCALE, "--book", place]) == 0
    return place


def test_a_rig_is_kept_checked_and_changed_with_its_history(book, capsys):
    assert main(["rigs", "check", "Scale", "--known_kg", "20", "--shown_kg", "20.5", "--date", "2026-03-01",
                 "--book", book]) == 0  # fmt: skip
    assert main(["rigs", "keep", "scale", "--class_pct", "3", "--reason", "it drifts", "--book", book]) == 0
    capsys.readouterr()
    assert main(["rigs", "history", "scale", "--book", book]) == 0
    told = capsys.readouterr().out
    assert "revision 2" in told
    assert "checked on 2026-03-01" in told
    assert "revision 3" in told
    assert "it drifts" in told
    assert "cap 490.3 N, resolution 0.9807 N, class 3 %, checked 2026-03-01 (known 196.1, showed 201 N)" in told


def test_a_list_of_rigs_says_which_was_never_checked(book, capsys):
    capsys.readouterr()
    assert main(["rigs", "--book", book]) == 0
    assert "never checked against a known mass" in capsys.readouterr().out


def test_a_reading_is_stored_as_the_load_it_means(book, capsys):
    capsys.readouterr()
    words = [*PULL, *DISC, "--rig", "SCALE", "--specimen", "1", "--reading_kgf", "40", "--outcome", "broke"]
    assert main(["record", *words, "--book", book, "--json"]) == 0
    (pull,) = json.loads(capsys.readouterr().out)["pulls"]
    assert pull["load_n"] == pytest.approx(392.266, rel=1e-9)
    assert pull["cap_n"] == pytest.approx(490.3325, rel=1e-9)
    assert pull["uncertainty_pct"] == pytest.approx(0.3062, abs=5e-5)


def test_a_load_read_on_a_rig_takes_its_limit_and_is_told_when_it_lies_outside_its_good_range(book, capsys):
    capsys.readouterr()
    words = [*PULL, *DISC, "--rig", "scale", "--specimen", "1", "--load_kgf", "4", "--outcome", "broke"]
    assert main(["record", *words, "--book", book, "--json"]) == 0
    (pull,) = json.loads(capsys.readouterr().out)["pulls"]
    assert pull["cap_n"] == pytest.approx(490.3325, rel=1e-9)
    assert pull["uncertainty_pct"] is None
    assert [found["code"] for found in pull["findings"]][-2:] == ["rig_range", "rig_unchecked"]
    check = ["--known_kg", "20", "--shown_kg", "20", "--date", "2024-01-02"]
    assert main(["rigs", "check", "scale", *check, "--book", book]) == 0
    words = [*PULL, *DISC, "--rig", "scale", "--specimen", "2", "--load_kgf", "45", "--outcome", "broke"]
    assert main(["record", *words, "--book", book]) == 0
    told = capsys.readouterr().out
    assert "such a peak is 90% of the range of scale, which may reach its limit first" in told
    assert "was last checked on 2024-01-02" in told


def test_what_fell_apart_in_the_hand_needs_no_load_where_the_rig_is_known(book, capsys):
    capsys.readouterr()
    words = [*PULL, *DISC, "--rig", "scale", "--specimen", "1", "--outcome", "handled"]
    assert main(["record", *words, "--book", book, "--json"]) == 0
    (pull,) = json.loads(capsys.readouterr().out)["pulls"]
    assert pull["load_n"] == pytest.approx(0.980665, rel=1e-9)
    assert pull["stress_mpa"]["lower"] == 0.0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["keep", "x"], "must be one of scale_in_line"),
        (["keep", "x", "--kind", "lever"], "a lever needs it"),
        (["keep", "x", "--kind", "scale_in_line", "--capacity_psi", "3"], "is not a column of a scale_in_line"),
        (["keep", "x", "--kind", "scale_in_line", "--capacity_n", "much"], "must be a number"),
        (["keep", "scale", "--class_pct", "2"], "reason"),
        (["check", "scale", "--known_kg", "20"], "shown_*"),
        (["check", "scale", "--known_kg", "0", "--shown_kg", "1"], "must be greater than 0"),
        (["check", "scale", "--known_kg", "1", "--shown_kg", "1", "--date", "soon"], "date"),
    ],
)
def test_what_cannot_be_kept_of_a_rig_is_told(book, words, told, capsys):
    assert main(["rigs", *words, "--book", book]) == 2
    assert told in capsys.readouterr().err


def test_an_unknown_rig_is_answered_with_the_nearest(book, capsys):
    assert main(["rigs", "history", "scal", "--book", book]) == 3
    assert "scale" in capsys.readouterr().err
