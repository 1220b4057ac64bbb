"""The papers of the shop: plans, verdicts, mounts and their course, each kept with every state it was in."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Row, RowMapping, func, select

from jointlab.book.chain_end import held_end, linked
from jointlab.book.schema_beside import PAPERS
from jointlab.book.stored import PaperKind, StoredPaper
from jointlab.book.wording import needed_line, optional_line
from jointlab.errors import InputError, Problem, UnknownEntryError
from jointlab.record.names import matched, tidied

CHAIN = "papers"


def keep_paper(
    connection: Connection,
    kind: PaperKind,
    document: Mapping[str, object],
    *,
    key: str | None,
    subject: str,
    reason: str | None,
    at: str,
    by: str | None,
) -> StoredPaper:
    """Store a new paper, or the next state of the one known by that key."""
    name = optional_line(by, column="by")
    end = held_end(connection, CHAIN)
    title = _next_number(connection, kind) if key is None else needed_line(key, column="name", subject=f"the {kind}")
    before = _newest(connection, kind, title)
    text = json.dumps(document, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    if before is not None and before.document == text:
        raise InputError(Problem(f"the {kind} {title} is kept so already: nothing to change"), subject=f"the {kind}")
    row = {
        "kind": str(kind),
        "paper_key": matched(title),
        "revision": 1 if before is None else before.revision + 1,
        "name": tidied(title),
        "subject": matched(subject),
        "recorded_at": at,
        "reason": None if before is None else needed_line(reason or "", column="reason", subject=f"the {kind}"),
        "recorded_by": name,
        "document": text,
    }
    return _paper_from(linked(connection, PAPERS, row, chain=CHAIN, end=end))


def _next_number(connection: Connection, kind: PaperKind) -> str:
    # numbers never come twice: a name the shop chose that looks like the next number is stepped over
    first = select(func.count()).select_from(PAPERS).where(PAPERS.c.kind == str(kind), PAPERS.c.revision == 1)
    number = int(connection.execute(first).scalar_one()) + 1
    while _newest(connection, kind, str(number)) is not None:
        number += 1
    return str(number)


def _newest(connection: Connection, kind: PaperKind, key: str) -> Row[Any] | None:
    query = select(PAPERS).where(PAPERS.c.kind == str(kind), PAPERS.c.paper_key == matched(key))
    return connection.execute(query.order_by(PAPERS.c.revision.desc()).limit(1)).first()


def _paper_from(cells: Mapping[str, Any] | RowMapping) -> StoredPaper:
    return StoredPaper(
        kind=PaperKind(cells["kind"]),
        key=cells["name"],
        subject=cells["subject"],
        revision=cells["revision"],
        recorded_at=cells["recorded_at"],
        reason=cells["reason"],
        by=cells["recorded_by"],
        document=json.loads(cells["document"]),
        digest=cells["digest"],
    )


def stored_papers(connection: Connection, kind: PaperKind, *, subject: str | None) -> tuple[StoredPaper, ...]:
    """Every paper of a kind as it stands now, in the order in which they were first kept."""
    table = PAPERS
    last = (
        select(
            table.c.paper_key, func.max(table.c.revision).label("revision"), func.min(table.c.position).label("first")
        )
        .where(table.c.kind == str(kind))
        .group_by(table.c.paper_key)
        .subquery()
    )
    stands = (table.c.paper_key == last.c.paper_key) & (table.c.revision == last.c.revision)
    query = select(table).join(last, stands).where(table.c.kind == str(kind)).order_by(last.c.first)
    if subject is not None:
        query = query.where(table.c.subject == matched(subject))
    return tuple(_paper_from(row) for row in connection.execute(query).mappings())


def stored_paper(connection: Connection, kind: PaperKind, key: str) -> StoredPaper:
    """The paper of that key as it stands now, matched without case."""
    row = _newest(connection, kind, key)
    if row is None:
        raise _unknown(connection, kind, key)
    return _paper_from(row._mapping)


def _unknown(connection: Connection, kind: PaperKind, key: str) -> UnknownEntryError:
    known = [paper.key for paper in stored_papers(connection, kind, subject=None)]
    nearest = difflib.get_close_matches(key, known, n=3, cutoff=0.4) or known[-3:]
    return UnknownEntryError(what=str(kind), asked=key, nearest=nearest)


def paper_history(connection: Connection, kind: PaperKind, key: str) -> tuple[StoredPaper, ...]:
    """Every state of a paper, oldest first."""
    query = select(PAPERS).where(PAPERS.c.kind == str(kind), PAPERS.c.paper_key == matched(key))
    rows = connection.execute(query.order_by(PAPERS.c.revision)).mappings().all()
    if not rows:
        raise _unknown(connection, kind, key)
    return tuple(_paper_from(row) for row in rows)
