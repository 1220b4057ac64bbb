"""What is read from a book: each function runs inside one transaction and changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, Select, func, select

from jointlab.book.cells import pull_from
from jointlab.book.schema import LEDGER, PULL_REVISIONS, PULLS
from jointlab.book.stored import PullRevision, PullSelection, StoredCombination, StoredPull
from jointlab.errors import UnknownEntryError
from jointlab.record.joint import Combination
from jointlab.record.names import matched
from jointlab.record.row import COLUMNS
from jointlab.record.vocabulary import Action

FETCHED_AT_ONCE = 2_000
"""Rows fetched from the database at a time when many are read."""

ASKED_AT_ONCE = 500
"""Numbers of pulls named in one question to the database."""

LARGEST_NUMBER = 2**63 - 1
"""The largest number that the databases hold."""

_NOW = (PULLS.c.id == PULL_REVISIONS.c.pull_id) & (PULLS.c.revision == PULL_REVISIONS.c.revision)


def _current() -> Select[Any]:
    return select(PULL_REVISIONS).join(PULLS, _NOW)


def current_cells(connection: Connection, pull_id: int) -> dict[str, Any]:
    """Cells of a pull as it stands now.

    Raises
    ------
    UnknownEntryError
        There is no such pull.
    """
    known = pull_id <= LARGEST_NUMBER
    row = connection.execute(_current().where(PULLS.c.id == pull_id)).mappings().first() if known else None
    if row is None:
        raise UnknownEntryError(what="pull", asked=str(pull_id))
    return dict(row)


def stored_pull(connection: Connection, pull_id: int) -> StoredPull:
    """One pull as it stands now."""
    return _stored(current_cells(connection, pull_id))


def last_pull(connection: Connection) -> StoredPull | None:
    """The pull stored last, as it stands now; None in an empty book."""
    row = connection.execute(_current().order_by(PULLS.c.id.desc()).limit(1)).mappings().first()
    return None if row is None else _stored(dict(row))


def _stored(cells: Any) -> StoredPull:
    return StoredPull(cells["pull_id"], cells["revision"], pull_from(cells))


def selected_pulls(connection: Connection, selection: PullSelection) -> Iterator[StoredPull]:
    """The pulls of a selection, in the order of their numbers, read as they are used."""
    found = connection.execution_options(yield_per=FETCHED_AT_ONCE).execute(_selected(selection))
    for cells in found.mappings():
        yield _stored(cells)


def filled_columns(connection: Connection, selection: PullSelection) -> tuple[str, ...]:
    """Columns that any pull of a selection fills, in the order of the contract; all of them where there is no pull."""
    chosen = _selected(selection).subquery()
    numbers = connection.execute(select(*(func.count(chosen.c[name]) for name in COLUMNS))).one()
    return tuple(name for name, number in zip(COLUMNS, numbers, strict=True) if number) or COLUMNS


def _selected(selection: PullSelection) -> Select[Any]:
    table = PULL_REVISIONS
    names = {
        "glue_key": selection.glue,
        "substrate_key": selection.substrate,
        "preparation_key": selection.preparation,
        "batch_key": selection.batch,
    }
    asked = [table.c[key] == matched(name) for key, name in names.items() if name is not None]
    if selection.action is not None:
        asked.append(table.c.action == str(selection.action))
    if asked and selection.glue is None and selection.batch is None:
        # the index of combinations begins with the glue: naming all of them lets it be used
        asked.append(table.c.glue_key.in_(_every_glue()))
    query = _current().where(*asked)
    if selection.ids is not None:
        query = query.where(PULLS.c.id.in_(selection.ids))
    if selection.after is not None:
        query = query.where(PULLS.c.id > selection.after)
    # a filtered list is sorted after it was found: in the order of the numbers all pulls would be read
    return query.order_by(PULLS.c.id + 0 if asked else PULLS.c.id).limit(selection.limit)


def _every_glue() -> Select[Any]:
    """Every glue of the book, hopping from one to the next in the index."""
    key = PULL_REVISIONS.c.glue_key
    glues = select(func.min(key).label("glue")).cte("glues", recursive=True)
    following = select(func.min(key)).where(key > glues.c.glue).scalar_subquery()
    glues = glues.union_all(select(following).where(glues.c.glue.is_not(None)))
    return select(glues.c.glue).where(glues.c.glue.is_not(None))


def combinations(connection: Connection) -> tuple[StoredCombination, ...]:
    """Every combination and action with its numbers of pulls."""
    table = PULL_REVISIONS
    keys = [table.c[name] for name in ("glue_key", "substrate_key", "preparation_key", "action")]
    counts = [func.count(), func.count(table.c.excluded_because), func.min(PULLS.c.id)]
    groups = connection.execute(select(*keys, *counts).join(PULLS, _NOW).group_by(*keys)).all()
    spelled = _spelled(connection, [first for *_, first in groups])
    return tuple(
        StoredCombination(spelled[first], Action(action), pulls, excluded)
        for *_, action, pulls, excluded, first in sorted(tuple(group) for group in groups)
    )


def _spelled(connection: Connection, pull_ids: list[int]) -> dict[int, Combination]:
    """How each of these pulls spells its combination."""
    table = PULL_REVISIONS
    names = select(PULLS.c.id, table.c.glue, table.c.substrate, table.c.preparation).join(PULLS, _NOW)
    found: dict[int, Combination] = {}
    for start in range(0, len(pull_ids), ASKED_AT_ONCE):
        some = names.where(PULLS.c.id.in_(pull_ids[start : start + ASKED_AT_ONCE]))
        for pull_id, glue, substrate, preparation in connection.execute(some):
            found[pull_id] = Combination(glue, substrate, preparation or "")
    return found


def history(connection: Connection, pull_id: int) -> tuple[PullRevision, ...]:
    """Every revision of a pull, oldest first."""
    table = PULL_REVISIONS
    query = select(table).where(table.c.pull_id == pull_id).order_by(table.c.revision)
    rows = connection.execute(query).mappings().all() if pull_id <= LARGEST_NUMBER else []
    if not rows:
        raise UnknownEntryError(what="pull", asked=str(pull_id))
    return tuple(
        PullRevision(
            pull_id=row["pull_id"],
            revision=row["revision"],
            recorded_at=row["recorded_at"],
            reason=row["reason"],
            by=row["recorded_by"],
            pull=pull_from(dict(row)),
            digest=row["digest"],
        )
        for row in rows
    )


def head(connection: Connection) -> str:
    """Digest of the last revision of a pull."""
    return str(connection.execute(select(LEDGER.c.head)).scalar_one())


def has_entry(connection: Connection, digest: str) -> bool:
    """Whether some revision of a pull has this digest."""
    table = PULL_REVISIONS
    return connection.execute(select(table.c.position).where(table.c.digest == digest).limit(1)).first() is not None
