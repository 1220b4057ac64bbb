import json
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from jointlab.app import planning, workflow
from jointlab.app.cli import main
from jointlab.app.planning import PlanWords, combinations_of, wish_of
from jointlab.app.saying import doubt_left_told
from jointlab.errors import InputError, UnknownEntryError
from jointlab.plan.values import SeeDifference, ShowStrength
from jointlab.record.csv_file import read_csv
from jointlab.record.joint import Combination, Rectangle, Ring
from jointlab.record.rig import Rig, RigKind
from jointlab.record.vocabulary import Action

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
    assert wish_of(hold_mpa=None, difference_pct=None, expected_mpa=4, spread_pct=20) is None
    with pytest.raises(InputError, match="one thing"):
        wish_of(hold_mpa=1.0, difference_pct=25.0, expected_mpa=4, spread_pct=20)


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


@pytest.fixture
def book(tmp_path):
    return str(tmp_path / "shop.db")


def filled_in(table, *, rows):
    header, *lines = table.read_text(encoding="utf-8").splitlines()
    columns = header.split(",")
    filled = []
    for line in lines[:rows]:
        cells = line.split(",")
        cells[columns.index("load_n")], cells[columns.index("outcome")] = "120", "broke"
        filled.append(",".join(cells))
    table.write_text("\n".join([header, *filled]) + "\n", encoding="utf-8")


def test_a_named_plan_is_kept_and_its_pulls_are_matched(book, tmp_path, capsys):
    folder = tmp_path / "spring"
    assert main([*WORDS, "--name", "Spring", "--looks", "2", "--book", book, "--out", str(folder)]) == 0
    assert "Kept in the book: Spring." in capsys.readouterr().out
    per_glue_up = len(planning.kept_plan(book, "spring").plan.glue_ups[0].specimens)
    filled_in(folder / "to-fill.csv", rows=per_glue_up)
    assert main(["import", str(folder / "to-fill.csv"), "--book", book]) == 0
    capsys.readouterr()
    assert main(["plan", "show", "spring", "--json", "--book", book]) == 0
    told = json.loads(capsys.readouterr().out)
    progress = told["progress"]
    assert (progress["done"], progress["complete_glue_ups"], progress["looks_due"]) == (per_glue_up, 1, 1)
    assert {one["batch"] for one in progress["left"]} == {"Spring-2"}
    assert progress["deviations"] == []
    assert main(["plan", "show", "spring", "--book", book]) == 0
    shown = capsys.readouterr().out
    assert "1 of 2 looks due" in shown
    assert "Left of Spring-2" in shown
    assert "Left of Spring-1" not in shown
    assert main(["plan", "list", "--book", book]) == 0
    assert capsys.readouterr().out.startswith(f"Spring: {per_glue_up} of {2 * per_glue_up} pulled, kept on ")


def test_what_was_pulled_otherwise_is_told(book, tmp_path, capsys):
    assert main([*WORDS, "--name", "Spring", "--book", book, "--table", str(tmp_path / "fill.csv")]) == 0
    filled_in(tmp_path / "fill.csv", rows=1)
    text = (tmp_path / "fill.csv").read_text(encoding="utf-8")
    (tmp_path / "fill.csv").write_text(text.replace(",disc,50,", ",disc,40,"), encoding="utf-8")
    assert main(["import", str(tmp_path / "fill.csv"), "--book", book]) == 0
    capsys.readouterr()
    assert main(["plan", "show", "Spring", "--book", book]) == 0
    assert "has another outline than planned" in capsys.readouterr().out


def test_a_kept_plan_changes_only_with_a_reason(book, capsys):
    asked = [*WORDS, "--name", "Spring", "--book", book]
    assert main(asked) == 0
    assert main([*asked, "--glue_ups", "3"]) == 2
    assert "--reason" in capsys.readouterr().err
    assert main([*asked, "--glue_ups", "3", "--reason", "a third day is free", "--by", "K."]) == 0
    kept = planning.kept_plan(book, "Spring")
    assert (kept.revision, len(kept.plan.glue_ups)) == (2, 3)


def test_a_plan_takes_no_name_whose_glue_ups_are_pulled_already(book, tmp_path, capsys):
    assert main([*WORDS, "--table", str(tmp_path / "fill.csv")]) == 0
    filled_in(tmp_path / "fill.csv", rows=2)
    assert main(["import", str(tmp_path / "fill.csv"), "--book", book]) == 0
    assert main([*WORDS, "--name", "plan", "--book", book]) == 2
    assert "plan-1" in capsys.readouterr().err


def test_a_plan_that_is_not_there_is_named_with_the_nearest(book):
    planning.keep_plan(book, planning.planned(book, words(name="Spring")))
    with pytest.raises(UnknownEntryError, match="Spring"):
        planning.kept_plan(book, "Sprig")


def test_a_table_that_may_be_filled_in_is_never_written_over(tmp_path, capsys):
    table = tmp_path / "fill.csv"
    assert main([*WORDS, "--table", str(table)]) == 0
    filled_in(table, rows=3)
    before = table.read_bytes()
    assert main([*WORDS, "--table", str(table)]) == 2
    assert table.read_bytes() == before


def test_bench_sheets_stand_beside_the_table(tmp_path, capsys):
    assert main([*WORDS, "--out", str(tmp_path / "new" / "sheets")]) == 0
    shown = capsys.readouterr().out
    assert "Bench sheets: " in shown
    text = "".join(page.extract_text() for page in PdfReader(tmp_path / "new" / "sheets" / "bench-sheets.pdf").pages)
    assert "plan-2/1" in text
    assert "stand beside its line" in text


def words(**changes):
    asked = {"combinations": ("pva on maple",), "expected_mpa": 3.0, "glued_from": "2026-12-01", "spread_pct": 15.0}
    return PlanWords(**(asked | changes))


def test_nothing_wished_is_two_glue_ups_of_six_and_what_they_can_show():
    show = planning.planned(None, words())
    assert (len(show.glue_ups), show.specimens_each) == (2, 12)
    assert isinstance(show.wish, ShowStrength)
    assert 0.8 <= show.chance < 0.81
    assert 0.1 < show.wish.required_mpa / 3.0 < 0.7
    see = planning.planned(None, words(combinations=("pva on maple", "epoxy on maple")))
    assert isinstance(see.wish, SeeDifference)
    assert 0.8 <= see.chance < 0.82
    assert 1.1 < see.wish.ratio < 1.3


def test_the_shop_s_rig_comes_first(book):
    with workflow.open_book(book) as opened:
        opened.keep_rig(Rig("spring scale", RigKind.BAR_AND_SCALE, capacity=196.0, arm_mm=250.0))
        opened.keep_rig(Rig("wrench", RigKind.TORQUE_WRENCH, capacity=200.0))
    made = planning.planned(book, words())
    assert made.rig == "spring scale"
    assert made.method.arm_mm == 250.0
    assert made.rig_fit.capacity == 196.0
    assert made.rig_fit.suits is False
    assert made.rig_fit.better_mm == 40.0
    assert any("A size of 40 mm would suit it" in finding.text for finding in made.findings)
    twist = planning.planned(book, words(action=Action.TWIST, diameter_mm=80.0))
    assert (twist.rig, twist.method.arm_mm) == ("wrench", None)
    with pytest.raises(InputError, match="does not test twist"):
        planning.planned(book, words(action=Action.TWIST, rig="Spring scale"))
    with pytest.raises(UnknownEntryError, match="wrench"):
        planning.planned(book, words(rig="wrenh"))


def test_specimens_may_be_rings_and_rectangles():
    ring = planning.planned(None, words(diameter_mm=60.0, hole_mm=30.0, action=Action.TWIST))
    assert ring.method.outline == Ring(60.0, 30.0)
    slab = planning.planned(None, words(width_mm=40.0, depth_mm=30.0, action=Action.SHEAR))
    assert slab.method.outline == Rectangle(40.0, 30.0)
    with pytest.raises(InputError, match="smaller than the diameter"):
        planning.planned(None, words(diameter_mm=30.0, hole_mm=30.0))


def test_looks_follow_whole_glue_ups():
    with pytest.raises(InputError, match="a look follows a whole glue-up"):
        planning.planned(None, words(looks=3))
    assert planning.planned(None, words(looks=2)).confidence_at_look == pytest.approx(0.975)


def test_the_chance_is_drawn(tmp_path, capsys):
    assert main([*WORDS, "--plot", str(tmp_path / "power.png")]) == 0
    assert (tmp_path / "power.png").read_bytes().startswith(b"\x89PNG")
    assert main([*WORDS, "--plot", str(tmp_path / "power.gif")]) == 2


@pytest.mark.parametrize("name", planning.WITHIN)
def test_sizes_beyond_any_joint_are_refused_by_name(tmp_path, name):
    for value in (5e-324, 1e300):
        words = replace(planning.PlanWords(("a on b",), 4.0, "2026-03-02", each=3), **{name: value})
        if name == "cure_h" and value < 1.0:
            continue
        with pytest.raises(InputError) as refused:
            planning.planned(tmp_path / "shop.db", words)
        assert [problem.column for problem in refused.value.problems] == [name]


def test_a_plan_says_what_earlier_looks_left_of_the_doubt(book, capsys):
    asked = [
        "plan", "--combination", "yellow wood glue on hard maple scrap", "--expected_mpa", "4", "--glued_from",
        "2026-12-01", "--book", book,
    ]  # fmt: skip
    workflow.import_file(book, Path("jointlab/app/demo_data/pulls.csv"))
    assert main(asked) == 0
    assert "looked at before" not in capsys.readouterr().out
    workflow.decide_mount(book, Path("jointlab/app/demo_data/mounts/bowl_on_maple.toml"), ())
    assert main([*asked, "--name", "Again"]) == 0
    told = "yellow wood glue on hard maple scrap was looked at before: 1 look left 50 % of the doubt"
    assert told in capsys.readouterr().out
    assert main(["plan", "show", "Again", "--book", book]) == 0
    assert told in capsys.readouterr().out
    (left,) = planning.doubts_left_for(book, planning.kept_plan(book, "Again").plan)
    assert left.left == 0.5
    assert "no mount passes on further looks" in doubt_left_told(replace(left, left=0.0))
