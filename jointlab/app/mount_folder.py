"""What is added to a mount of the book beside its record: photos, and the pull that pried its block off."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from threading import Lock

from jointlab.app import benching, mounting, workflow
from jointlab.app.mount_documents import MountPaper
from jointlab.app.publishing import today
from jointlab.book.stored import PaperKind, PullSelection, StoredPhoto, StoredPull
from jointlab.mount.document import document_of, with_settings
from jointlab.record.names import matched
from jointlab.record.photo import Photo

_KEEPING = Lock()


def keep_mount_photo(
    place: str | Path | None, name: str, photo: Photo, *, caption: str = "", by: str | None = None
) -> StoredPhoto:
    """Keep a photo of a mount; one that is kept already to the last byte is not kept twice.

    Raises
    ------
    UnknownEntryError
        The book has no mount of that name.
    """
    digest = hashlib.sha256(photo.jpeg).hexdigest()
    with workflow.open_book(place) as book, _KEEPING:
        key = book.paper(PaperKind.MOUNT, name).key
        for kept in book.photos(mount=key):
            if kept.sha256 == digest:
                return kept
        return book.keep_photo(photo, mount=key, caption=caption, by=by)


def record_pried_off(
    place: str | Path | None,
    name: str,
    pried: mounting.PriedOff,
    *,
    looks: str = "",
    confirmed: frozenset[str] = frozenset(),
    by: str | None = None,
) -> benching.Entry:
    """Store the free full-size pull that prying the block off with the scale was.

    Parameters
    ----------
    looks
        One word of ``benching.BREAKS`` on how the break looks; empty: not said.

    Raises
    ------
    InputError
        The reading or the arm is no number, or another pull of that mount is stored.
    Questioned
        The reading looks wrong and is not confirmed.
    """
    cells = mounting.full_size_cells(place, name, tested_on=today(), pried=pried) | benching.BREAKS.get(looks, {})
    return benching.stored_once(place, cells, confirmed=confirmed, by=by)


def described(place: str | Path | None, name: str) -> Mapping[str, object]:
    """Sections and keys of a mount as it was taken up, its settings among them.

    Raises
    ------
    UnknownEntryError
        The book has no mount of that name.
    """
    with workflow.open_book(place) as book:
        paper = MountPaper.model_validate(book.paper(PaperKind.MOUNT, name).document)
    return with_settings(document_of(paper.description, name=paper.file), paper.settings)


def pull_pried_off(place: str | Path | None, name: str) -> StoredPull | None:
    """The full-size pull of a mount's block, if it is stored."""
    cells = mounting.full_size_cells(place, name, tested_on=today(), pried=None)
    with workflow.open_book(place) as book:
        pulls = book.pulls(PullSelection(batch=cells["batch"]))
    return next((kept for kept in pulls if matched(kept.pull.specimen) == matched(cells["specimen"])), None)
