"""Files of pulls: of which form they are, read whole or one pull after another, and what is asked of their pulls."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app.named_files import content_of, write_bytes, write_text, written_whole
from jointlab.book.stored import StoredPull
from jointlab.errors import InputError, Problem
from jointlab.record.csv_file import Decimal, PullFile, PullStream, read_csv, streamed_csv, write_csv, written_table
from jointlab.record.finding import Finding
from jointlab.record.questions import questions_of
from jointlab.record.reading import KnownRigs, no_rigs
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of, stress_at_mpa

if TYPE_CHECKING:
    from jointlab.record.pull import Pull

SOURCE = "judgement"

WORKBOOK = ".xlsx"
OTHER_SPREADSHEETS = (".xls", ".xlsm", ".xlsb", ".ods")

MOST_QUESTIONS = 20
"""Questions about the pulls of a file that are told one by one; more are counted (``SOURCE``)."""


@dataclass(frozen=True, slots=True)
class ReadPull:
    """A stored pull with the bounds on its strength and the questions it raises."""

    stored: StoredPull
    stress: JointStress
    findings: tuple[Finding, ...]


def read_pull(stored: StoredPull) -> ReadPull:
    """A stored pull with its stress and the questions it raises."""
    return ReadPull(stored, joint_stress_of(stored.pull), _asked_of(stored.pull))


def _asked_of(pull: Pull) -> tuple[Finding, ...]:
    return questions_of(pull, stress_mpa=stress_at_mpa(pull, load=pull.loading.load))


@dataclass(frozen=True, slots=True)
class FileStream:
    """The pulls of a file as they are read, and the share of the file that was read so far."""

    pulls: PullStream
    share_read: Callable[[], float]


Watching = Callable[[Iterator[tuple[int, "Pull"]], str, Callable[[], float]], Iterator[tuple[int, "Pull"]]]
"""Shows how far the pulls, in these words, have come by the share that was read; gives them on as they come."""


def unwatched(
    pulls: Iterator[tuple[int, Pull]],
    words: str,  # noqa: ARG001 - one that shows progress takes all three
    share_read: Callable[[], float],  # noqa: ARG001 - the same
) -> Iterator[tuple[int, Pull]]:
    """The pulls as they come, shown to nobody."""
    return pulls


@dataclass(slots=True)
class Questions:
    """What is asked of the pulls that came by: the first few with their rows, the number of the others."""

    pulls: int = 0
    first: list[tuple[int, Finding]] = field(default_factory=list)
    more: int = 0

    def asked(self, numbered: Iterable[tuple[int, Pull]]) -> Iterator[tuple[int, Pull]]:
        """The pulls as they come, each looked at on its way."""
        for row, pull in numbered:
            self.pulls += 1
            for found in _asked_of(pull):
                if len(self.first) < MOST_QUESTIONS:
                    self.first.append((row, found))
                else:
                    self.more += 1
            yield row, pull


def read_file(path: Path, *, decimal: Decimal = Decimal.POINT, rigs: KnownRigs = no_rigs) -> PullFile:
    """The pulls of a CSV file or a workbook, or all its problems at once."""
    return file_of(content_of(path), name=path.name, decimal=decimal, rigs=rigs)


def file_of(content: bytes, *, name: str, decimal: Decimal = Decimal.POINT, rigs: KnownRigs = no_rigs) -> PullFile:
    """The pulls in the bytes of a file; its name says of which form it is."""
    if _is_workbook(name):
        from jointlab.record.xlsx_file import read_xlsx

        return read_xlsx(content, name=name, rigs=rigs)
    return read_csv(content, name=name, decimal=decimal, rigs=rigs)


def _is_workbook(name: str) -> bool:
    form = Path(name).suffix.lower()
    if form in OTHER_SPREADSHEETS:
        raise InputError(Problem("save the sheet as .xlsx or as CSV (UTF-8, comma-separated)"), subject=name)
    return form == WORKBOOK


def refuse_other_spreadsheet(path: Path) -> None:
    """Refuse to write a file under the name of another kind of spreadsheet.

    Raises
    ------
    InputError
        It has one.
    """
    if path.suffix.lower() in OTHER_SPREADSHEETS:
        told = "CSV and .xlsx are written: name a file that ends in .csv or .xlsx"
        raise InputError(Problem(told, value=str(path)), subject="export")


def export_template(path: Path) -> None:
    """Write a table to start from, one invented row for each way a pull can end.

    Raises
    ------
    InputError
        The name is that of another kind of spreadsheet, something stands there, or the file cannot be written.
    """
    from jointlab.record.template import ROWS, TITLES
    from jointlab.record.xlsx_file import sheet_of_rows

    refuse_other_spreadsheet(path)
    if path.exists():
        raise InputError(Problem("exists already: name a new file", value=str(path)), subject="export")
    if path.suffix.lower() == WORKBOOK:
        write_bytes(path, sheet_of_rows(TITLES, ROWS))
    else:
        write_text(path, written_table((TITLES, *ROWS)))


def write_pulls(path: Path, pulls: Iterable[Pull], *, columns: Sequence[str]) -> int:
    """Write pulls as they come, as CSV or as a workbook by the file's name; gives their number.

    Raises
    ------
    InputError
        The name is that of another kind of spreadsheet, or the file cannot be written: nothing of it is left then.
    """
    refuse_other_spreadsheet(path)
    number = 0

    def counted() -> Iterator[Pull]:
        nonlocal number
        for pull in pulls:
            number += 1
            yield pull

    with written_whole(path) as file:
        if path.suffix.lower() == WORKBOOK:
            from jointlab.record.xlsx_file import write_xlsx

            write_xlsx(file, counted(), columns=columns)
        else:
            text = io.TextIOWrapper(file, encoding="utf-8", newline="")
            write_csv(text, counted(), columns=columns)
            text.detach()
    return number


@contextmanager
def streamed_file(path: Path, *, decimal: Decimal = Decimal.POINT, rigs: KnownRigs = no_rigs) -> Iterator[FileStream]:
    """The pulls of a file one after another, however long it is.

    Raises
    ------
    InputError
        There is no such file, it cannot be read, or its header names no columns of a pull. What is wrong with its rows
        is raised while they are read.
    """
    workbook = _is_workbook(path.name)
    try:
        file, size = path.open("rb"), path.stat().st_size
    except OSError as error:
        raise InputError(Problem(f"cannot be read: {error.strerror}", value=str(path)), subject=str(path)) from None
    with file:
        if workbook:
            from jointlab.record.xlsx_file import streamed_xlsx

            with streamed_xlsx(file, name=path.name, rigs=rigs) as stream:
                yield FileStream(stream, lambda: file.tell() / max(size, 1))
        else:
            stream = streamed_csv(file, name=path.name, decimal=decimal, rigs=rigs)
            yield FileStream(stream, lambda: file.tell() / max(size, 1))


def asked_of(file: PullFile) -> tuple[ReadPull, ...]:
    """The pulls of a file by their rows, each with its stress and the questions it raises; nothing is stored."""
    return tuple(read_pull(StoredPull(row, 1, pull)) for row, pull in zip(file.rows, file.pulls, strict=True))
