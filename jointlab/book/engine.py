"""Where a book stands, and connections to it that keep what they acknowledge."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import StaticPool

from jointlab.errors import BookError

BUSY_TIMEOUT_MS = 10_000
"""How long a writer waits for another before it is told to try again [ms]; a judgement."""

LARGE_CACHE_KIB = 32_768
"""Pages an import may keep in memory [KiB]; a judgement: the indexes of some 200,000 pulls."""

CONNECT_TIMEOUT_S = 10
"""How long a server may take to answer [s]; a judgement."""

WRITING = "jointlab_writing"
"""Execution option of connections that are going to write: on SQLite they take the write lock at once."""

_URL = re.compile(r"[A-Za-z][A-Za-z0-9+]+://")


def address_of(place: str | Path) -> URL:
    """Address of the book at a path or URL.

    Raises
    ------
    BookError
        The URL cannot be read, or names a database jointlab does not keep books in.
    """
    if not _URL.match(str(place)):
        return URL.create("sqlite", database=str(place))
    try:
        address = make_url(str(place))
    except ArgumentError as failure:
        raise BookError(f"The address of the shop book cannot be read: {failure}.") from failure
    match address.get_backend_name():
        case "sqlite":
            return address
        case "postgresql":
            return address.set(drivername="postgresql+psycopg")
        case other:
            raise BookError(f"A shop book can be an SQLite file or a postgresql:// address, not {other}.")


def shown(address: URL) -> str:
    """The address as messages show it: a path as it is, a URL without its password."""
    if address.get_backend_name() == "sqlite" and address.database and not address.query:
        return address.database
    return address.render_as_string(hide_password=True)


def file_of(address: URL) -> Path | None:
    """File the book is kept in; None for a server or a book in memory."""
    if address.get_backend_name() != "sqlite" or address.database in (None, "", ":memory:"):
        return None
    name = str(address.database)
    return Path(name.removeprefix("file:") if name.startswith("file:") else name)


def engine_for(address: URL) -> Engine:
    """Connections to the book: durable, with foreign keys enforced."""
    if address.get_backend_name() != "sqlite":
        engine = create_engine(address, connect_args={"connect_timeout": CONNECT_TIMEOUT_S}, pool_pre_ping=True)
        event.listen(engine, "connect", _prepare_postgresql)
        return engine
    if file_of(address) is None:
        engine = create_engine(address, poolclass=StaticPool)
    else:
        engine = create_engine(address, connect_args={"timeout": BUSY_TIMEOUT_MS / 1000.0})
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def looking_engine_for(address: URL) -> Engine:
    """Connections that cannot change a file by so much as a byte, nor leave one beside it: to look before trusting."""
    path = file_of(address)
    assert path is not None
    # with a log beside it the file alone may be behind, and the files a reader of the log needs are there already
    how = "mode=ro" if path.with_name(f"{path.name}-wal").exists() else "mode=ro&immutable=1"
    return create_engine(URL.create("sqlite", database=f"{path.absolute().as_uri()}?{how}", query={"uri": "true"}))


def writing(engine: Engine) -> Engine:
    """The same connections, for writing."""
    return engine.execution_options(**{WRITING: True})


def reading_at_one_moment(engine: Engine) -> Engine:
    """The same connections, each seeing the book as it stood at one moment, whatever others write meanwhile."""
    if engine.dialect.name == "postgresql":
        return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
    return engine  # a transaction of SQLite sees one moment anyway


def make_room(connection: Connection) -> None:
    """Let this connection keep more of an SQLite book in memory: for one that is about to write all over it."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA cache_size = -{LARGE_CACHE_KIB}")


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions begin where _begin_sqlite says, DDL included
    for setting in ("foreign_keys = ON", "synchronous = FULL", f"busy_timeout = {BUSY_TIMEOUT_MS}"):
        connection.execute(f"PRAGMA {setting}")


def _prepare_postgresql(connection: Any, _record: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SET lock_timeout = {BUSY_TIMEOUT_MS}")
    connection.commit()


def _begin_sqlite(connection: Connection) -> None:
    # A deferred transaction that turns into a writer can be refused half-way; a writer says so from the start.
    writes = connection.get_execution_options().get(WRITING, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
