"""A package that comes from elsewhere: looked through to the last byte before any number of it is used.

What is accepted is exactly what jointlab wrote; everything else is refused with the reason. Files come in as bytes.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from jointlab.errors import InputError, Problem
from jointlab.pool.values import FieldEntry
from jointlab.publish.field_file import FIELD_FILE, field_entries
from jointlab.publish.package import DESCRIPTOR, OURS, sealed
from jointlab.publish.package_reading import PULLS, ReadPackage, package_read
from jointlab.publish.pulls_file import ENTERED, ENTERED_UNIT, STRENGTH_COLUMNS
from jointlab.record.columns import column_of, physical_columns
from jointlab.record.csv_file import NUMBER, harmless
from jointlab.record.pull import Pull
from jointlab.record.row import COLUMNS
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of

SOURCE = "judgement"

MOST_DESCRIBED = 8_000_000
"""Bytes of the longest descriptor that is read (``SOURCE``)."""

ALIKE = 1e-9
"""Numbers closer than this share are the same: conversion and stress to the last digits (``SOURCE``)."""

MOST_TOLD = 20
_SCRIPT = re.compile(r"<\s*[/!?a-zA-Z]|javascript\s*:", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ReceivedPackage:
    """A package that proved to be whole.

    ``stresses`` are those of its pulls, in their order; ``book`` marks the shop book it came from, the same for all its
    packages.
    """

    name: str
    read: ReadPackage
    stresses: tuple[JointStress, ...]
    book: str | None
    field: tuple[FieldEntry, ...] = ()

    @property
    def pulls(self) -> tuple[Pull, ...]:
        """Its pulls."""
        return self.read.pulls

    @property
    def dated_on(self) -> str:
        """Day of its publication, as it says."""
        return self.read.descriptor.created[:10]


def received_package(files: Mapping[str, bytes], *, name: str) -> ReceivedPackage:
    """The package in these files, each by its relative name.

    Raises
    ------
    InputError
        With the reason: no descriptor of ours, a file missing, added, of another size or hash, a cell that is a formula
        or script, a number that does not follow from what was entered.
    """
    described = _untouched(files.get(DESCRIPTOR), name)
    _check_texts(described, name)
    titles, rows = _table(files.get(PULLS, b""), name)
    reasons = list(_hostile_cells(titles, rows))
    if reasons:
        raise refused(name, *_shortened(reasons))
    read = package_read(files, name=name)
    if len(read.pulls) != len(rows):
        raise refused(name, f"{PULLS} holds rows that are no pulls")
    stresses = tuple(joint_stress_of(pull) for pull in read.pulls)
    places = _places_of(titles)
    reasons = [
        f"row {number}: {reason}"
        for number, (stress, row) in enumerate(zip(stresses, rows, strict=True), start=2)
        for reason in _doubts(stress, row, places)
    ]
    if reasons:
        raise refused(name, *_shortened(reasons))
    book = described[OURS].get("book")
    table = files.get(FIELD_FILE)
    field = () if table is None else field_entries(table, name=name)
    return ReceivedPackage(name, read, stresses, book if isinstance(book, str) else None, field)


def refused(name: str, *reasons: str) -> InputError:
    """The package is not taken, and why."""
    return InputError([Problem(reason) for reason in reasons], subject=name)


def _untouched(content: bytes | None, name: str) -> dict[str, Any]:
    """The descriptor, if it is one that jointlab wrote and nobody changed."""
    if content is None:
        raise refused(name, f"has no {DESCRIPTOR}: name a folder or .zip that publish wrote")
    if len(content) > MOST_DESCRIBED:
        raise refused(name, f"{DESCRIPTOR} has {len(content)} bytes, more than any of ours")
    try:
        described = json.loads(content.decode("utf-8"), parse_constant=_not_finite)
    except (ValueError, RecursionError):
        raise refused(name, f"{DESCRIPTOR} cannot be read as JSON") from None
    if not isinstance(described, dict) or not isinstance(described.get(OURS), dict):
        raise refused(name, f"{DESCRIPTOR} was not written by jointlab")
    if described[OURS].get("schema") != 1:
        raise refused(name, f"{DESCRIPTOR} was written by another jointlab: update this one")
    try:
        untouched = sealed(described) == content
    except (ValueError, RecursionError):
        untouched = False
    if not untouched:
        raise refused(name, f"{DESCRIPTOR} was changed after it was written")
    return described


def _not_finite(word: str) -> float:
    raise ValueError(word)


def _check_texts(described: object, name: str) -> None:
    """The seal may have been made anew: no text of the descriptor is taken on trust."""
    for text in _texts(described):
        if _SCRIPT.search(text) or not text.replace("\n", "").isprintable():
            raise refused(name, f"{DESCRIPTOR} holds script, markup or control characters in a text")


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, each in value.items():
            yield key
            yield from _texts(each)
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)


def _shortened(reasons: Sequence[str]) -> list[str]:
    more = len(reasons) - MOST_TOLD
    return [*reasons[:MOST_TOLD], *([f"and {more} more"] if more > 0 else [])]


def _table(content: bytes, name: str) -> tuple[list[str], list[list[str]]]:
    try:
        rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline=""), strict=True))
    except (ValueError, csv.Error):
        raise refused(name, f"{PULLS} cannot be read as a table") from None
    if len(rows) < 2 or len(set(rows[0])) != len(rows[0]):
        raise refused(name, f"{PULLS} is missing, has no rows, or a column twice")
    titles = rows[0]
    if any(len(row) != len(titles) for row in rows):
        raise refused(name, f"{PULLS} has rows of different lengths")
    strange = [title for title in titles if not _known(title)]
    if strange:
        raise refused(
            name, *_shortened([f"{PULLS} has a column of no package of ours: {title!r}" for title in strange])
        )
    return titles, rows[1:]


def _known(title: str) -> bool:
    base = title.removesuffix(ENTERED_UNIT).removesuffix(ENTERED)
    bases = {word for word, _ in physical_columns().values()}
    return title in COLUMNS or title in STRENGTH_COLUMNS or (base != title and base in bases)


def _hostile_cells(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    for number, row in enumerate(rows, start=2):
        if not _SCRIPT.search(" ".join(row)) and all(cell[:1].isalnum() for cell in row if cell):
            continue  # nothing in it can be either: most rows need no closer look
        for title, cell in zip(titles, row, strict=True):
            if _SCRIPT.search(cell):
                yield f"row {number}, {title}: holds script or markup"
            elif not cell.startswith("'") and harmless(cell) != cell and not NUMBER.fullmatch(cell):
                yield f"row {number}, {title}: a spreadsheet would run it as a formula"


@dataclass(frozen=True, slots=True)
class _Places:
    """Where a table keeps what follows from something else.

    ``entered``: base word, place of the unit, place of the number. ``stored``: each column's place. ``strengths``:
    column, place, and which of a pull's strengths it is.
    """

    entered: tuple[tuple[str, int, int | None], ...]
    stored: Mapping[str, int]
    strengths: tuple[tuple[str, int, int], ...]


def _places_of(titles: Sequence[str]) -> _Places:
    places = {title: place for place, title in enumerate(titles)}
    bases = [title.removesuffix(ENTERED_UNIT) for title in titles if title.endswith(ENTERED_UNIT)]
    entered = tuple((base, places[base + ENTERED_UNIT], places.get(base + ENTERED)) for base in bases)
    strengths = tuple((title, places[title], nth) for nth, title in enumerate(STRENGTH_COLUMNS) if title in places)
    return _Places(entered, places, strengths)


def _doubts(stress: JointStress, row: Sequence[str], places: _Places) -> Iterator[str]:
    """What does not follow: an SI number from what was entered, a strength from load and joint."""
    for base, unit, number in places.entered:
        if not row[unit]:
            continue
        entered, column = "" if number is None else row[number], _column_of(f"{base}_{row[unit]}")
        if isinstance(column, Problem) or column.unit is None:
            yield f"{base}_{row[unit]} is no column with a unit"
            continue
        at = places.stored.get(column.stored)
        stored = "" if at is None else row[at]
        if not _same(stored, _converted(column.to_stored, entered)):
            yield f"{column.title} = {entered} is not {column.stored} = {stored}"
    known = (stress.lower_mpa, stress.upper_mpa, stress.u_mpa) if stress.carries_information else (None, None, None)
    for title, at, nth in places.strengths:
        value = known[nth]
        if not _same(row[at], "" if value is None else repr(value)):
            yield f"{title} = {row[at]} does not follow from the load: {value}"


_column_of = lru_cache(maxsize=1024)(column_of)


def _converted(to_stored: Any, text: str) -> str:
    try:
        return str(to_stored(text))
    except (ValueError, OverflowError):
        return "nothing"


def _same(one: str, other: str) -> bool:
    if one == other:
        return True
    try:
        return math.isclose(float(one), float(other), rel_tol=ALIKE)
    except ValueError:
        return False
