import pytest

from jointlab.app.cli import main
from jointlab.app.planning import combinations_of, wish_of
from jointlab.errors import InputError
from jointlab.plan.values import SeeDifference, ShowStrength
from jointlab.record.csv_file import read_csv
from jointlab.record.joint import Combination

WORDS = [
    "plan", "--combination", "pva on maple", "--combination", "epoxy on maple (sanded)", "--difference_pct", "40",
    "--expected_mpa", "3", "--spread_pct", "15", "--glued_from", "2026-12-01",
]  # fmt: skip


def test_words_name_glue_substrate_and_preparation():
    assert combinations_of(["pva on hard maple", "epoxy on ply (sanded 120)"]) == (
        Combination("pva", "hard maple"),
        Combination("epoxy", "ply", "sanded 120"),
    )
    with pytest.raises(InputError) as caught:
        combinations_of(["pva", "glue on wood", "on"])
    assert [problem.value for problem in caught.value.problems] == ["pva", "on"]


def test_a_wish_is_one_thing():
    show = wish_of(hold_mpa=1.5, difference_pct=None, expected_mpa=4, spread_pct=20)
    see = wish_of(hold_mpa=None, difference_pct=25, expected_mpa=4, spread_pct=20)
    assert isinstance(show, ShowStrength)
    assert isinstance(see, SeeDifference)
    assert see.ratio == 1.25
    for both in ((None, None), (1.0, 25.0)):
        with pytest.raises(InputError, match="one thing"):
            wish_of(hold_mpa=both[0], difference_pct=both[1], expected_mpa=4, spread_pct=20)


def test_the_plan_is_told_and_its_filled_table_imports(tmp_path, capsys):
    table = tmp_path / "fill.csv"
    assert main([*WORDS, "--table", str(table)]) == 0
    shown = capsys.readouterr().out
    assert "chance of success" in shown
    assert "Cautions" in shown
    header, *rows = table.read_text(encoding="utf-8").splitlines()
    columns = header.split(",")
    load, outcome = columns.index("load_n"), columns.index("outcome")
    filled = []
    for row in rows:
        cells = row.split(",")
        cells[load], cells[outcome] = "120", "broke"
        filled.append(",".join(cells))
    pulls = read_csv("\n".join([header, *filled]).encode(), name="filled.csv").pulls
    assert {pull.joint.combination.preparation for pull in pulls} == {"", "sanded"}
    assert len(pulls) == len(rows) >= 12


def test_the_same_seed_draws_the_same_orders_and_another_does_not(capsys):
    told = []
    for seed in ("1", "1", "2"):
        assert main([*WORDS, "--seed", seed]) == 0
        told.append(capsys.readouterr().out)
    assert told[0] == told[1] != told[2]


def test_what_cannot_be_planned_is_told(capsys):
    assert main([*WORDS[:-1], "someday"]) == 2
    assert main([*WORDS, "--hold_mpa", "1"]) == 2
