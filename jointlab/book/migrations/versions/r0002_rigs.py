"""Schema 0002: the rigs of the shop and their revisions."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# column, what it holds, whether it is needed, limit
CONTRACT: tuple[tuple[str, str, bool, str | None], ...] = (
    ("name", "text", True, "length(name) >= 1 AND length(name) <= 200"),
    (
        "kind",
        "text",
        True,
        "kind IN ('scale_in_line', 'lever', 'bar_and_scale', 'weights_in_steps', 'jack_and_gauge', 'torque_wrench')",
    ),
    ("ratio", "number", False, "ratio > 0 AND ratio <= 1000000"),
    ("arm_mm", "number", False, "arm_mm > 0 AND arm_mm <= 10000"),
    ("tare", "number", False, "tare >= -1000000 AND tare <= 1000000"),
    ("zero", "number", False, "zero >= -1000000 AND zero <= 1000000"),
    ("capacity", "number", False, "capacity > 0 AND capacity <= 10000000"),
    ("resolution", "number", False, "resolution > 0 AND resolution <= 10000000"),
    ("class_pct", "number", False, "class_pct >= 0 AND class_pct < 100"),
    ("step", "number", False, "step > 0 AND step <= 10000000"),
    ("notes", "text", False, "length(notes) >= 0 AND length(notes) <= 4000"),
)

_REFUSALS = (
    ("rig_revisions_are_not_changed", "UPDATE", "rig_revisions", "a stored revision is never changed: store a new one"),
    ("rig_revisions_are_not_deleted", "DELETE", "rig_revisions", "a stored revision is never deleted"),
    ("chains_are_not_deleted", "DELETE", "chains", "a chain is never deleted"),
)


def upgrade() -> None:
    """Add the rigs."""
    op.create_table("rig_revisions", *_columns(), *_limits())
    chains = op.create_table(
        "chains",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("length", sa.Integer, nullable=False),
        sa.Column("head", sa.Text, nullable=False),
        sa.CheckConstraint("length >= 0", name="limit_length"),
    )
    op.bulk_insert(chains, [{"name": "rigs", "length": 0, "head": "0" * 64}])
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()


def _columns() -> list[sa.Column[Any]]:
    kinds: dict[str, Any] = {"number": sa.Double, "text": sa.Text}
    return [
        sa.Column("position", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("rig_key", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.Column("reason", sa.Text),
        sa.Column("recorded_by", sa.Text),
        *(sa.Column(name, kinds[kind](), nullable=not needed) for name, kind, needed, _ in CONTRACT),
        sa.Column("checks", sa.Text),
        sa.Column("digest", sa.Text, nullable=False),
    ]


def _limits() -> list[sa.Constraint]:
    return [
        sa.UniqueConstraint("rig_key", "revision", name="one_row_a_rig_revision"),
        sa.CheckConstraint("position >= 1", name="limit_position"),
        sa.CheckConstraint("revision >= 1", name="limit_revision"),
        sa.CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_change_has_a_reason"),
        sa.CheckConstraint("length(digest) = 64", name="limit_digest"),
        *(sa.CheckConstraint(limit, name=f"limit_{name}") for name, _, _, limit in CONTRACT if limit),
    ]


def _guard_sqlite() -> None:
    for name, act, table, said in _REFUSALS:
        op.execute(f"CREATE TRIGGER {name} BEFORE {act} ON {table} BEGIN SELECT RAISE(ABORT, '{said}'); END")
    # INSERT OR REPLACE deletes without asking the triggers above
    op.execute(
        "CREATE TRIGGER rig_revisions_are_not_replaced BEFORE INSERT ON rig_revisions "
        "WHEN EXISTS (SELECT 1 FROM rig_revisions WHERE position = NEW.position "
        "OR (rig_key = NEW.rig_key AND revision = NEW.revision)) "
        "BEGIN SELECT RAISE(ABORT, 'a stored revision is never replaced'); END"
    )


def _guard_postgresql() -> None:
    for name, act, table, said in _REFUSALS:
        op.execute(
            f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{said}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        )
        op.execute(f"CREATE TRIGGER {name} BEFORE {act} ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {name}()")
    op.execute(
        "CREATE TRIGGER rig_revisions_are_not_emptied BEFORE TRUNCATE ON rig_revisions "
        "FOR EACH STATEMENT EXECUTE FUNCTION rig_revisions_are_not_deleted()"
    )
