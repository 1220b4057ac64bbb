"""Photos of pulls and mounts, kept in the book so that one backup is whole."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, RowMapping, func, select

from jointlab.book.chain_end import held_end, linked
from jointlab.book.reading import stored_pull
from jointlab.book.schema_beside import PAPERS, PHOTOS
from jointlab.book.stored import PaperKind, StoredPhoto
from jointlab.book.wording import optional_line
from jointlab.errors import UnknownEntryError
from jointlab.record.names import matched
from jointlab.record.photo import Photo

CHAIN = "photos"
_KNOWN_OF = tuple(column for column in PHOTOS.c if column.name != "picture")


def keep_photo(
    connection: Connection,
    photo: Photo,
    *,
    pull_id: int | None,
    mount: str | None,
    caption: str,
    at: str,
    by: str | None,
) -> StoredPhoto:
    """Store a photo of one pull or of one mount."""
    name = optional_line(by, column="by")
    end = held_end(connection, CHAIN)
    if (pull_id is None) == (mount is None):
        raise ValueError("a photo shows a pull or a mount")
    if pull_id is not None:
        stored_pull(connection, pull_id)
    row = {
        "pull_id": pull_id,
        "mount_key": None if mount is None else _known_mount(connection, mount),
        "caption": optional_line(caption, column="caption"),
        "recorded_at": at,
        "recorded_by": name,
        "width_px": photo.width_px,
        "height_px": photo.height_px,
        "sha256": hashlib.sha256(photo.jpeg).hexdigest(),
        "picture": photo.jpeg,
    }
    return _photo_from(linked(connection, PHOTOS, row, chain=CHAIN, end=end, apart=("picture",)))


def _known_mount(connection: Connection, mount: str) -> str:
    key = matched(mount)
    query = select(func.count()).select_from(PAPERS)
    number = connection.execute(query.where(PAPERS.c.kind == str(PaperKind.MOUNT), PAPERS.c.paper_key == key)).scalar()
    if not number:
        raise UnknownEntryError(what="mount", asked=mount, nearest=[])
    return key


def _photo_from(cells: Mapping[str, Any] | RowMapping) -> StoredPhoto:
    return StoredPhoto(
        id=cells["position"],
        pull_id=cells["pull_id"],
        mount=cells["mount_key"],
        caption=cells["caption"] or "",
        recorded_at=cells["recorded_at"],
        by=cells["recorded_by"],
        width_px=cells["width_px"],
        height_px=cells["height_px"],
        sha256=cells["sha256"],
    )


def stored_photos(connection: Connection, *, pull_id: int | None, mount: str | None) -> tuple[StoredPhoto, ...]:
    """Photos of a pull, of a mount, or all of them, oldest first."""
    query = select(*_KNOWN_OF).order_by(PHOTOS.c.position)
    if pull_id is not None:
        query = query.where(PHOTOS.c.pull_id == pull_id)
    if mount is not None:
        query = query.where(PHOTOS.c.mount_key == matched(mount))
    return tuple(_photo_from(row) for row in connection.execute(query).mappings())


def photo_bytes(connection: Connection, photo_id: int) -> bytes:
    """The JPEG as it was stored."""
    picture = connection.execute(select(PHOTOS.c.picture).where(PHOTOS.c.position == photo_id)).scalar()
    if picture is None:
        raise UnknownEntryError(what="photo", asked=str(photo_id), nearest=[])
    return bytes(picture)
