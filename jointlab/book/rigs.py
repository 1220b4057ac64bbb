"""The rigs of the shop: what is kept of them, and every state they were in."""

from __future__ import annotations

import difflib
import json
from typing import Any

from sqlalchemy import Connection, func, select

from jointlab.book.chain_end import held_end, linked
from jointlab.book.schema_beside import RIG_REVISIONS
from jointlab.book.stored import RigRevision, StoredRig
from jointlab.book.wording import needed_line, optional_line
from jointlab.errors import InputError, Problem, UnknownEntryError
from jointlab.record.names import matched, tidied
from jointlab.record.rig import Rig, RigCheck, RigKind
from jointlab.record.rig_row import RIG_COLUMNS

CHAIN = "rigs"


def keep_rig(connection: Connection, rig: Rig, *, reason: str | None, at: str, by: str | None) -> StoredRig:
    """Store a new rig, or the next revision of one that is known by that name."""
    name = optional_line(by, column="by")
    end = held_end(connection, CHAIN)
    cells, key = _cells_of(rig), matched(rig.name)
    before = _newest(connection, key)
    why = None if before is None else needed_line(reason or "", column="reason", subject="the rig")
    if before is not None and all(before[column] == cells[column] for column in cells):
        raise InputError(Problem(f"the rig {rig.name} is kept so already: nothing to change"), subject="the rig")
    row = {
        "rig_key": key,
        "revision": 1 if before is None else before["revision"] + 1,
        "recorded_at": at,
        "reason": why,
        "recorded_by": name,
        **cells,
    }
    return StoredRig(linked(connection, RIG_REVISIONS, row, chain=CHAIN, end=end)["revision"], rig)


def _cells_of(rig: Rig) -> dict[str, Any]:
    cells: dict[str, Any] = {name: getattr(rig, name) for name in RIG_COLUMNS}
    for name, value in cells.items():
        if isinstance(value, (int, float)):
            cells[name] = float(value) + 0.0
    cells["name"], cells["kind"] = tidied(rig.name), str(rig.kind)
    checks = [[check.checked_on, float(check.known), float(check.shown)] for check in rig.checks]
    cells["checks"] = json.dumps(checks, allow_nan=False, separators=(",", ":")) if checks else None
    return cells


def _rig_from(cells: Any) -> Rig:
    columns = {name: cells[name] for name in RIG_COLUMNS}
    columns["kind"] = RigKind(columns["kind"])
    checks = tuple(RigCheck(day, known, shown) for day, known, shown in json.loads(cells["checks"] or "[]"))
    return Rig(**columns, checks=checks)


def _newest(connection: Connection, key: str) -> dict[str, Any] | None:
    table = RIG_REVISIONS
    query = select(table).where(table.c.rig_key == key).order_by(table.c.revision.desc()).limit(1)
    row = connection.execute(query).mappings().first()
    return None if row is None else dict(row)


def stored_rigs(connection: Connection) -> tuple[StoredRig, ...]:
    """Every rig as it stands now, in the order of their names."""
    table = RIG_REVISIONS
    newest = select(table.c.rig_key, func.max(table.c.revision).label("revision")).group_by(table.c.rig_key).subquery()
    stands = (table.c.rig_key == newest.c.rig_key) & (table.c.revision == newest.c.revision)
    rows = connection.execute(select(table).join(newest, stands)).mappings().all()
    return tuple(StoredRig(row["revision"], _rig_from(row)) for row in sorted(rows, key=lambda row: row["rig_key"]))


def stored_rig(connection: Connection, name: str) -> StoredRig:
    """The rig of this name, matched without case."""
    row = _newest(connection, matched(name))
    if row is None:
        raise _unknown(connection, name)
    return StoredRig(row["revision"], _rig_from(row))


def _unknown(connection: Connection, name: str) -> UnknownEntryError:
    known = [stored.rig.name for stored in stored_rigs(connection)]
    nearest = difflib.get_close_matches(name, known, n=3, cutoff=0.4) or known[:3]
    return UnknownEntryError(what="rig", asked=name, nearest=nearest)


def rig_history(connection: Connection, name: str) -> tuple[RigRevision, ...]:
    """Every revision of a rig, oldest first."""
    table = RIG_REVISIONS
    query = select(table).where(table.c.rig_key == matched(name)).order_by(table.c.revision)
    rows = connection.execute(query).mappings().all()
    if not rows:
        raise _unknown(connection, name)
    return tuple(
        RigRevision(
            row["revision"], row["recorded_at"], row["reason"], row["recorded_by"], _rig_from(row), row["digest"]
        )
        for row in rows
    )
