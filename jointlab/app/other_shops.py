"""Pulls of other shops in this shop's book: brought in under their maker's name, and known by it ever after."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from jointlab.app import workflow
from jointlab.app.file_previews import preview_file
from jointlab.app.pull_files import Questions, Watching, streamed_file, unwatched
from jointlab.book.book import Book
from jointlab.book.stored import ImportReceipt, PaperKind, StoredPaper
from jointlab.errors import InputError, Problem
from jointlab.record.csv_file import Decimal, PullFile
from jointlab.record.finding import Finding
from jointlab.record.names import matched, tidied
from jointlab.record.pull import Pull
from jointlab.record.reading import no_rigs

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What bringing another shop's pulls in did: receipt, findings about the file, what is asked of its pulls."""

    receipt: ImportReceipt
    findings: tuple[Finding, ...]
    asked: Questions


def import_of_shop(
    place: str | Path | None,
    path: Path,
    shop: str,
    *,
    by: str | None = None,
    decimal: Decimal = Decimal.POINT,
    watching: Watching = unwatched,
) -> BroughtIn:
    """Store all pulls of a file as those of another shop, or none; raises what ``stored_of_shop`` raises."""
    with streamed_file(path, decimal=decimal) as file:
        read = watching(file.pulls.numbered, f"storing {path.name}", file.share_read)
        return _brought_in(place, read, file.pulls.findings, shop, by=by)


def stored_of_shop(place: str | Path | None, file: PullFile, shop: str, *, by: str | None = None) -> BroughtIn:
    """Store the pulls of a file that was read as those of another shop, or none.

    Each glue-up is kept under its name with the shop's behind it, so that two shops may both have a glue-up A; the
    book notes them as that shop's before the first is stored. Readings are not turned into loads by rigs of this book.

    Raises
    ------
    InputError
        The shop has no name, the file has problems, or its rows differ from what was imported before.
    """
    return _brought_in(place, zip(file.rows, file.pulls, strict=True), file.findings, shop, by=by)


def preview_of_shop(
    place: str | Path | None,
    path: Path,
    shop: str,
    *,
    decimal: Decimal = Decimal.POINT,
    watching: Watching = unwatched,
) -> tuple[ImportReceipt, tuple[Finding, ...], Questions]:
    """What ``import_of_shop`` would bring; nothing is stored."""
    name = _named(shop)
    return preview_file(
        place, path, decimal=decimal, watching=watching, rigs=no_rigs, as_stored=lambda pull: made_by(pull, name)
    )


def _named(shop: str) -> str:
    name = tidied(shop)
    if not name:
        raise InputError(Problem("must name the shop that pulled them", column="--shop"), subject="import")
    return name


def _brought_in(
    place: str | Path | None,
    numbered: Iterator[tuple[int, Pull]],
    findings: tuple[Finding, ...],
    shop: str,
    *,
    by: str | None,
) -> BroughtIn:
    name = _named(shop)
    asked = Questions()
    with workflow.open_book(place) as book:
        known = next((paper for paper in book.papers(PaperKind.SHOP) if matched(paper.key) == matched(name)), None)
        maker = name if known is None else known.key
        with book.staged(asked.asked((row, made_by(pull, maker)) for row, pull in numbered)) as aside:
            book.compare_staged(aside)
            _note_shop(book, name, known, aside.batches(), by=by)
            return BroughtIn(book.import_staged(aside, by=by), findings, asked)


def made_by(pull: Pull, shop: str) -> Pull:
    """The pull with its glue-up under the shop's name, once."""
    mark = f"({shop})"
    return pull if matched(pull.batch).endswith(matched(mark)) else replace(pull, batch=f"{pull.batch} {mark}")


def _note_shop(book: Book, shop: str, known: StoredPaper | None, names: Sequence[str], *, by: str | None) -> None:
    """Kept before the pulls are: whatever happens in between, none of them is ever taken for the shop's own."""
    before = [] if known is None else [str(name) for name in known.document["batches"]]
    batches = list(dict.fromkeys([*before, *names]))
    if batches != before:
        reason = None if known is None else "more pulls of that shop"
        book.keep_paper(PaperKind.SHOP, {"schema": SCHEMA, "batches": batches}, key=shop, reason=reason, by=by)
