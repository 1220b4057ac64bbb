"""The tables of the shop book as they are now.

The limits stand in ``record.row``; the CHECKs here repeat them, so that no door, present or future, can store what the
bench would have refused. Migrations hold the same texts frozen; a test proves that both agree.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel
from sqlalchemy import (
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from jointlab.book.cells import NAME_KEYS
from jointlab.record.limits import lengths_in, limits_in, words_in
from jointlab.record.rig_row import RIG_REQUIRED, RigRow
from jointlab.record.row import REQUIRED, PullRow

KNOWN_SCHEMAS: tuple[str, ...] = ("0001", "0002", "0003")
"""Every schema this version can open, oldest first; any other is a newer book."""

CURRENT_SCHEMA = KNOWN_SCHEMAS[-1]
"""Revision of the migrations that these tables are."""

APPLICATION_ID = 0x4A4C424B
"""Marks an SQLite file as a shop book ("JLBK" in ASCII)."""

_SIGNS = {"gt": ">", "ge": ">=", "lt": "<", "le": "<="}


def check_text(column: str, *, model: type[BaseModel] = PullRow) -> str | None:
    """What the database holds a column of a door to, as SQL; None when any text will do."""
    words = words_in(model, column)
    if words:
        return f"{column} IN ({', '.join(repr(word) for word in words)})"
    limits = limits_in(model, column)
    if limits:
        return " AND ".join(f"{column} {_SIGNS[word]} {limit:.10g}" for word, limit in limits.items())
    shortest, longest = lengths_in(model, column)
    if longest is None:
        return None
    return f"length({column}) >= {shortest} AND length({column}) <= {longest}"


def _door_columns(model: type[BaseModel], required: tuple[str, ...]) -> list[Column[Any]]:
    kinds = {name: Double() if limits_in(model, name) else Text() for name in model.model_fields}
    return [Column(name, kind, nullable=name not in required) for name, kind in kinds.items()]


def _door_checks(model: type[BaseModel]) -> list[CheckConstraint]:
    texts = {name: check_text(name, model=model) for name in model.model_fields}
    return [CheckConstraint(text, name=f"limit_{name}") for name, text in texts.items() if text]


METADATA = MetaData()

PULLS = Table(
    "pulls",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("batch_key", Text, nullable=False),
    Column("specimen_key", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    UniqueConstraint("batch_key", "specimen_key", name="one_specimen_of_a_batch"),
    CheckConstraint("revision >= 1", name="limit_revision"),
)
"""One row a pull: which revision stands now. Numbers are given by the book, without gaps."""

PULL_REVISIONS = Table(
    "pull_revisions",
    METADATA,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("pull_id", Integer, ForeignKey("pulls.id", name="of_a_pull"), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("reason", Text),
    Column("recorded_by", Text),
    *_door_columns(PullRow, REQUIRED),
    *(Column(name, Text, nullable=False) for name in NAME_KEYS),
    Column("entered", Text),
    Column("digest", Text, nullable=False),
    UniqueConstraint("pull_id", "revision", name="one_row_a_revision"),
    CheckConstraint("position >= 1", name="limit_position"),
    CheckConstraint("revision >= 1", name="limit_revision"),
    CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_correction_has_a_reason"),
    CheckConstraint("length(digest) = 64", name="limit_digest"),
    *_door_checks(PullRow),
)
"""Every state of every pull, in the order in which they were stored; never changed, never deleted."""

Index(
    "revisions_by_combination",
    *(PULL_REVISIONS.c[n] for n in ("glue_key", "substrate_key", "preparation_key", "action")),
)
Index("revisions_by_specimen", *(PULL_REVISIONS.c[n] for n in ("batch_key", "specimen_key", "revision")))

LEDGER = Table(
    "ledger",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("length", Integer, nullable=False),
    Column("head", Text, nullable=False),
    CheckConstraint("id = 1", name="one_ledger"),
    CheckConstraint("length >= 0", name="limit_length"),
)
"""One row: how many revisions there are and the digest of the last. Writers take it in turn."""

RIG_REVISIONS = Table(
    "rig_revisions",
    METADATA,
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("rig_key", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("recorded_at", Text, nullable=False),
    Column("reason", Text),
    Column("recorded_by", Text),
    *_door_columns(RigRow, RIG_REQUIRED),
    Column("checks", Text),
    Column("digest", Text, nullable=False),
    UniqueConstraint("rig_key", "revision", name="one_row_a_rig_revision"),
    CheckConstraint("position >= 1", name="limit_position"),
    CheckConstraint("revision >= 1", name="limit_revision"),
    CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_change_has_a_reason"),
    CheckConstraint("length(digest) = 64", name="limit_digest"),
    *_door_checks(RigRow),
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
