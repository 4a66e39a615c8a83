"""Bringing a database's tables up to what this program knows."""

from collections.abc import Callable

from sqlalchemy import Connection, inspect, text

from monitor.errors import StoreError
from monitor.store.engine import Database
from monitor.store.versions import REVISIONS

_VERSION_TABLE = "alembic_version"


def bring_up_to_date(
    database: Database,
    before: Callable[[str], None] | None = None,
    revision: str = REVISIONS[-1],
) -> None:
    """Take each step that the database lacks, in one transaction; a new one starts from empty.

    Where there is something in it, `before` is told its version and may copy it first. Raises
    StoreError for a database made by a newer version, or by another program.
    """
    found = revision_of(database)
    if found == revision:
        return
    if found is not None and before is not None:
        before(found)
    with database.writing() as connection:
        # Another program may have been quicker while this one waited for the lock.
        if _revision(connection, database.name) != revision:
            _migrate(connection, revision)


def revision_of(database: Database) -> str | None:
    """How far its tables are; None: there are none. Raises StoreError as above."""
    with database.reading() as connection:
        return _revision(connection, database.name)


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


def _migrate(connection: Connection, revision: str) -> None:
    # Imported here because it costs a start as much as everything else in the store together.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "monitor.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)
