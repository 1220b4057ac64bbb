"""Readings become loads by the rig they were read on, and only blank cells are filled."""

import pytest

from jointlab.errors import InputError
from jointlab.record.amend import amended_pull
from jointlab.record.csv_file import read_csv
from jointlab.record.finding import FindingCode
from jointlab.record.reading import by_name, no_rigs, rig_questions, with_limits, with_loads
from jointlab.record.rig import Rig, RigCheck, RigKind, joint_load
from jointlab.record.row import checked_row, pull_of
from jointlab.record.vocabulary import Outcome

LEVER = Rig("Lever", RigKind.LEVER, ratio=5.0, tare=12.0, zero=1.0, capacity=400.0, resolution=0.5, class_pct=1.0)
STEPS = Rig("Weights", RigKind.WEIGHTS_IN_STEPS, ratio=2.0, capacity=500.0, resolution=1.0, step=25.0)
WRENCH = Rig("Wrench", RigKind.TORQUE_WRENCH, capacity=100.0, resolution=1.0)
BAR = Rig("Bar", RigKind.BAR_AND_SCALE, arm_mm=450.0, capacity=500.0)
GAUGE = Rig("Jack", RigKind.JACK_AND_GAUGE, ratio=500.0, capacity=10.0)


def known():
    return by_name((LEVER, STEPS, WRENCH, BAR, GAUGE))


def test_a_reading_gives_load_uncertainty_limit_and_leaves_no_reading():
    cells, problems = with_loads({"rig": " lever ", "reading_n": "101.0", "outcome": "broke"}, known)
    told = joint_load(LEVER, 101.0)
    assert problems == ()
    assert float(cells["load_n"]) == 512.0  # (101 - 1) 5 + 12
    assert float(cells["cap_n"]) == 2007.0  # (400 - 1) 5 + 12
    assert float(cells["uncertainty_pct"]) == told.uncertainty_pct
    assert "reading_n" not in cells
    assert "load_step_n" not in cells


def test_what_was_entered_stands_against_what_the_rig_would_fill_in():
    given = {"rig": "Lever", "reading_n": "101", "uncertainty_pct": "7", "cap_n": "900", "outcome": "held"}
    cells, _ = with_loads(given, known)
    assert (cells["uncertainty_pct"], cells["cap_n"], cells["outcome"]) == ("7", "900", "held")


def test_a_break_in_steps_was_held_one_step_before():
    cells, _ = with_loads({"rig": "Weights", "reading_n": "100", "outcome": "step"}, known)
    assert (float(cells["load_n"]), float(cells["held_n"]), float(cells["load_step_n"])) == (200.0, 150.0, 50.0)


def test_a_bar_brings_its_arm_to_a_pry_only():
    assert with_loads({"rig": "bar", "reading_n": "9", "action": "pry"}, known)[0]["arm_mm"] == "450.0"
    assert "arm_mm" not in with_loads({"rig": "bar", "reading_n": "9", "action": "pull"}, known)[0]


def test_a_wrench_gives_a_torque_and_a_gauge_a_force():
    assert with_loads({"rig": "wrench", "reading_nm": "30"}, known)[0]["torque_nm"] == "30.0"
    assert with_loads({"rig": "jack", "reading_mpa": "4"}, known)[0]["load_n"] == "2000.0"


def test_what_broke_when_handled_broke_below_the_least_its_rig_shows():
    assert with_loads({"rig": "lever", "outcome": "handled"}, known)[0]["load_n"] == "2.5"
    assert "load_n" not in with_loads({"rig": "bar", "outcome": "handled"}, known)[0]
    assert "load_n" not in with_loads({"outcome": "handled"}, known)[0]


@pytest.mark.parametrize("load", [{"load_n": "500"}, {"torque_nm": "3"}])
def test_what_broke_when_handled_keeps_a_load_that_was_entered_though_its_rig_shows_less(load):
    cells = {"rig": "lever", "outcome": "handled", **load}
    assert with_loads(cells, known) == (cells, ())


def test_small_loads_and_torques_are_taken_and_none_at_all_is_not():
    assert _entered(load_n="0.5").loading.load == 0.5
    twist = {"batch": "A", "specimen": "1", "tested_on": "2026-03-14", "glue": "g", "substrate": "s",
             "action": "twist", "shape": "disc", "diameter_mm": "50", "outcome": "held"}  # fmt: skip
    assert pull_of(checked_row({**twist, "torque_nm": "0.5"})).loading.load == 0.5
    with pytest.raises(InputError) as refused:
        checked_row({**twist, "torque_nm": "0"})
    assert refused.value.problems[0].column == "torque_nm"


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ({"reading_n": "9"}, "reading_n", "readings need a rig"),
        ({"reading_n": "9", "rig": "levr"}, "rig", "there is Lever"),
        ({"reading_n": "9", "rig": "lever", "load_n": "4"}, "reading_n", "the load stands there already"),
        ({"reading_n": "9", "reading_mpa": "1", "rig": "lever"}, "reading_n", "second reading"),
        ({"reading_mpa": "9", "rig": "lever"}, "reading_mpa", "write reading_n"),
        ({"reading_n": "401", "rig": "lever"}, "reading_n", "can show, 400 N (0.4 kn, 40.79 kgf, 89.92 lbf)"),
        ({"reading_n": "-4", "rig": "lever"}, "reading_n", "no load on the joint"),
    ],
)
def test_a_reading_that_gives_no_load_is_told(cells, column, words):
    (problem,) = with_loads(cells, known)[1]
    assert problem[0] == column
    assert words in problem[1]


HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,rig,reading_kgf,outcome\n"
ROW = "A,1,2026-03-14,white glue,maple,pull,disc,50,lever,{},broke\n"


def test_a_file_of_readings_keeps_each_as_it_was_entered():
    (pull,) = read_csv((HEADER + ROW.format("20")).encode(), name="f.csv", rigs=known).pulls
    assert pull.loading.load == pytest.approx((20 * 9.80665 - 1.0) * 5.0 + 12.0, rel=1e-12)
    assert ("reading_kgf", "20") in pull.entered
    assert pull.outcome is Outcome.BROKE


def test_a_bad_reading_is_told_once_with_its_row():
    with pytest.raises(InputError) as told:
        read_csv((HEADER + ROW.format("20") + ROW.replace(",1,", ",2,").format("90")).encode(), name="f", rigs=known)
    (problem,) = told.value.problems
    assert (problem.row, problem.column, problem.value) == (3, "reading_kgf", "90")


def test_a_corrected_reading_gives_the_load_anew_and_a_corrected_load_replaces_the_reading():
    (pull,) = read_csv((HEADER + ROW.format("20")).encode(), name="f.csv", rigs=known).pulls
    again = amended_pull(pull, {"reading_kgf": "10"}, rigs=known)
    assert again.loading.load == pytest.approx((10 * 9.80665 - 1.0) * 5.0 + 12.0, rel=1e-12)
    assert [cell for cell in again.entered if cell[0].startswith("reading")] == [("reading_kgf", "10")]
    plain = amended_pull(again, {"load_n": "77"}, rigs=known)
    assert plain.loading.load == 77.0
    assert not [cell for cell in plain.entered if cell[0].startswith("reading")]


def _entered(**cells):
    plain = {"batch": "A", "specimen": "1", "tested_on": "2026-03-14", "glue": "g", "substrate": "s", "action": "pull",
             "shape": "disc", "diameter_mm": "50", "load_n": "900", "outcome": "held"}  # fmt: skip
    return pull_of(checked_row({**plain, **cells}))


def test_a_load_that_was_entered_takes_limit_and_step_from_its_rig_and_keeps_what_it_says():
    pull = with_limits(_entered(rig="weights"), known)
    assert (pull.loading.cap, pull.loading.load_step) == (1000.0, 50.0)
    assert (pull.loading.load, pull.outcome, pull.loading.uncertainty_pct) == (900.0, Outcome.HELD, None)
    own = with_limits(_entered(rig="weights", cap_n="950", load_step_n="10"), known)
    assert (own.loading.cap, own.loading.load_step) == (950.0, 10.0)


def test_no_limit_is_taken_from_a_rig_that_cannot_have_read_the_load():
    assert with_limits(_entered(rig="weights", load_n="1001"), known).loading.cap is None
    assert with_limits(_entered(rig="wrench"), known) == _entered(rig="wrench")
    assert with_limits(_entered(rig="another"), known) == _entered(rig="another")
    assert with_limits(_entered(), no_rigs) == _entered()


def test_a_rig_is_questioned_by_the_load_it_read_and_on_the_day_of_the_test():
    checked = Rig("Scale", RigKind.SCALE_IN_LINE, capacity=1000.0, checks=(RigCheck("2026-01-10", 100.0, 100.0),))

    def codes(**cells):
        return [found.code for found in rig_questions(_entered(rig="scale", **cells), lambda: by_name((checked,)))]

    assert codes(load_n="500") == []
    assert codes(load_n="150") == [FindingCode.RIG_RANGE]
    assert codes(load_n="850", tested_on="2027-03-14") == [FindingCode.RIG_RANGE, FindingCode.RIG_CHECK_OLD]
    assert rig_questions(_entered(rig="scale"), no_rigs) == ()
    assert rig_questions(_entered(), known) == ()
