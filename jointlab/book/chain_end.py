"""Where the chain of what is kept beside pulls ends, taken in turn by those who write."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Table, insert, select, update

from jointlab.book.chain import digest_of
from jointlab.book.schema_beside import CHAINS


def held_end(connection: Connection, chain: str) -> tuple[int, str]:
    """Length of a chain and its last digest, held until the transaction ends so that the next writer waits."""
    query = select(CHAINS.c.length, CHAINS.c.head).where(CHAINS.c.name == chain).with_for_update()
    row = connection.execute(query).one()
    return row.length, row.head


def linked(
    connection: Connection,
    table: Table,
    cells: dict[str, Any],
    *,
    chain: str,
    end: tuple[int, str],
    apart: tuple[str, ...] = (),
) -> dict[str, Any]:
    """Store a row as the next link of its chain; gives it back with its position and digest.

    Parameters
    ----------
    end
        What ``held_end`` gave in this transaction.
    apart
        Columns the digest does not cover themselves, because another column holds their own digest.
    """
    length, head = end
    row = {"position": length + 1, **cells}
    row["digest"] = digest_of({name: cell for name, cell in row.items() if name not in apart}, before=head)
    connection.execute(insert(table), [row])
    connection.execute(update(CHAINS).where(CHAINS.c.name == chain).values(length=length + 1, head=row["digest"]))
    return row
