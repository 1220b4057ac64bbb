"""Pulls of other shops in this shop's book: brought in under their maker's name, and known by it ever after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from jointlab.app import workflow
from jointlab.book.book import Book
from jointlab.book.stored import ImportReceipt, PaperKind, StoredPaper
from jointlab.errors import InputError, Problem
from jointlab.record.csv_file import Decimal, PullFile
from jointlab.record.finding import Finding
from jointlab.record.names import matched, tidied
from jointlab.record.pull import Pull

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What bringing another shop's pulls in did: receipt, findings about the file, pulls with what is asked of them."""

    receipt: ImportReceipt
    findings: tuple[Finding, ...]
    asked: tuple[workflow.ReadPull, ...]


def import_of_shop(
    place: str | Path | None, path: Path, shop: str, *, by: str | None = None, decimal: Decimal = Decimal.POINT
) -> BroughtIn:
    """Store all pulls of a file as those of another shop, or none; raises what ``stored_of_shop`` raises."""
    return stored_of_shop(place, workflow.read_file(path, decimal=decimal), shop, by=by)


def stored_of_shop(place: str | Path | None, file: PullFile, shop: str, *, by: str | None = None) -> BroughtIn:
    """Store the pulls of a file that was read as those of another shop, or none.

    Each glue-up is kept under its name with the shop's behind it, so that two shops may both have a glue-up A; the
    book notes them as that shop's before the first is stored. Readings are not turned into loads by rigs of this book.

    Raises
    ------
    InputError
        The shop has no name, the file has problems, or its rows differ from what was imported before.
    """
    name = tidied(shop)
    if not name:
        raise InputError(Problem("must name the shop that pulled them", column="--shop"), subject="import")
    with workflow.open_book(place) as book:
        known = next((paper for paper in book.papers(PaperKind.SHOP) if matched(paper.key) == matched(name)), None)
        pulls = tuple(made_by(pull, name if known is None else known.key) for pull in file.pulls)
        _note_shop(book, name, known, pulls, by=by)
        receipt = book.import_pulls(pulls, rows=file.rows, by=by)
    return BroughtIn(receipt, file.findings, workflow.asked_of(replace(file, pulls=pulls)))


def made_by(pull: Pull, shop: str) -> Pull:
    """The pull with its glue-up under the shop's name, once."""
    mark = f"({shop})"
    return pull if matched(pull.batch).endswith(matched(mark)) else replace(pull, batch=f"{pull.batch} {mark}")


def _note_shop(book: Book, shop: str, known: StoredPaper | None, pulls: Sequence[Pull], *, by: str | None) -> None:
    """Kept before the pulls are: whatever happens in between, none of them is ever taken for the shop's own."""
    before = [] if known is None else [str(name) for name in known.document["batches"]]
    batches = list(dict.fromkeys([*before, *(matched(pull.batch) for pull in pulls)]))
    if batches != before:
        reason = None if known is None else "more pulls of that shop"
        book.keep_paper(PaperKind.SHOP, {"schema": SCHEMA, "batches": batches}, key=shop, reason=reason, by=by)
