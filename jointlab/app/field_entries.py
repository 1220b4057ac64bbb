"""The field record of a book as others may see it: mounts without names, dates and notes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from jointlab.book.stored import PaperKind
from jointlab.errors import InputError
from jointlab.mount.setup import CatchClass, MountSetup
from jointlab.pool.values import FieldEntry
from jointlab.publish.field_file import in_order

if TYPE_CHECKING:
    from jointlab.book.book import Book
    from jointlab.record.pull import Pull
    from jointlab.verdict.field_record import FieldRecord


def field_of(book: Book, pulls: Iterable[Pull]) -> tuple[FieldEntry, ...]:
    """How the mounts of these pulls' combinations went; the order tells nothing of when."""
    published = {pull.joint.combination.key for pull in pulls}
    entries = [
        entry_of(setup, record) for setup, record in _mounts_of(book) if setup.joint.combination.key in published
    ]
    return in_order(entries)


def _mounts_of(book: Book) -> Iterator[tuple[MountSetup, FieldRecord]]:
    kept = book.papers(PaperKind.MOUNT)
    if not kept:
        return
    from jointlab.app.known_proofs import setup_of_paper
    from jointlab.app.mount_documents import MountPaper, record_of

    for paper in kept:
        about = [book.papers(kind, subject=paper.key) for kind in (PaperKind.PROOF, PaperKind.EVENT, PaperKind.ENDING)]
        try:
            yield setup_of_paper(MountPaper.model_validate(paper.document)), record_of(paper, *about)
        except InputError:
            continue  # described for an earlier program: it stays in the book and out of the publication


def entry_of(setup: MountSetup, record: FieldRecord) -> FieldEntry:
    """One mount without a name."""
    met = [catch for catch in CatchClass if record.catches(catch)]
    return FieldEntry(
        diameter_mm=float(setup.blank.diameter_mm),
        length_mm=float(setup.blank.length_mm),
        worst_catch=str(max(met, key=list(CatchClass).index)) if met else None,
        end=None if record.ended is None else str(record.ended.end),
        verdict=str(record.predicted.verdict),
        margin_lower=record.predicted.margin_lower,
        hours=float(record.hours),
        top_rpm=record.top_rpm,
        proofed=record.proofed,
        removal=None if record.ended is None else str(record.ended.removal),
    )
