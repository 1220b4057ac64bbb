"""Looking through a whole book for damage."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import DatabaseError

from jointlab.book.cells import NAME_KEYS
from jointlab.book.chain import START, digest_of
from jointlab.book.reading import FETCHED_AT_ONCE
from jointlab.book.schema import LEDGER, PULL_REVISIONS, PULLS
from jointlab.book.schema_beside import CHAINS, PAPERS, PHOTOS, RIG_REVISIONS
from jointlab.book.stored import BookCheck
from jointlab.book.upgrading import stored_schema
from jointlab.record.names import matched

SHOWN_AT_MOST = 20
"""Damages of one kind named one by one; more are counted."""


def look_through(connection: Connection, place: str) -> BookCheck:
    """Check the file, its references, the chain of revisions and which of them stand.

    A revision that was changed, added, removed or moved behind jointlab's back breaks the chain there. Cutting off
    the end and setting the ledger back shows only against a digest noted down before: ``BookCheck.head``.
    """
    damages: list[str] = []
    remarks: list[str] = []
    looks = (_file_damages, _reference_damages, _standing_damages, _rig_damages, _paper_damages, _photo_damages)
    for look in (_chain_damages(connection, remarks), *(look(connection) for look in looks)):
        try:
            damages.extend(_shortened(look))
        except DatabaseError as failure:
            damages.append(f"cannot be read: {failure.orig}")
    return BookCheck(
        schema=_schema(connection, place),
        pulls=_number(connection, select(func.count()).select_from(PULLS)),
        revisions=_number(connection, select(LEDGER.c.length)),
        head=_head(connection),
        damages=tuple(damages),
        remarks=tuple(remarks),
    )


def _number(connection: Connection, query: Any) -> int:
    try:
        return int(connection.execute(query).scalar() or 0)
    except DatabaseError:
        return 0


def _schema(connection: Connection, place: str) -> str:
    try:
        return stored_schema(connection, place) or ""
    except DatabaseError:
        return ""


def _head(connection: Connection) -> str:
    try:
        return str(connection.execute(select(LEDGER.c.head)).scalar() or "")
    except DatabaseError:
        return ""


def _shortened(look: Iterator[str]) -> Iterator[str]:
    more = 0
    for position, damage in enumerate(look):
        if position < SHOWN_AT_MOST:
            yield damage
        else:
            more += 1
    if more:
        yield f"and {more} more of the kind"


def _file_damages(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    for (said,) in connection.exec_driver_sql("PRAGMA integrity_check"):
        if said != "ok":
            yield f"file: {said}"


def _reference_damages(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} refers to a row of {parent} that is not there"


def _chain_damages(connection: Connection, remarks: list[str]) -> Iterator[str]:
    before, expected, clock = START, 1, ""
    rows = connection.execution_options(yield_per=FETCHED_AT_ONCE).execute(
        select(PULL_REVISIONS).order_by(PULL_REVISIONS.c.position)
    )
    for row in map(dict, rows.mappings()):
        name = f"revision {row['revision']} of pull {row['pull_id']}"
        if row["position"] != expected:
            yield f"{row['position'] - expected} revision(s) are missing before {name}"
        elif row["digest"] != digest_of(row, before=before):
            yield f"{name} is not what was stored: its digest does not fit"
        if any(row[key] != matched(row[written] or "") for key, written in NAME_KEYS.items()):
            remarks.append(f"{name} is matched under a name that is no longer written so")
        if row["recorded_at"] < clock:
            remarks.append(f"{name} was stored at {row['recorded_at']}, after one of {clock}: the clock was set back")
        before, expected, clock = row["digest"], row["position"] + 1, row["recorded_at"]
    length, head = connection.execute(select(LEDGER.c.length, LEDGER.c.head)).one()
    if (length, head) != (expected - 1, before):
        yield f"the ledger counts {length} revisions, {expected - 1} are there and end otherwise"


def _standing_damages(connection: Connection) -> Iterator[str]:
    last = (
        select(PULL_REVISIONS.c.pull_id, func.max(PULL_REVISIONS.c.revision).label("revision"), func.count().label("n"))
        .group_by(PULL_REVISIONS.c.pull_id)
        .subquery()
    )
    query = select(PULLS.c.id, PULLS.c.revision, last.c.revision, last.c.n).join(
        last, last.c.pull_id == PULLS.c.id, isouter=True
    )
    for pull_id, standing, newest, number in connection.execute(query.order_by(PULLS.c.id)):
        if not standing == newest == number:
            yield f"pull {pull_id} stands at revision {standing}, but has {number or 0}, the newest {newest}"


def _rig_damages(connection: Connection) -> Iterator[str]:
    def named(row: dict[str, Any]) -> str:
        return f"revision {row['revision']} of the rig {row['name']}"

    rows = connection.execute(select(RIG_REVISIONS).order_by(RIG_REVISIONS.c.position)).mappings()
    yield from _link_damages(connection, map(dict, rows), "rigs", named)


def _paper_damages(connection: Connection) -> Iterator[str]:
    def named(row: dict[str, Any]) -> str:
        return f"revision {row['revision']} of the {row['kind']} {row['name']}"

    rows = connection.execution_options(yield_per=FETCHED_AT_ONCE).execute(select(PAPERS).order_by(PAPERS.c.position))
    yield from _link_damages(connection, map(dict, rows.mappings()), "papers", named)


def _photo_damages(connection: Connection) -> Iterator[str]:
    marred: list[str] = []

    def whole(row: dict[str, Any]) -> dict[str, Any]:
        if hashlib.sha256(row.pop("picture")).hexdigest() != row["sha256"]:
            marred.append(f"photo {row['position']} is not what was stored: its bytes changed")
        return row

    rows = connection.execution_options(yield_per=1).execute(select(PHOTOS).order_by(PHOTOS.c.position)).mappings()
    yield from _link_damages(
        connection, (whole(dict(row)) for row in rows), "photos", lambda row: f"photo {row['position']}"
    )
    yield from marred


def _link_damages(
    connection: Connection, rows: Iterable[dict[str, Any]], chain: str, named: Callable[[dict[str, Any]], str]
) -> Iterator[str]:
    before, expected = START, 1
    for row in rows:
        if row["position"] != expected:
            yield f"{row['position'] - expected} revision(s) of {chain} are missing before {named(row)}"
        elif row["digest"] != digest_of(row, before=before):
            yield f"{named(row)} is not what was stored: its digest does not fit"
        before, expected = row["digest"], row["position"] + 1
    length, head = connection.execute(select(CHAINS.c.length, CHAINS.c.head).where(CHAINS.c.name == chain)).one()
    if (length, head) != (expected - 1, before):
        yield f"the chain of {chain} counts {length} revisions, {expected - 1} are there and end otherwise"
