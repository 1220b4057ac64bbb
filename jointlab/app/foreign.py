"""Which pulls of the shop book other shops made, whatever has become of their names since."""

from __future__ import annotations

from collections.abc import Sequence

from jointlab.book.book import Book
from jointlab.book.stored import PaperKind, StoredPull
from jointlab.record.names import matched
from jointlab.record.pull import Pull


def foreign_batches(book: Book, pulls: Sequence[StoredPull]) -> frozenset[str]:
    """Names of the glue-ups among these pulls that came in as another shop's, however they are called by now."""
    noted = {str(name) for paper in book.papers(PaperKind.SHOP) for name in paper.document["batches"]}
    if not noted:
        return frozenset()
    return frozenset(kept.pull.batch for kept in pulls if any(matched(name) in noted for name in _names(book, kept)))


def _names(book: Book, kept: StoredPull) -> tuple[str, ...]:
    if kept.revision == 1:
        return (kept.pull.batch,)
    return (kept.pull.batch, book.history(kept.id)[0].pull.batch)


def own_pulls(book: Book, pulls: Sequence[StoredPull]) -> tuple[StoredPull, ...]:
    """Those of these pulls that this shop made: not what came in as another's, nor a copy of that."""
    from jointlab.verdict.others import copies_among, passed_off_among

    foreign = foreign_batches(book, pulls)
    if not foreign:
        return tuple(pulls)
    passed_off = passed_off_among(copies_among(kept.pull for kept in pulls), foreign)
    return tuple(kept for kept in pulls if kept.pull.batch not in foreign and kept.pull.batch not in passed_off)


def made_here(book: Book, pulls: Sequence[StoredPull]) -> tuple[Pull, ...]:
    """The same, as they stand now."""
    return tuple(kept.pull for kept in own_pulls(book, pulls))
