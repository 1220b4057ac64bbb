"""A correction: some columns of a pull written anew, the others as they were."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from jointlab.record.csv_file import file_columns, pull_of_cells
from jointlab.record.pull import Pull
from jointlab.record.reading import READINGS, KnownRigs, no_rigs
from jointlab.record.row import row_of

FROM_READING = frozenset(
    {"load_n", "torque_nm", "uncertainty_pct", "cap_n", "cap_nm", "load_step_n", "load_step_nm", "held_n", "held_nm"}
)
"""Columns that a rig fills from a reading, and fills anew when the reading is corrected."""


def amended_pull(pull: Pull, cells: Mapping[str, str], *, rigs: KnownRigs = no_rigs) -> Pull:
    """The pull with the named columns replaced; an empty text clears a column.

    A reading corrected gives the load anew; a load corrected takes the place of the reading it came from.

    Parameters
    ----------
    cells
        Column, in any unit of the contract, to text.
    rigs
        Gives the rigs by which a reading becomes a load.

    Raises
    ------
    InputError
        With a problem for each bad column, as when the pull is first recorded.
    """
    replaced = _stored_names(cells)
    if replaced & set(READINGS.values()):
        replaced |= FROM_READING | set(READINGS.values())
    elif replaced & {"load_n", "torque_nm"}:
        replaced |= set(READINGS.values())
    entered = tuple((title, text) for title, text in pull.entered if not _stored_names([title]) & replaced)
    kept = {
        name: repr(value) if isinstance(value, float) else str(value)
        for name, value in row_of(pull).model_dump().items()
        if value is not None and name not in replaced and not (name == "cure_h" and _cure_from_dates(pull))
    }
    merged = {**kept, **cells}
    columns = file_columns(list(merged), name="the correction", row=None)
    amended = pull_of_cells(list(merged.values()), columns, row=None, rigs=rigs)
    written = tuple((title, text) for title, text in amended.entered if title in cells)
    return replace(amended, entered=entered + written)


def _stored_names(titles: Iterable[str]) -> set[str]:
    columns = file_columns(list(titles), name="the correction", row=None)
    return {column.stored for column in columns if column is not None}


def _cure_from_dates(pull: Pull) -> bool:
    """Whether the cure time was taken from the dates, so that it must follow them when they change."""
    return pull.conditions.glued_on is not None and not any(title.startswith("cure_") for title, _ in pull.entered)
