"""Simultaneous coverage of comparisons, small: the study in reports/compare is the large one."""

import importlib.util
import sys
from pathlib import Path

import pytest

from jointlab.compare import Analysis

LAYOUTS = Path(__file__).parents[1] / "performance" / "compare_layouts.py"


@pytest.fixture(scope="module")
def layouts():
    spec = importlib.util.spec_from_file_location("compare_layouts", LAYOUTS)
    module = importlib.util.module_from_spec(spec)
    sys.modules["compare_layouts"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("analysis", "spreads", "n", "glue_ups", "ratio"),
    [
        (Analysis.OWN_SPREADS, "equal", 5, "own", 0.0),
        (Analysis.OWN_SPREADS, "unequal", 5, "own", 0.0),
        (Analysis.OWN_SPREADS, "equal", 10, "pairs", 1.0),
        (Analysis.BLOCKS, "equal", 5, "blocks", 1.0),
        (Analysis.BLOCKS, "unequal", 5, "blocks", 0.0),
    ],
)
def test_all_intervals_of_a_family_hold_at_once_as_often_as_they_say(
    layouts, analysis: Analysis, spreads: str, n: int, glue_ups: str, ratio: float
) -> None:
    cell = layouts.Cell(analysis, spreads, n, glue_ups=glue_ups, ratio=ratio)
    got = layouts.coverage(cell, samples=600, replicates=199, seed=1)
    assert got == pytest.approx(0.95, abs=0.027)  # three standard errors of 600 tests


def test_ignoring_glue_ups_claims_differences_that_are_none(layouts) -> None:
    cell = layouts.Cell(Analysis.OWN_SPREADS, "equal", 10, glue_ups="pairs", ratio=1.0)
    counted = layouts.coverage(cell, samples=200, replicates=199, seed=2)
    ignored = layouts.coverage(cell, samples=200, replicates=199, seed=2, assumed=0.0)
    assert counted > 0.9
    assert ignored < 0.6  # so often is at least one of six differences claimed that is none


def test_joints_that_held_are_counted_for_what_they_say(layouts) -> None:
    cell = layouts.Cell(Analysis.CENSORED_LOGNORMAL, "equal", 5, held=0.2)
    assert layouts.coverage(cell, samples=100, replicates=99, seed=3) >= 0.89
