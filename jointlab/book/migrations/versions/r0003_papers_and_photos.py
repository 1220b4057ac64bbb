"""Schema 0003: the papers of the shop - plans, verdicts, mounts - and photos."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_STAMPED = (
    ("papers", "never changed: store a new state of it"),
    ("photos", "never changed: store another"),
)
_REPLACED = {
    "papers": "position = NEW.position OR (kind = NEW.kind AND paper_key = NEW.paper_key AND revision = NEW.revision)",
    "photos": "position = NEW.position",
}


def upgrade() -> None:
    """Add the papers and the photos, each with its chain."""
    op.create_table("papers", *_paper_columns(), *_paper_limits())
    op.create_index("papers_by_subject", "papers", ["kind", "subject"])
    op.create_table("photos", *_photo_columns(), *_photo_limits())
    op.create_index("photos_by_pull", "photos", ["pull_id"])
    op.create_index("photos_by_mount", "photos", ["mount_key"])
    chains = sa.table("chains", sa.column("name"), sa.column("length"), sa.column("head"))
    op.bulk_insert(chains, [{"name": name, "length": 0, "head": "0" * 64} for name, _ in _STAMPED])
    for table, said in _STAMPED:
        if op.get_bind().dialect.name == "sqlite":
            _guard_sqlite(table, said)
        else:
            _guard_postgresql(table, said)


def _paper_columns() -> list[sa.Column[Any]]:
    return [
        sa.Column("position", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("paper_key", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.Column("reason", sa.Text),
        sa.Column("recorded_by", sa.Text),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
    ]


def _paper_limits() -> list[sa.Constraint]:
    return [
        sa.UniqueConstraint("kind", "paper_key", "revision", name="one_row_a_paper_revision"),
        sa.CheckConstraint("position >= 1", name="limit_position"),
        sa.CheckConstraint("revision >= 1", name="limit_revision"),
        sa.CheckConstraint("length(kind) >= 1 AND length(kind) <= 40", name="limit_kind"),
        sa.CheckConstraint("length(name) >= 1 AND length(name) <= 200", name="limit_name"),
        sa.CheckConstraint("length(document) >= 2 AND length(document) <= 4000000", name="limit_document"),
        sa.CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_change_has_a_reason"),
        sa.CheckConstraint("length(digest) = 64", name="limit_digest"),
    ]


def _photo_columns() -> list[sa.Column[Any]]:
    return [
        sa.Column("position", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("pull_id", sa.Integer, sa.ForeignKey("pulls.id", name="shows_a_pull")),
        sa.Column("mount_key", sa.Text),
        sa.Column("caption", sa.Text),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.Column("recorded_by", sa.Text),
        sa.Column("width_px", sa.Integer, nullable=False),
        sa.Column("height_px", sa.Integer, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("picture", sa.LargeBinary, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
    ]


def _photo_limits() -> list[sa.Constraint]:
    return [
        sa.CheckConstraint("position >= 1", name="limit_position"),
        sa.CheckConstraint("(pull_id IS NULL) <> (mount_key IS NULL)", name="of_a_pull_or_a_mount"),
        sa.CheckConstraint("width_px >= 1 AND height_px >= 1", name="limit_size"),
        sa.CheckConstraint("length(picture) >= 1 AND length(picture) <= 8000000", name="limit_picture"),
        sa.CheckConstraint("length(sha256) = 64", name="limit_sha256"),
        sa.CheckConstraint("length(digest) = 64", name="limit_digest"),
    ]


def _guard_sqlite(table: str, said: str) -> None:
    refusals = ((f"{table}_are_not_changed", "UPDATE", said), (f"{table}_are_not_deleted", "DELETE", "never deleted"))
    for name, act, text in refusals:
        op.execute(
            f"CREATE TRIGGER {name} BEFORE {act} ON {table} BEGIN SELECT RAISE(ABORT, '{table} are {text}'); END"
        )
    # INSERT OR REPLACE deletes without asking the triggers above
    op.execute(
        f"CREATE TRIGGER {table}_are_not_replaced BEFORE INSERT ON {table} "
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {_REPLACED[table]}) "
        f"BEGIN SELECT RAISE(ABORT, '{table} are never replaced'); END"
    )


def _guard_postgresql(table: str, said: str) -> None:
    refusals = (
        (f"{table}_are_not_changed", "UPDATE", said),
        (f"{table}_are_not_deleted", "DELETE", "never deleted"),
        (f"{table}_are_not_emptied", "TRUNCATE", "never deleted"),
    )
    for name, act, text in refusals:
        op.execute(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{table} are {text}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
        op.execute(f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {name}()")
