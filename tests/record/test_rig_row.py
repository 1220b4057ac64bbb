"""A rig at the door."""

from __future__ import annotations

import pytest

from jointlab.errors import InputError
from jointlab.record.rig import Rig, RigCheck, RigKind
from jointlab.record.rig_row import cells_in_units, cells_of_rig, checked_rig

LEVER = {"name": "Beam", "kind": "lever", "ratio": "5", "capacity": "500", "zero": "1.5"}


def test_a_good_row_is_a_rig_and_blanks_take_their_defaults():
    check = RigCheck("2026-03-01", 100.0, 101.0)
    assert checked_rig(LEVER, checks=(check,)) == Rig(
        "Beam", RigKind.LEVER, ratio=5.0, capacity=500.0, zero=1.5, checks=(check,)
    )
    assert checked_rig({"name": "S", "kind": "scale_in_line"}) == Rig("S", RigKind.SCALE_IN_LINE)


@pytest.mark.parametrize(
    ("cells", "column", "said"),
    [
        ({"name": None}, "name", "is needed"),
        ({"kind": None}, "kind", "one of scale_in_line, lever"),
        ({"kind": "crane"}, "kind", "must be one of"),
        ({"ratio": None}, "ratio", "a lever needs it"),
        ({"ratio": "0"}, "ratio", "greater than 0"),
        ({"kind": "jack_and_gauge", "ratio": None}, "ratio", "piston's area"),
        ({"arm_mm": "300"}, "arm_mm", "belongs to bar_and_scale"),
        ({"zero": "500"}, "zero", "less than the capacity, 500"),
        ({"resolution": "501"}, "resolution", "less than the capacity"),
        ({"class_pct": "100"}, "class_pct", "less than 100"),
        ({"tare": "nan"}, "tare", "finite"),
        ({"colour": "red"}, "colour", "not permitted"),
    ],
)
def test_a_bad_cell_is_told(cells, column, said):
    written = {name: text for name, text in {**LEVER, **cells}.items() if text is not None}
    with pytest.raises(InputError) as refused:
        checked_rig(written)
    assert [problem.column for problem in refused.value.problems] == [column]
    assert said in refused.value.problems[0].message


def test_all_problems_are_told_at_once():
    with pytest.raises(InputError) as refused:
        checked_rig({"kind": "lever", "zero": "x", "step": "-1"})
    assert {problem.column for problem in refused.value.problems} == {"name", "ratio", "zero", "step"}


def test_the_cells_of_a_rig_read_back_to_it():
    rig = Rig("bar", RigKind.BAR_AND_SCALE, ratio=1.0, arm_mm=0.1 + 0.2, tare=30.0, capacity=490.3, notes="on the wall")
    cells = cells_of_rig(rig)
    assert cells["arm_mm"] == "0.30000000000000004"
    assert cells["kind"] == "bar_and_scale"
    assert "step" not in cells
    assert checked_rig(cells) == rig


def test_cells_with_units_are_taken_in_the_units_a_rig_is_kept_in():
    # 1 lbf = 4.4482216152605 N, 1 kgf = 9.80665 N and 1 in = 25.4 mm, exactly
    written = {"name": "Bar", "kind": "bar_and_scale", "capacity_lbf": "100", "zero_kgf": "1", "arm_in": "12"}
    cells = cells_in_units(written)
    assert list(cells) == ["name", "kind", "capacity", "zero", "arm_mm"]
    assert float(cells["capacity"]) == pytest.approx(444.82216152605, rel=1e-12)
    assert float(cells["zero"]) == pytest.approx(9.80665, rel=1e-12)
    assert float(cells["arm_mm"]) == pytest.approx(304.8, rel=1e-12)
    assert checked_rig(cells).capacity == pytest.approx(444.82216152605, rel=1e-12)
