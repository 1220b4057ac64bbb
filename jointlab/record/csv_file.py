"""Pulls as comma-separated text: read with every problem at once, written so that reading gives the same pulls."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain
from typing import TextIO

from jointlab.errors import InputError, Problem
from jointlab.record.columns import FileColumn, column_of
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.names import matched
from jointlab.record.pull import Pull
from jointlab.record.reading import KnownRigs, no_rigs, with_loads
from jointlab.record.row import COLUMNS, checked_row, pull_of, row_cells

NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
NUMBER_FORM = "a number such as 12.5 (decimal point, no spaces, no thousands mark)"
_NUMBER_HINTS = (
    (r"[a-zA-Z%]", "; the unit belongs in the column's name, not in the cell"),
    (r"^\d{1,3},\d{3}$", "; leave out what separates the thousands, or write a decimal point if it is none"),
    (r",.*[,.]|[_ ]", "; leave out what separates the thousands"),
    (r",", "; write a decimal point in place of the comma"),
)
MOST_PROBLEMS = 1000
_LOOKS_LIKE_A_FORMULA = re.compile(r"'*[=+\-@\t\r]")
"""Text that a spreadsheet would run. It is written with an apostrophe in front, which reading takes off again."""


@dataclass(frozen=True, slots=True)
class PullFile:
    """Pulls of a file, the spreadsheet row of each, and what should be known of the file as a whole."""

    pulls: tuple[Pull, ...]
    rows: tuple[int, ...]
    findings: tuple[Finding, ...] = ()


class Decimal(StrEnum):
    """How a file writes its numbers: a point between cells parted by commas, or a comma between cells by semicolons."""

    POINT = "point"
    COMMA = "comma"

    @property
    def delimiter(self) -> str:
        """What stands between two cells."""
        return "," if self is Decimal.POINT else ";"


@dataclass(frozen=True, slots=True)
class PullStream:
    """Pulls of a file read one after another, each with its spreadsheet row.

    ``numbered`` raises ``InputError`` with every problem of the file after its last row, or once there are more than
    ``MOST_PROBLEMS``: what was made of the rows before must then be undone. ``findings`` are about the file as a whole.
    """

    numbered: Iterator[tuple[int, Pull]]
    findings: tuple[Finding, ...] = ()


def read_csv(content: bytes, *, name: str, decimal: Decimal = Decimal.POINT, rigs: KnownRigs = no_rigs) -> PullFile:
    """Pulls of a CSV file, or every problem of the file at once.

    Parameters
    ----------
    content
        UTF-8 text, with or without a byte order mark.
    name
        Name of the file, for the messages.
    decimal
        How it writes its numbers, and so what stands between its cells.
    rigs
        Gives the rigs by which readings become loads.

    Raises
    ------
    InputError
        With row (the header being 1), column, value and what is allowed, for every bad cell.
    """
    return gathered(streamed_csv(io.BytesIO(content), name=name, decimal=decimal, rigs=rigs), name=name)


def streamed_csv(
    file: Iterable[bytes], *, name: str, decimal: Decimal = Decimal.POINT, rigs: KnownRigs = no_rigs
) -> PullStream:
    """Pulls of a CSV file as they are read from its lines, so that it may be longer than the memory.

    Parameters
    ----------
    file
        Lines of UTF-8 text with their ends; the other parameters are those of ``read_csv``.

    Raises
    ------
    InputError
        The file has no header that can be used; what is wrong with its rows is raised while they are read.
    """
    header, body = _header_and_body(file, name, decimal)
    meant = ((number, [as_meant(cell) if cell[:1] == "'" else cell for cell in cells]) for number, cells in body)
    return streamed_rows(header, meant, name=name, decimal=decimal, rigs=rigs)


def streamed_rows(
    header: Sequence[str],
    body: Iterable[tuple[int, Sequence[str]]],
    *,
    name: str,
    decimal: Decimal = Decimal.POINT,
    rigs: KnownRigs = no_rigs,
) -> PullStream:
    """The pulls in rows of cells, each with the number of its row in the sheet, as they are read.

    Raises
    ------
    InputError
        The header names no columns of a pull.
    """
    columns = file_columns(header, name=name, row=1)
    return PullStream(_numbered(columns, body, name, decimal, rigs), _said_back(columns))


def _numbered(
    columns: Sequence[FileColumn | None],
    body: Iterable[tuple[int, Sequence[str]]],
    name: str,
    decimal: Decimal,
    rigs: KnownRigs,
) -> Iterator[tuple[int, Pull]]:
    problems: list[Problem] = []
    number = 1
    try:
        for number, cells in body:
            try:
                pull = pull_of_cells(cells, columns, row=number, decimal=decimal, rigs=rigs)
            except InputError as error:
                problems.extend(error.problems)
            else:
                yield number, pull
            if len(problems) >= MOST_PROBLEMS:
                told = f"more than {MOST_PROBLEMS} problems up to row {number}: the rest of the file was not read"
                problems.append(Problem(told))
                break
    except InputError as unreadable:
        problems.extend(unreadable.problems)
    if number == 1 and not problems:
        problems.append(Problem("the file has a header but no pulls: put one pull in each row"))
    if problems:
        raise InputError(problems, subject=name)


def gathered(stream: PullStream, *, name: str) -> PullFile:
    """All pulls of a stream at once.

    Raises
    ------
    InputError
        With every problem of the file, a specimen that stands in it twice among them.
    """
    pulls: list[Pull] = []
    rows: list[int] = []
    problems: list[Problem] = []
    try:
        for row, pull in stream.numbered:
            rows.append(row)
            pulls.append(pull)
    except InputError as error:
        problems.extend(error.problems)
    problems.extend(_repeated(pulls, rows))
    if problems:
        raise InputError(sorted(problems, key=lambda problem: problem.row or 10**9), subject=name)
    return PullFile(tuple(pulls), tuple(rows), stream.findings)


def _header_and_body(
    file: Iterable[bytes], name: str, decimal: Decimal
) -> tuple[list[str], Iterator[tuple[int, list[str]]]]:
    records = _records(_lines_of(file, name), name, decimal)
    for number, cells in records:
        if any(cell.strip() for cell in cells):
            if number != 1:
                raise InputError(
                    Problem("the first row must be the header; it is empty: delete the empty rows above", row=1),
                    subject=name,
                )
            _refuse_other_form(cells, name, decimal)
            return [cell.strip() for cell in cells], (
                (row, values) for row, values in records if any(value.strip() for value in values)
            )
    raise InputError(Problem("the file is empty: the first row must name the columns"), subject=name)


def _lines_of(file: Iterable[bytes], name: str) -> Iterator[str]:
    """Lines of text with their ends, as the reader of cells wants them: parted at any of the three line ends."""
    for line, content in enumerate(file, start=1):
        try:
            text = content.decode("utf-8-sig" if line == 1 else "utf-8")
        except UnicodeDecodeError as error:
            told, bad = "is not UTF-8 text: save the file as CSV UTF-8", content[error.start : error.end]
            raise InputError(Problem(told, row=line, value=repr(bad)), subject=name) from None
        if "\x00" in text:
            raise InputError(Problem("holds a zero byte: save the file as CSV UTF-8", row=line), subject=name)
        if "\r" in text.removesuffix("\n").removesuffix("\r"):
            yield from io.StringIO(text, newline="")
        else:
            yield text


def _records(lines: Iterator[str], name: str, decimal: Decimal) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(lines, strict=True, delimiter=decimal.delimiter)
    parted = "commas" if decimal is Decimal.POINT else "semicolons"
    number = 0
    while True:
        number += 1
        try:
            yield number, next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise InputError(
                Problem(f"cannot be read as cells parted by {parted} ({error}): check the quotation marks", row=number),
                subject=name,
            ) from None


def _refuse_other_form(header: Sequence[str], name: str, decimal: Decimal) -> None:
    other = Decimal.COMMA if decimal is Decimal.POINT else Decimal.POINT
    if len(header) != 1 or other.delimiter not in header[0]:
        return
    told = (
        "cells are separated by semicolons (;): save with commas and decimal points, or read it with --decimal comma"
        if decimal is Decimal.POINT
        else "cells are separated by commas: with --decimal comma they are separated by semicolons (;)"
    )
    allowed = f"cells separated by {'commas' if decimal is Decimal.POINT else 'semicolons'}"
    raise InputError(Problem(told, row=1, value=header[0][:80], allowed=allowed), subject=name)


def file_columns(titles: Sequence[str], *, name: str, row: int | None) -> list[FileColumn | None]:
    """The columns these titles name; None for an empty title, allowed while its cells are empty too.

    Raises
    ------
    InputError
        With a problem for each title that is unknown or repeats a quantity; ``row`` is where the titles stand.
    """
    problems: list[Problem] = []
    columns: list[FileColumn | None] = []
    seen: dict[str, str] = {}
    for position, title in enumerate(titles, start=1):
        if not title:
            columns.append(None)
            continue
        column = column_of(title)
        if isinstance(column, Problem):
            problems.append(Problem(column.message, row=row, column=title, allowed=column.allowed))
        elif column.stored in seen:
            problems.append(
                Problem(
                    f"the same quantity stands in column {seen[column.stored]} already: keep one of them",
                    row=row,
                    column=title,
                    value=f"column {position}",
                )
            )
        else:
            seen[column.stored] = title
            columns.append(column)
    if problems:
        raise InputError(problems, subject=name)
    return columns


def pull_of_cells(
    cells: Sequence[str],
    columns: Sequence[FileColumn | None],
    *,
    row: int | None,
    decimal: Decimal = Decimal.POINT,
    rigs: KnownRigs = no_rigs,
) -> Pull:
    """The pull in one row of cells.

    Raises
    ------
    InputError
        With a problem for each bad cell of the row.
    """
    stored: dict[str, str] = {}
    entered: list[tuple[str, str]] = []
    problems: list[Problem] = []
    if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
        extra = next(cell for cell in cells[len(columns) :] if cell.strip())
        message = f"has {len(cells)} cells, the header {len(columns)}: put a text with commas in quotation marks"
        problems.append(Problem(message, row=row, value=extra))
    for column, cell in zip(columns, cells, strict=False):
        text = cell.strip()
        if not text:
            continue
        if column is None:
            problems.append(Problem("stands under no heading: name the column or empty the cell", row=row, value=text))
        elif not column.numeric:
            stored[column.stored] = cell if column.stored == "notes" else text
        elif (number := _number_in(text, decimal)) is None:
            problems.append(_not_a_number(text, column, row, decimal))
        else:
            stored[column.stored] = column.to_stored(number)
            if column.unit is not None:
                entered.append((column.title, number))
    stored, misread = with_loads(stored, rigs)
    wrong = [Problem(message, column=at) for at, message in misread]
    unread = {at for at, _ in misread} | ({"load_n", "torque_nm"} if misread else set())
    try:
        checked = checked_row(stored)
    except InputError as error:
        wrong += [problem for problem in error.problems if problem.column not in unread]
    if wrong or problems:
        raise InputError(_as_written(problems, wrong, cells, columns, row), subject="the pull")
    return pull_of(checked, entered=tuple(entered))


def _as_written(
    problems: list[Problem],
    of_stored: list[Problem],
    cells: Sequence[str],
    columns: Sequence[FileColumn | None],
    row: int | None,
) -> list[Problem]:
    """The problems of cells, then those of stored columns by the titles and texts of the file, each cell told once."""
    titles = {column.stored: column.title for column in columns if column is not None}
    told = {problem.column for problem in problems}
    for found in of_stored:
        title = titles.get(found.column or "", found.column)
        if title not in told:
            value = _written_in(title, cells, columns)
            problems.append(Problem(found.message, row=row, column=title, value=value, allowed=found.allowed))
    return problems


def _number_in(text: str, decimal: Decimal) -> str | None:
    """The number with a decimal point; None where it is none, or is written with the other mark."""
    if decimal is Decimal.COMMA:
        text = "." if "." in text else text.replace(",", ".")
    return text if NUMBER.fullmatch(text) else None


def _not_a_number(text: str, column: FileColumn, row: int | None, decimal: Decimal) -> Problem:
    if decimal is Decimal.COMMA:
        told = "must be a number such as 12,5 (decimal comma, no spaces, no thousands mark)"
        return Problem(told, row=row, column=column.title, value=text, allowed="a number")
    hint = next((words for form, words in _NUMBER_HINTS if re.search(form, text)), "")
    return Problem(f"must be {NUMBER_FORM}{hint}", row=row, column=column.title, value=text, allowed="a number")


def _written_in(title: str | None, cells: Sequence[str], columns: Sequence[FileColumn | None]) -> str | None:
    for column, cell in zip(columns, cells, strict=False):
        if column is not None and column.title == title:
            return cell.strip() or None
    return None


def _repeated(pulls: Sequence[Pull], rows: Sequence[int]) -> Iterator[Problem]:
    first: dict[tuple[str, str], int] = {}
    for pull, row in zip(pulls, rows, strict=True):
        key = (matched(pull.batch), matched(pull.specimen))
        if key in first:
            yield named_twice(pull.batch, pull.specimen, row=row, before=first[key])
        else:
            first[key] = row


def named_twice(batch: str, specimen: str, *, row: int | None, before: int | None) -> Problem:
    """What to say of a row whose batch and specimen stood in an earlier one already."""
    return Problem(
        f"batch {batch!r} has specimen {specimen!r} in {f'row {before}' if before else 'this file'} already; "
        "name each once",
        row=row,
        column="specimen",
        value=specimen,
        allowed="each batch and specimen once",
    )


def _said_back(columns: Iterable[FileColumn | None]) -> tuple[Finding, ...]:
    return tuple(
        Finding(FindingCode.FORCE_UNIT_SAID_BACK, Severity.NOTE, f"Column {column.title}: {column.unit.said}.")
        for column in columns
        if column is not None and column.unit is not None and column.unit.said
    )


def written_csv(pulls: Iterable[Pull]) -> str:
    """CSV text of pulls in SI, all columns of the contract that any of them uses; reading it gives the same pulls."""
    kept = tuple(pulls)
    out = io.StringIO(newline="")
    write_csv(out, kept, columns=used_columns(kept))
    return out.getvalue()


def used_columns(pulls: Iterable[Pull]) -> tuple[str, ...]:
    """The columns of the contract that any of these pulls fills, in its order; all of them where there is no pull."""
    used = {name for pull in pulls for name, cell in row_cells(pull).items() if cell is not None}
    return tuple(name for name in COLUMNS if name in used) or COLUMNS


def write_csv(file: TextIO, pulls: Iterable[Pull], *, columns: Sequence[str]) -> None:
    """Write these columns of pulls in SI as CSV, one after another; the file must leave line ends as they are."""
    rows = (row_cells(pull) for pull in pulls)
    lines = ([_cell(row[column]) for column in columns] for row in rows)
    csv.writer(file, lineterminator="\r\n").writerows(chain((columns,), lines))


def written_table(rows: Iterable[Sequence[str]]) -> str:
    """Rows of cells as CSV text."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows(rows)
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else harmless(str(value))


def harmless(text: str) -> str:
    """The text so that no spreadsheet takes it for a formula: behind an apostrophe where it begins like one."""
    return f"'{text}" if _LOOKS_LIKE_A_FORMULA.match(text) else text


def as_meant(text: str) -> str:
    """The text without the apostrophe that ``harmless`` put before it."""
    return text[1:] if text.startswith("'") and _LOOKS_LIKE_A_FORMULA.match(text) else text
