"""Photos of pulls: cleaned first, so that nothing is stored beside a file that is no picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from jointlab.app import workflow
from jointlab.app.benching import keep_photo_once
from jointlab.app.workflow import ReadPull
from jointlab.book.stored import StoredPhoto
from jointlab.errors import InputError, Problem
from jointlab.record.photo import Photo, cleaned_photo


def keep_photos(
    place: str | Path | None, pull_id: int, files: Sequence[Path], *, by: str | None = None
) -> tuple[StoredPhoto, ...]:
    """Keep photos of a pull that is stored; one that is kept already is not kept twice.

    Raises
    ------
    InputError
        With a problem for each file that is no picture; none was kept.
    UnknownEntryError
        There is no such pull.
    """
    photos = _cleaned(files)
    with workflow.open_book(place) as book:
        book.pull(pull_id)
        return tuple(keep_photo_once(book, photo, pull_id=pull_id, by=by) for photo in photos)


def record_with_photos(
    place: str | Path | None, cells: Mapping[str, str], files: Sequence[Path], *, by: str | None = None
) -> ReadPull:
    """Store one pull and the photos of it.

    Raises
    ------
    InputError
        A column is bad or a file is no picture; nothing was stored.
    """
    photos = _cleaned(files)
    read = workflow.record_pull(place, cells, by=by)
    with workflow.open_book(place) as book:
        for photo in photos:
            keep_photo_once(book, photo, pull_id=read.stored.id, by=by)
    return read


def _cleaned(files: Sequence[Path]) -> tuple[Photo, ...]:
    photos: list[Photo] = []
    problems: list[Problem] = []
    for file in files:
        try:
            photos.append(cleaned_photo(workflow.content_of(file), name=file.name))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems, subject="the photos")
    return tuple(photos)
