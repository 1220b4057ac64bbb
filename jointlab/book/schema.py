"""The tables of pulls in the shop book as they are now; those of what is kept beside them are in ``schema_beside``.

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
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from jointlab.book.cells import NAME_KEYS
from jointlab.record.limits import lengths_in, limits_in, words_in
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


def door_columns(model: type[BaseModel], required: tuple[str, ...]) -> list[Column[Any]]:
    """The columns of a table that holds the rows of a door."""
    kinds = {name: Double() if limits_in(model, name) else Text() for name in model.model_fields}
    return [Column(name, kind, nullable=name not in required) for name, kind in kinds.items()]


def door_checks(model: type[BaseModel]) -> list[CheckConstraint]:
    """What the database holds those columns to."""
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
    *door_columns(PullRow, REQUIRED),
    *(Column(name, Text, nullable=False) for name in NAME_KEYS),
    Column("entered", Text),
    Column("digest", Text, nullable=False),
    UniqueConstraint("pull_id", "revision", name="one_row_a_revision"),
    CheckConstraint("position >= 1", name="limit_position"),
    CheckConstraint("revision >= 1", name="limit_revision"),
    CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_correction_has_a_reason"),
    CheckConstraint("length(digest) = 64", name="limit_digest"),
    *door_checks(PullRow),
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
