"""Bringing a database's tables up to what this program knows."""

from sqlalchemy import Connection, inspect, text

from monitor.errors import StoreError
from monitor.store.engine import Database

REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008")
"""Every step of `migrations/versions`, oldest first."""

_VERSION_TABLE = "alembic_version"


def bring_up_to_date(database: Database) -> None:
    """Take each step that the database lacks, in one transaction; a new one starts from empty.

    Raises StoreError for a database made by a newer version, or by another program.
    """
    with database.reading() as connection:
        if _revision(connection, database.name) == REVISIONS[-1]:
            return
    with database.writing() as connection:
        # Another program may have been quicker while this one waited for the lock.
        if _revision(connection, database.name) != REVISIONS[-1]:
            _migrate(connection)


def _revision(connection: Connection, name: str) -> str | None:
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    if _VERSION_TABLE not in tables:
        raise StoreError(
            f"The database {name} belongs to another program.",
            "Give a folder of its own with --shop, or move that file away.",
        )
    revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if revision is not None and revision not in REVISIONS:
        raise StoreError(
            f"The database {name} was written by a newer version of this program.",
            "Install that version or a later one; this one leaves the file as it is.",
        )
    return revision


def _migrate(connection: Connection) -> None:
    # Imported here because it costs a start as much as everything else in the store together.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "monitor.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
