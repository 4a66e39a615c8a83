"""Bringing a database's tables up to what this program knows."""

from collections.abc import Callable

from sqlalchemy import (
    Column,
    Connection,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    inspect,
    text,
)

from monitor.errors import StoreError
from monitor.store.engine import Database
from monitor.store.schema import metadata
from monitor.store.versions import REVISIONS

_VERSION_TABLE = "alembic_version"
# As alembic makes it: https://alembic.sqlalchemy.org/en/latest/api/runtime.html
_versions = Table(
    _VERSION_TABLE,
    MetaData(),
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name=f"{_VERSION_TABLE}_pkc"),
)


def bring_up_to_date(
    database: Database,
    before: Callable[[str], None] | None = None,
    revision: str = REVISIONS[-1],
) -> None:
    """Take each step that the database lacks, in one transaction.

    A new file's tables are made as they are now: alembic, which takes the steps, weighs as much as
    a tenth of an idle watch.

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
        found = _revision(connection, database.name)
        if found is None and database.file is not None and revision == REVISIONS[-1]:
            _make(connection, revision)
        elif found != revision:
            migrate(connection, revision)


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


def _make(connection: Connection, revision: str) -> None:
    metadata.create_all(connection)
    _versions.create(connection)
    connection.execute(_versions.insert().values(version_num=revision))


def migrate(connection: Connection, revision: str) -> None:
    """Take each step up to that one, in the caller's transaction."""
    # Imported here because it costs a start as much as everything else in the store together.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "monitor.store:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)
