"""Pulls as a sheet of a workbook: read with every problem at once, written so that reading gives the same pulls."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any, BinaryIO

from jointlab.errors import InputError, Problem
from jointlab.record.csv_file import PullFile, PullStream, gathered, streamed_rows, used_columns
from jointlab.record.pull import Pull
from jointlab.record.reading import KnownRigs, no_rigs
from jointlab.record.row import row_cells

if TYPE_CHECKING:
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

SOURCE = "judgement"

MOST_BYTES = 50_000_000
MOST_UNPACKED_BYTES = 500_000_000
MOST_COLUMNS = 200
MOST_ROWS = 1_048_576
"""A workbook of a million pulls stays below these; a small file that unpacks to more is refused (``SOURCE``)."""

SHEET = "pulls"
_UNREADABLE = "is no workbook that can be read: save it as .xlsx, without a password"


def read_xlsx(content: bytes, *, name: str, rigs: KnownRigs = no_rigs) -> PullFile:
    """Pulls of a workbook, or every problem of it at once: the sheet named ``pulls``, or the only one that is filled.

    Parameters
    ----------
    content
        The bytes of an .xlsx file. Macros, links and drawings in it are not looked at.
    name
        Name of the file, for the messages.
    rigs
        Gives the rigs by which readings become loads.

    Raises
    ------
    InputError
        It is no workbook, too large, or has several filled sheets and none named ``pulls``; or with row, column, value
        and what is allowed, for every bad cell. A formula is a bad cell: what it shows is not stored in the file.
    """
    with streamed_xlsx(io.BytesIO(content), name=name, rigs=rigs) as stream:
        return gathered(stream, name=name)


@contextmanager
def streamed_xlsx(file: BinaryIO, *, name: str, rigs: KnownRigs = no_rigs) -> Iterator[PullStream]:
    """Pulls of a workbook as its rows are unpacked; only the table of its texts is held as a whole.

    Raises
    ------
    InputError
        It is no workbook, too large, or has no sheet that can be used; what is wrong with its rows is raised while they
        are read.
    """
    _refuse_large(file, name)
    with _whole_or_refused(name):
        from openpyxl import load_workbook

        workbook = load_workbook(file, read_only=True, data_only=False, keep_links=False)
    try:
        with _whole_or_refused(name):
            titles, rows = _titles_and_rows(workbook, name)
        yield streamed_rows(titles, _unpacked(rows, name), name=name, rigs=rigs)
    finally:
        workbook.close()


@contextmanager
def _whole_or_refused(name: str) -> Iterator[None]:
    try:
        yield
    except InputError:
        raise
    except Exception as failure:  # a damaged workbook can raise nearly anything while it is unpacked
        raise InputError(Problem(_UNREADABLE), subject=name) from failure


def _unpacked(rows: Iterator[tuple[int, Sequence[Any]]], name: str) -> Iterator[tuple[int, list[str]]]:
    while True:
        with _whole_or_refused(name):
            following = next(rows, None)
        if following is None:
            return
        row, cells = following
        yield row, [_text_of(cell) for cell in cells]


def _refuse_large(file: BinaryIO, name: str) -> None:
    size = file.seek(0, io.SEEK_END)
    file.seek(0)
    if size > MOST_BYTES:
        raise InputError(Problem(f"is larger than {MOST_BYTES / 1e6:.0f} MB: import it as CSV"), subject=name)
    with _whole_or_refused(name), zipfile.ZipFile(file) as parts:
        unpacked = sum(part.file_size for part in parts.infolist())
    if unpacked > MOST_UNPACKED_BYTES:
        told = f"unpacks to more than {MOST_UNPACKED_BYTES / 1e6:.0f} MB: import it as CSV"
        raise InputError(Problem(told), subject=name)


def _titles_and_rows(workbook: Any, name: str) -> tuple[list[str], Iterator[tuple[int, Sequence[Any]]]]:
    rows = _rows_of(_sheet_of(workbook, name), name)
    number, header = next(rows, (0, ()))
    if not header:
        raise InputError(Problem("the sheet is empty: the first row must name the columns"), subject=name)
    if number != 1:
        told = "the first row must be the header; it is empty: delete the empty rows above"
        raise InputError(Problem(told, row=1), subject=name)
    return [_text_of(cell) for cell in header], rows


def _sheet_of(workbook: Any, name: str) -> ReadOnlyWorksheet:
    sheets: list[ReadOnlyWorksheet] = list(workbook.worksheets)
    named = [sheet for sheet in sheets if sheet.title.strip().casefold() == SHEET]
    filled = named or [sheet for sheet in sheets if next(_rows_of(sheet, name), None) is not None]
    if len(filled) == 1:
        return filled[0]
    told = "no sheet is filled: the first row must name the columns"
    if filled:
        told = f"several sheets are filled: name the one with the pulls {SHEET!r}"
    raise InputError(Problem(told, value=", ".join(sheet.title for sheet in sheets)[:200]), subject=name)


def _rows_of(sheet: Any, name: str) -> Iterator[tuple[int, Sequence[Any]]]:
    """Rows that are filled, each with its number in the sheet."""
    sheet.reset_dimensions()  # what a file says of its own size may be wrong, and would cut rows off unseen
    blank: Sequence[Any] | None = None
    for number, cells in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS, values_only=True), start=1):
        if number > MOST_ROWS:
            told = (
                f"has a row beyond {MOST_ROWS}, where a sheet ends: its rows are numbered wrongly, or import it as CSV"
            )
            raise InputError(Problem(told), subject=name)
        if cells is blank:  # a gap is the same empty row again and again, and may be a million long
            continue
        if any(cell is not None and str(cell).strip() for cell in cells):
            yield number, cells
        else:
            blank = cells


def _text_of(cell: Any) -> str:
    """What a cell shows, as a CSV file would have it; a number as the shortest text that reads back to it."""
    match cell:
        case None:
            return ""
        case bool():
            return str(cell).lower()
        case float() if cell.is_integer() and abs(cell) < 1e15:
            return str(int(cell))
        case float():
            return repr(cell)
        case datetime():
            return cell.date().isoformat() if cell.time() == time() else cell.isoformat(timespec="minutes")
        case date():
            return cell.isoformat()
    return str(cell)


def written_xlsx(pulls: Iterable[Pull]) -> bytes:
    """A workbook of pulls in SI, all columns of the contract that any of them uses; reading it gives the same pulls."""
    kept, out = tuple(pulls), io.BytesIO()
    write_xlsx(out, kept, columns=used_columns(kept))
    return out.getvalue()


def write_xlsx(file: BinaryIO, pulls: Iterable[Pull], *, columns: Sequence[str]) -> None:
    """Write these columns of pulls in SI as a workbook, one after another; only the table of its texts is held."""
    rows = (row_cells(pull) for pull in pulls)
    _write_sheet(file, columns, ([row[column] for column in columns] for row in rows))


def sheet_of_rows(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A workbook with one sheet named ``pulls``. Text is stored as text: no cell of it is ever run as a formula."""
    out = io.BytesIO()
    _write_sheet(out, header, rows)
    return out.getvalue()


def _write_sheet(file: BinaryIO, header: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    workbook = Workbook(write_only=True)
    sheet = workbook.create_sheet(SHEET)
    sheet.freeze_panes = "A2"

    def cell_of(value: object) -> Any:
        if value is None:
            return None
        number = isinstance(value, (int, float))
        # the library would round a number to 16 digits: its own text, marked as a number, reads back to the last bit
        cell = WriteOnlyCell(sheet, value=repr(value) if number else str(value))
        cell.data_type = "n" if number else "s"
        return cell

    titles = [cell_of(title) for title in header]
    for title in titles:
        title.font = Font(bold=True)
    sheet.append(titles)
    for row in rows:
        sheet.append([cell_of(value) for value in row])
    workbook.save(file)
