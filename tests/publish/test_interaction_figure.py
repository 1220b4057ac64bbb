"""The figure of glue by substrate."""

import numpy as np
import pytest

from jointlab.compare import CombinationSample, compare_combinations
from jointlab.errors import AnalysisError
from jointlab.publish.drawing import BLUE, GREEN, RUST, ImageForm
from jointlab.publish.interaction_figure import interaction_figure, interaction_words, places_at
from jointlab.record.joint import Combination
from jointlab.strength import StrengthSample


def compared(cells):
    rng = np.random.default_rng(5)
    parts = [
        CombinationSample(
            Combination(glue, wood),
            StrengthSample.of_values(level * np.exp(0.1 * rng.standard_normal(6)), batch=range(6)),
        )
        for (glue, wood), level in cells.items()
    ]
    return compare_combinations(parts)


GRID = {(glue, wood): a * b for glue, a in (("pva", 1.0), ("epoxy", 1.4)) for wood, b in (("maple", 4.0), ("mdf", 1.2))}


def test_every_glue_has_its_line_and_the_test_of_the_interaction_is_told() -> None:
    alike = compared(GRID)
    drawing = interaction_figure(alike)
    assert drawing == interaction_figure(alike)
    assert BLUE.encode() in drawing
    assert RUST.encode() in drawing
    assert GREEN.encode() not in drawing
    assert interaction_figure(alike, form=ImageForm.PNG).startswith(b"\x89PNG")
    crossed = compared(GRID | {("epoxy", "mdf"): 0.6})
    assert interaction_words(crossed) == "glue (lines run alike? p < 0.0001)"
    assert interaction_words(alike).startswith("glue (lines run alike? p = 0.")


def test_an_empty_cell_leaves_a_gap_and_a_single_glue_or_substrate_has_no_figure() -> None:
    three = {cell: level for cell, level in GRID.items() if cell != ("epoxy", "mdf")}
    assert b"<svg" in interaction_figure(compared(three))
    with pytest.raises(AnalysisError, match="two glues"):
        interaction_figure(compared({cell: level for cell, level in GRID.items() if cell[0] == "pva"}))
    with pytest.raises(AnalysisError, match="two substrates"):
        interaction_figure(compared({cell: level for cell, level in GRID.items() if cell[1] == "mdf"}))


def test_more_glues_than_the_eye_keeps_apart_are_refused() -> None:
    many = {(f"glue {number}", wood): 1.0 + number for number in range(7) for wood in ("maple", "mdf")}
    with pytest.raises(AnalysisError, match="at most 6 glues"):
        interaction_figure(compared(many))


def test_the_first_substrate_stands_on_top() -> None:
    assert places_at(["maple", "mdf"]) == {"maple": 0.0, "mdf": -1.0}
