"""Bringing a book to the present schema. Alembic is loaded here, and only when a book is not there yet."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from jointlab.book.engine import writing
from jointlab.book.schema import APPLICATION_ID, KNOWN_SCHEMAS
from jointlab.errors import BookError

_VERSION_TABLE = "alembic_version"
MIGRATIONS = Path(__file__).parent / "migrations"


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
            f"{KNOWN_SCHEMAS[-1]}); it was left as it is. Install the newer jointlab."
        )
    return str(schema)


def bring_up_to_date(engine: Engine, place: str) -> None:
    """Run every step that is missing, each in one transaction with its record.

    Raises
    ------
    BookError
        A step failed, and the book is as it was before that step; or another program made it a newer book meanwhile.
    """
    with writing(engine).connect() as connection:
        _references_enforced(connection, "OFF")
        try:
            while _one_step(connection, place):
                pass
        finally:
            _references_enforced(connection, "ON")


def _references_enforced(connection: Connection, state: str) -> None:
    # rebuilding a table drops the old one: with references enforced, that would empty the tables that refer to it
    driver = connection.connection.driver_connection
    if connection.dialect.name == "sqlite" and driver is not None:
        driver.execute(f"PRAGMA foreign_keys = {state}")


def _one_step(connection: Connection, place: str) -> bool:
    with connection.begin():
        # asked again under the lock: another process may have been faster
        if connection.dialect.name == "postgresql":
            connection.execute(text(f"SELECT pg_advisory_xact_lock({APPLICATION_ID})"))
        schema = stored_schema(connection, place)
        if schema == KNOWN_SCHEMAS[-1]:
            return False
        step = KNOWN_SCHEMAS[0 if schema is None else KNOWN_SCHEMAS.index(schema) + 1]
        try:
            _run_migration(connection, step)
        except Exception as failure:
            said = getattr(failure, "orig", failure)
            raise BookError(
                f"The shop book {place} could not be brought from schema {schema or 'none'} to {step} ({said}); "
                "it is as it was, and the jointlab that wrote it last can go on with it."
            ) from failure
    return True


def _run_migration(connection: Connection, step: str) -> None:
    from alembic.migration import MigrationContext
    from alembic.operations import Operations
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(MIGRATIONS))
    script = scripts.get_revision(step)
    context = MigrationContext.configure(connection)
    with Operations.context(context):
        script.module.upgrade()
    context.stamp(scripts, script.revision)
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
        if broken is not None:
            raise ValueError(f"a row of {broken[0]} would refer to a row of {broken[2]} that is not there")
