from __future__ import annotations

import csv
import importlib.util
from collections import Counter
from pathlib import Path

from jointlab.record.csv_file import read_csv

FOLDER = Path(__file__).parents[2] / "datasets" / "adhesive_bond_336"
POUND_FORCE_N = 0.45359237 * 9.80665  # exact by definition


def script():
    spec = importlib.util.spec_from_file_location("convert", FOLDER.parent / "convert_adhesive_bond.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_committed_pulls_are_what_the_script_makes_of_the_original() -> None:
    original = (FOLDER / "original.csv").read_text(encoding="utf-8")
    assert script().converted(original) == (FOLDER / "pulls.csv").read_text(encoding="utf-8")


def test_the_336_loads_are_read_as_42_conditions_of_eight() -> None:
    pulls = read_csv((FOLDER / "pulls.csv").read_bytes(), name="pulls.csv").pulls
    assert len(pulls) == 336
    assert set(Counter(pull.joint.combination.preparation for pull in pulls).values()) == {8}
    assert len({pull.batch for pull in pulls}) == 42
    # First row of the original: 50 C, 20 % humidity, 1 day, 8.196855 lbf.
    assert pulls[0].joint.combination.preparation == "50 C 20 % RH 1 d"
    assert pulls[0].loading.load == 8.196855 * POUND_FORCE_N


def test_no_load_is_lost_or_changed() -> None:
    with (FOLDER / "original.csv").open(encoding="utf-8", newline="") as lines:
        original = [row["pounds"] for row in csv.DictReader(lines)]
    with (FOLDER / "pulls.csv").open(encoding="utf-8", newline="") as lines:
        turned = [row["load_lbf"] for row in csv.DictReader(lines)]
    assert turned == original
