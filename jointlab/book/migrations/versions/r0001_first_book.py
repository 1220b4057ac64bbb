"""Schema 0001: pulls, their revisions, the ledger of the chain."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

APPLICATION_ID = 0x4A4C424B

# column, what it holds, whether it is needed, limit
CONTRACT: tuple[tuple[str, str, bool, str | None], ...] = (
    ("batch", "text", True, "length(batch) >= 1 AND length(batch) <= 200"),
    ("specimen", "text", True, "length(specimen) >= 1 AND length(specimen) <= 200"),
    ("tested_on", "text", True, None),
    ("glue", "text", True, "length(glue) >= 1 AND length(glue) <= 200"),
    ("substrate", "text", True, "length(substrate) >= 1 AND length(substrate) <= 200"),
    ("preparation", "text", False, "length(preparation) >= 1 AND length(preparation) <= 200"),
    ("blank_wood", "text", False, "length(blank_wood) >= 1 AND length(blank_wood) <= 200"),
    (
        "glue_family",
        "text",
        False,
        "glue_family IN ('pva', 'pva_crosslinking', 'polyurethane', 'epoxy', 'urea_formaldehyde', "
        "'resorcinol', 'hide', 'cyanoacrylate', 'hot_melt', 'contact', 'construction', 'tape', 'other')",
    ),
    (
        "substrate_kind",
        "text",
        False,
        "substrate_kind IN ('solid_face', 'solid_edge', 'solid_end', 'segmented', 'plywood', 'mdf', "
        "'particleboard', 'osb', 'other')",
    ),
    ("interlayer", "text", False, "interlayer IN ('none', 'paper', 'tape')"),
    ("action", "text", True, "action IN ('pull', 'pry', 'shear', 'twist')"),
    ("grain_to_load", "text", False, "grain_to_load IN ('along', 'across', 'mixed')"),
    ("shape", "text", True, "shape IN ('disc', 'ring', 'rectangle')"),
    ("diameter_mm", "number", False, "diameter_mm > 0 AND diameter_mm <= 10000"),
    ("hole_mm", "number", False, "hole_mm > 0 AND hole_mm <= 10000"),
    ("width_mm", "number", False, "width_mm > 0 AND width_mm <= 10000"),
    ("depth_mm", "number", False, "depth_mm > 0 AND depth_mm <= 10000"),
    ("void_pct", "number", False, "void_pct >= 0 AND void_pct < 100"),
    ("load_n", "number", False, "load_n > 0 AND load_n <= 10000000"),
    ("torque_nm", "number", False, "torque_nm > 0 AND torque_nm <= 1000000"),
    ("arm_mm", "number", False, "arm_mm > 0 AND arm_mm <= 10000"),
    ("offset_mm", "number", False, "offset_mm >= 0 AND offset_mm <= 10000"),
    ("outcome", "text", True, "outcome IN ('broke', 'held', 'step', 'handled')"),
    ("held_n", "number", False, "held_n > 0 AND held_n <= 10000000"),
    ("held_nm", "number", False, "held_nm > 0 AND held_nm <= 1000000"),
    ("wood_pct", "number", False, "wood_pct >= 0 AND wood_pct <= 100"),
    ("cohesive_pct", "number", False, "cohesive_pct >= 0 AND cohesive_pct <= 100"),
    ("adhesive_pct", "number", False, "adhesive_pct >= 0 AND adhesive_pct <= 100"),
    ("delamination_pct", "number", False, "delamination_pct >= 0 AND delamination_pct <= 100"),
    ("paper_pct", "number", False, "paper_pct >= 0 AND paper_pct <= 100"),
    ("adhesive_side", "text", False, "adhesive_side IN ('blank', 'substrate', 'both')"),
    (
        "broke_at",
        "text",
        False,
        "broke_at IN ('glue_line', 'substrate', 'blank', 'paper', 'screws', 'jaws', 'bar', 'rig')",
    ),
    ("glued_on", "text", False, None),
    ("cure_h", "number", False, "cure_h >= 0 AND cure_h <= 1000000"),
    ("clamp_h", "number", False, "clamp_h >= 0 AND clamp_h <= 1000000"),
    ("air_c", "number", False, "air_c >= -60 AND air_c <= 120"),
    ("humidity_pct", "number", False, "humidity_pct >= 0 AND humidity_pct <= 100"),
    ("moisture_pct", "number", False, "moisture_pct >= 0 AND moisture_pct <= 250"),
    ("spread_g_m2", "number", False, "spread_g_m2 > 0 AND spread_g_m2 <= 10000"),
    ("grit", "number", False, "grit > 0 AND grit <= 100000"),
    ("gap_mm", "number", False, "gap_mm >= 0 AND gap_mm <= 100"),
    ("rig", "text", False, "length(rig) >= 1 AND length(rig) <= 200"),
    ("uncertainty_pct", "number", False, "uncertainty_pct >= 0 AND uncertainty_pct < 100"),
    ("cap_n", "number", False, "cap_n > 0 AND cap_n <= 10000000"),
    ("cap_nm", "number", False, "cap_nm > 0 AND cap_nm <= 1000000"),
    ("load_step_n", "number", False, "load_step_n > 0 AND load_step_n <= 10000000"),
    ("load_step_nm", "number", False, "load_step_nm > 0 AND load_step_nm <= 1000000"),
    ("excluded_because", "text", False, "length(excluded_because) >= 1 AND length(excluded_because) <= 200"),
    ("notes", "text", False, "length(notes) >= 0 AND length(notes) <= 4000"),
)

NAME_KEYS = ("batch_key", "specimen_key", "glue_key", "substrate_key", "preparation_key")

_REFUSALS = (
    ("revisions_are_not_changed", "UPDATE", "pull_revisions", "a stored revision is never changed: store a new one"),
    ("revisions_are_not_deleted", "DELETE", "pull_revisions", "a stored revision is never deleted"),
    ("pulls_are_not_deleted", "DELETE", "pulls", "a pull is never deleted: exclude it with a cause"),
    ("the_ledger_is_not_deleted", "DELETE", "ledger", "the ledger is never deleted"),
)


def upgrade() -> None:
    """Make an empty book."""
    op.create_table(
        "pulls",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("batch_key", sa.Text, nullable=False),
        sa.Column("specimen_key", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.UniqueConstraint("batch_key", "specimen_key", name="one_specimen_of_a_batch"),
        sa.CheckConstraint("revision >= 1", name="limit_revision"),
    )
    op.create_table("pull_revisions", *_revision_columns(), *_revision_limits())
    op.create_index(
        "revisions_by_combination", "pull_revisions", ["glue_key", "substrate_key", "preparation_key", "action"]
    )
    op.create_index("revisions_by_specimen", "pull_revisions", ["batch_key", "specimen_key", "revision"])
    ledger = op.create_table(
        "ledger",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("length", sa.Integer, nullable=False),
        sa.Column("head", sa.Text, nullable=False),
        sa.CheckConstraint("id = 1", name="one_ledger"),
        sa.CheckConstraint("length >= 0", name="limit_length"),
    )
    op.bulk_insert(ledger, [{"id": 1, "length": 0, "head": "0" * 64}])
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()


def _revision_columns() -> list[sa.Column[Any]]:
    kinds: dict[str, Any] = {"number": sa.Double, "text": sa.Text}
    return [
        sa.Column("position", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("pull_id", sa.Integer, sa.ForeignKey("pulls.id", name="of_a_pull"), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.Column("reason", sa.Text),
        sa.Column("recorded_by", sa.Text),
        *(sa.Column(name, kinds[kind](), nullable=not needed) for name, kind, needed, _ in CONTRACT),
        *(sa.Column(name, sa.Text, nullable=False) for name in NAME_KEYS),
        sa.Column("entered", sa.Text),
        sa.Column("digest", sa.Text, nullable=False),
    ]


def _revision_limits() -> list[sa.Constraint]:
    return [
        sa.UniqueConstraint("pull_id", "revision", name="one_row_a_revision"),
        sa.CheckConstraint("position >= 1", name="limit_position"),
        sa.CheckConstraint("revision >= 1", name="limit_revision"),
        sa.CheckConstraint("revision = 1 OR reason IS NOT NULL", name="a_correction_has_a_reason"),
        sa.CheckConstraint("length(digest) = 64", name="limit_digest"),
        *(sa.CheckConstraint(limit, name=f"limit_{name}") for name, _, _, limit in CONTRACT if limit),
    ]


def _guard_sqlite() -> None:
    op.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    for name, act, table, said in _REFUSALS:
        op.execute(f"CREATE TRIGGER {name} BEFORE {act} ON {table} BEGIN SELECT RAISE(ABORT, '{said}'); END")
    # INSERT OR REPLACE deletes without asking the triggers above
    op.execute(
        "CREATE TRIGGER revisions_are_not_replaced BEFORE INSERT ON pull_revisions "
        "WHEN EXISTS (SELECT 1 FROM pull_revisions WHERE position = NEW.position "
        "OR (pull_id = NEW.pull_id AND revision = NEW.revision)) "
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
        "CREATE TRIGGER revisions_are_not_emptied BEFORE TRUNCATE ON pull_revisions "
        "FOR EACH STATEMENT EXECUTE FUNCTION revisions_are_not_deleted()"
    )
