"""Laws of the shop book."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jointlab.book.book import Book
from jointlab.book.cells import cells_of, pull_from
from jointlab.errors import InputError
from jointlab.record.pull import Pull
from jointlab.record.row import COLUMNS, PullRow, checked_row, limits_of, pull_of, words_of

_SIZES = {"disc": ("diameter_mm",), "ring": ("diameter_mm", "hole_mm"), "rectangle": ("width_mm", "depth_mm")}
_BY_RULE = {
    "load_n", "torque_nm", "held_n", "held_nm", "cap_n", "cap_nm", "load_step_n", "load_step_nm",
    "diameter_mm", "hole_mm", "width_mm", "depth_mm", "arm_mm", "offset_mm",
    "wood_pct", "cohesive_pct", "adhesive_pct", "delamination_pct", "paper_pct",
}  # fmt: skip
_NEEDED = ("batch", "specimen", "tested_on", "glue", "substrate", "action", "shape", "outcome")

_names = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "M")), min_size=1, max_size=20)
_days = st.dates().map(str)


def _number(column: str) -> st.SearchStrategy[str]:
    limits = limits_of(column)
    low, high = limits.get("gt", limits.get("ge")), limits.get("lt", limits.get("le"))
    numbers = st.floats(low, high, exclude_min="gt" in limits, exclude_max="lt" in limits)
    return numbers.map(repr)


def _cell(column: str) -> st.SearchStrategy[str]:
    words = words_of(column)
    if words:
        return st.sampled_from(words)
    if limits_of(column):
        return _number(column)
    return _days if column in ("tested_on", "glued_on") else _names


@st.composite
def pulls(draw: st.DrawFn) -> Pull:
    """Any pull the bench would take."""
    cells: dict[str, str] = {}
    for column in COLUMNS:
        if column not in _BY_RULE and (column in _NEEDED or draw(st.booleans())):
            cells[column] = draw(_cell(column))
    for column in _SIZES[cells["shape"]]:
        cells[column] = draw(_number(column))
    suffix, load = ("nm", "torque_nm") if cells["action"] == "twist" else ("n", "load_n")
    cells[load] = draw(_number(load))
    if cells["outcome"] == "step":
        cells[f"held_{suffix}"] = draw(_number(f"held_{suffix}"))
    for name in (f"cap_{suffix}", f"load_step_{suffix}"):
        if draw(st.booleans()):
            cells[name] = draw(_number(name))
    if cells["action"] == "pry":
        cells["arm_mm"] = draw(_number("arm_mm"))
    if cells["action"] == "pull" and draw(st.booleans()):
        cells["offset_mm"] = draw(_number("offset_mm"))
    if draw(st.booleans()):
        cells["wood_pct"] = draw(st.floats(99.0, 100.0).map(repr))
    return pull_of(_accepted(cells), entered=tuple(cells.items()))


def _accepted(cells: dict[str, str]) -> PullRow:
    from hypothesis import assume

    try:
        return checked_row(cells)
    except InputError:  # a date before another, a hole wider than the disc
        assume(False)
        raise


def _with_entry(pull: Pull) -> tuple[Any, ...]:
    return pull, pull.entered


@given(pulls())
@settings(derandomize=True, max_examples=80, deadline=None)
def test_pull_to_cells_and_back_is_identity(pull):
    assert _with_entry(pull_from(cells_of(pull))) == _with_entry(pull)


@given(st.lists(pulls(), min_size=1, max_size=5))
@settings(derandomize=True, max_examples=15, deadline=None)
def test_store_round_trip_is_identity_and_the_chain_holds(drawn):
    numbered = [replace(pull, specimen=f"{pull.specimen[:9]} {n}") for n, pull in enumerate(drawn)]
    with Book.open("sqlite://") as book:
        recorded = [book.record(pull) for pull in numbered[:1]]
        assert book.import_pulls(numbered[1:]).stored == len(numbered) - 1
        kept = [_with_entry(stored.pull) for stored in book.pulls()]
        assert kept == [_with_entry(pull) for pull in numbered]
        assert _with_entry(recorded[0].pull) == kept[0]
        assert book.import_pulls(numbered).skipped == len(numbered)
        assert book.check().damages == ()
        assert sum(combination.pulls for combination in book.combinations()) == len(numbered)


@given(pulls(), pulls())
@settings(derandomize=True, max_examples=15, deadline=None)
def test_a_correction_changes_what_stands_and_never_what_stood(first, second):
    corrected = replace(second, batch=first.batch, specimen=first.specimen)
    with Book.open("sqlite://") as book:
        book.record(first)
        if corrected == first:
            with pytest.raises(InputError):
                book.correct(1, first, reason="no change")
            return
        book.correct(1, corrected, reason="second look")
        assert [revision.pull for revision in book.history(1)] == [first, corrected]
        assert book.pull(1).pull == corrected
        assert book.import_pulls([first]).skipped == 1
