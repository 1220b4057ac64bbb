"""The tables of what the shop book keeps beside pulls: rigs, papers, photos, and where their chains end.

Apart from those of pulls, so that a pull is recorded without building them.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
)

from jointlab.book.schema import METADATA, door_checks, door_columns
from jointlab.record.rig_row import RIG_REQUIRED, RigRow

RIG_REVISIONS = Table(
    "rig_revisions",
    METADATA,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("rig_key", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("reason", Text),
    Column("recorded_by", Text),
    *door_columns(RigRow, RIG_REQUIRED),
    Column("checks", Text),
    Column("digest", Text, nullable=False),
    UniqueConstraint("rig_key", "revision", name="one_row_a_rig_revision"),
    CheckConstraint("position >= 1", name="limit_position"),
    CheckConstraint("revision >= 1", name="limit_revision"),
    CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_change_has_a_reason"),
    CheckConstraint("length(digest) = 64", name="limit_digest"),
    *door_checks(RigRow),
)
"""Every state of every rig, in the order in which they were stored; the newest of a rig stands."""

CHAINS = Table(
    "chains",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("length", Integer, nullable=False),
    Column("head", Text, nullable=False),
    CheckConstraint("length >= 0", name="limit_length"),
)
"""As the ledger, for what is kept beside pulls: one row a chain."""

PAPERS = Table(
    "papers",
    METADATA,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("paper_key", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("reason", Text),
    Column("recorded_by", Text),
    Column("document", Text, nullable=False),
    Column("digest", Text, nullable=False),
    UniqueConstraint("kind", "paper_key", "revision", name="one_row_a_paper_revision"),
    CheckConstraint("position >= 1", name="limit_position"),
    CheckConstraint("revision >= 1", name="limit_revision"),
    CheckConstraint("length(kind) >= 1 AND length(kind) <= 40", name="limit_kind"),
    CheckConstraint("length(name) >= 1 AND length(name) <= 200", name="limit_name"),
    CheckConstraint("length(document) >= 2 AND length(document) <= 4000000", name="limit_document"),
    CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_change_has_a_reason"),
    CheckConstraint("length(digest) = 64", name="limit_digest"),
)
"""What later rooms made and the shop keeps - plans, verdicts, mounts and their course - as JSON, every state of it."""

Index("papers_by_subject", PAPERS.c.kind, PAPERS.c.subject)

PHOTOS = Table(
    "photos",
    METADATA,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("pull_id", Integer, ForeignKey("pulls.id", name="shows_a_pull")),
    Column("mount_key", Text),
    Column("caption", Text),
    Column("recorded_at", Text, nullable=False),
    Column("recorded_by", Text),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("picture", LargeBinary, nullable=False),
    Column("digest", Text, nullable=False),
    CheckConstraint("position >= 1", name="limit_position"),
    CheckConstraint("(pull_id IS NULL) <> (mount_key IS NULL)", name="of_a_pull_or_a_mount"),
    CheckConstraint("width_px >= 1 AND height_px >= 1", name="limit_size"),
    CheckConstraint("length(picture) >= 1 AND length(picture) <= 8000000", name="limit_picture"),
    CheckConstraint("length(sha256) = 64", name="limit_sha256"),
    CheckConstraint("length(digest) = 64", name="limit_digest"),
)
"""Photos of pulls and mounts, in the book so that one backup is whole; never changed, never deleted."""

Index("photos_by_pull", PHOTOS.c.pull_id)
Index("photos_by_mount", PHOTOS.c.mount_key)

EVERY_TABLE = tuple(METADATA.sorted_tables)
"""All tables of the book, each after those it refers to."""
