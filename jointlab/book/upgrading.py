"""Bringing a book to the present schema. Alembic is loaded here, and only when a book is not there yet."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from jointlab.book.engine import writing
from jointlab.book.schema import CURRENT_SCHEMA, KNOWN_SCHEMAS
from jointlab.errors import BookError

_VERSION_TABLE = "alembic_version"
_MIGRATIONS = Path(__file__).parent / "migrations"


def stored_schema(connection: Connection, place: str) -> str | None:
    """Schema of the book; None when the database is still empty.

    Raises
    ------
    BookError
        The database holds something else than a shop book, or a book of a newer jointlab.
    """
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    if not {_VERSION_TABLE, "ledger", "pull_revisions"} <= set(tables):
        raise BookError(
            f"The database {place} holds other tables and no shop book; it was left as it is. Name another with --book."
        )
    schema = connection.execute(text(f"SELECT version_num FROM {_VERSION_TABLE}")).scalar_one()
    if schema not in KNOWN_SCHEMAS:
        raise BookError(
            f"The shop book {place} was written by a newer jointlab (schema {schema}; this one knows up to "
            f"{CURRENT_SCHEMA}); it was left as it is. Install the newer jointlab."
        )
    return str(schema)


def bring_up_to_date(engine: Engine, place: str) -> None:
    """Run every step that is missing, each in one transaction with its record.

    Raises
    ------
    BookError
        Another program made it a newer book meanwhile.
    """
    with writing(engine).connect() as connection:
        while _one_step(connection, place):
            pass


def _one_step(connection: Connection, place: str) -> bool:
    with connection.begin():
        # asked again under the lock: another process may have been faster
        schema = stored_schema(connection, place)
        if schema == CURRENT_SCHEMA:
            return False
        _run_migration(connection, schema)
    return True


def _run_migration(connection: Connection, schema: str | None) -> None:
    from alembic.migration import MigrationContext
    from alembic.operations import Operations
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(_MIGRATIONS))
    position = 0 if schema is None else KNOWN_SCHEMAS.index(schema) + 1
    step = scripts.get_revision(KNOWN_SCHEMAS[position])
    context = MigrationContext.configure(connection)
    with Operations.context(context):
        step.module.upgrade()
    context.stamp(scripts, step.revision)
