"""From an address to a book that can be used, or a refusal that leaves everything as it was."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from sqlalchemy import URL, Engine

from jointlab.book.backup import copy_beside
from jointlab.book.disk import network_kind
from jointlab.book.engine import engine_for, file_of, looking_engine_for, shown
from jointlab.book.failures import driver_at_hand, opening_told_plainly
from jointlab.book.schema import CURRENT_SCHEMA
from jointlab.book.upgrading import bring_up_to_date, stored_schema
from jointlab.errors import BookError


def opened(address: URL, *, copy: Callable[[Path], Path] | None = copy_beside) -> Engine:
    """Connections to the book at this address, made if there is none, brought to the present schema if it is older.

    Parameters
    ----------
    copy
        Copies the file of an older book before it is changed; None when another copy is at hand.

    Raises
    ------
    BookError
        There cannot be a book there, or none that this version may touch.
    """
    name, file = shown(address), file_of(address)
    with driver_at_hand(name), opening_told_plainly(name):
        schema = _schema_at_first_look(address, name, file)
        engine = engine_for(address)
        try:
            if file is not None:
                _use_write_ahead_log(engine, name)
            if schema != CURRENT_SCHEMA:
                _bring_up_to_date(engine, name, copy(file) if copy and file and schema else None)
        except BaseException:
            engine.dispose()
            raise
    return engine


def _bring_up_to_date(engine: Engine, name: str, copy: Path | None) -> None:
    try:
        bring_up_to_date(engine, name)
    except BookError as failure:
        if copy is None:
            raise
        raise BookError(f"{failure} A copy of it stands at {copy}.") from failure


def _schema_at_first_look(address: URL, name: str, file: Path | None) -> str | None:
    if file is None:
        return _schema_seen_by(engine_for(address), name)
    if not file.parent.is_dir():
        raise BookError(f"The folder of the shop book {name} does not exist: make {file.parent}, or name another.")
    if file.is_dir():
        raise BookError(f"The shop book {name} is a folder: name a file in it, such as {file / 'shop.db'}.")
    kind = network_kind(file.parent)
    if kind is not None:
        raise BookError(
            f"The shop book {name} would lie on a network disk ({kind}), where two computers at once can damage it. "
            "Keep it on a disk of this computer and put backups on the network disk, or use a postgresql:// address."
        )
    if not file.exists() or file.stat().st_size == 0:
        return None
    return _schema_seen_by(looking_engine_for(address), name)


def _schema_seen_by(engine: Engine, name: str) -> str | None:
    try:
        with engine.connect() as connection:
            return stored_schema(connection, name)
    finally:
        engine.dispose()


def _use_write_ahead_log(engine: Engine, name: str) -> None:
    with engine.connect() as connection:
        driver = connection.connection.driver_connection
        assert driver is not None
        (mode,) = driver.execute("PRAGMA journal_mode = WAL").fetchone()
    if mode != "wal":
        raise BookError(f"The disk of the shop book {name} cannot keep a write-ahead log: put it on a local disk.")
