"""What an import would bring, told before anything is stored."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app.places import book_stands_at
from jointlab.app.pull_files import Questions, Watching, streamed_file, unwatched
from jointlab.app.workflow import open_book, rigs_kept
from jointlab.book.staging import staged
from jointlab.book.stored import ImportReceipt
from jointlab.record.csv_file import Decimal
from jointlab.record.finding import Finding
from jointlab.record.reading import KnownRigs

if TYPE_CHECKING:
    from jointlab.record.pull import Pull


def preview_file(
    place: str | Path | None,
    path: Path,
    *,
    decimal: Decimal = Decimal.POINT,
    watching: Watching = unwatched,
    rigs: KnownRigs | None = None,
    as_stored: Callable[[Pull], Pull] = lambda pull: pull,
) -> tuple[ImportReceipt, tuple[Finding, ...], Questions]:
    """What an import of a file would store and skip, findings about it, and what is asked of its pulls.

    Nothing is stored, and where there is no book yet none is made.

    Parameters
    ----------
    rigs
        The rigs by which readings become loads; those of the book when None.
    as_stored
        What becomes of a pull of the file on its way into the book.

    Raises
    ------
    InputError
        With every problem of the file and of its rows with the book.
    """
    asked = Questions()
    with streamed_file(path, decimal=decimal, rigs=rigs_kept(place) if rigs is None else rigs) as file:
        meant = ((row, as_stored(pull)) for row, pull in file.pulls.numbered)
        read = watching(asked.asked(meant), f"reading {path.name}", file.share_read)
        if book_stands_at(place):
            with open_book(place) as book, book.staged(read) as aside:
                return book.compare_staged(aside), file.pulls.findings, asked
        with staged(read) as aside:
            if not aside.sound:
                raise aside.every_problem()
            return ImportReceipt(asked.pulls, 0), file.pulls.findings, asked
