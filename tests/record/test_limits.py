"""Limits read from a model."""

from __future__ import annotations

from typing import Annotated

import pytest
from pydantic import BaseModel, Field, ValidationError

from jointlab.record.limits import cell_problem, lengths_in, limits_in, words_in
from jointlab.record.vocabulary import Shape

Length = Annotated[float, Field(gt=0, le=100)]


class Door(BaseModel):
    needed_mm: Length
    optional_mm: Length | None = None
    name: Annotated[str, Field(min_length=1, max_length=5)] | None = None
    shape: Shape | None = None
    free: str | None = None


@pytest.mark.parametrize("column", ["needed_mm", "optional_mm"])
def test_limits_are_found_whether_a_column_is_needed_or_not(column):
    assert limits_in(Door, column) == {"gt": 0.0, "le": 100.0}


def test_lengths_and_words_are_found_and_absent_ones_are_none():
    assert lengths_in(Door, "name") == (1, 5)
    assert lengths_in(Door, "free") == (0, None)
    assert words_in(Door, "shape") == ("disc", "ring", "rectangle")
    assert words_in(Door, "free") is None
    assert limits_in(Door, "free") == {}


@pytest.mark.parametrize(
    ("cells", "message", "allowed"),
    [
        ({"needed_mm": "101"}, "must be greater than 0 and at most 100 mm", "greater than 0 and at most 100 mm"),
        ({"shape": "oval"}, "must be one of: disc, ring, rectangle", "disc, ring, rectangle"),
        ({"name": "longer"}, "must be at most 5 characters", "at most 5 characters"),
    ],
)
def test_a_cell_beyond_its_limit_is_told_with_what_is_allowed(cells, message, allowed):
    written = {"needed_mm": "1", **cells}
    with pytest.raises(ValidationError) as refused:
        Door.model_validate_strings(written)
    (error,) = refused.value.errors()
    problem = cell_problem(Door, error, written, {"needed_mm": "needed_cm"})
    assert (problem.message, problem.allowed) == (message, allowed)
    assert problem.column == ("needed_cm" if "needed_mm" in cells else next(iter(cells)))
