"""Bringing a database's tables up to what this program knows."""

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from monitor.errors import StoreError
from monitor.store.engine import Database
from monitor.store.upkeep import copy_to
from monitor.store.versions import REVISIONS

_VERSION_TABLE = "alembic_version"


def bring_up_to_date(database: Database, backups: Path | None) -> None:
    """Take each step that the database lacks, in one transaction; a new one starts from empty.

    Where there is something in it, it is copied into the folder `backups` first. Raises StoreError
    for a database made by a newer version, or by another program, and where there is no room for
    the copy.
    """
    with database.reading() as connection:
        found = _revision(connection, database.name)
    if found == REVISIONS[-1]:
        return
    if found is not None and backups is not None:
        copy_to(database, _free_name(backups, f"before-{REVISIONS[-1]}-from-{found}"))
    with database.writing() as connection:
        # Another program may have been quicker while this one waited for the lock.
        if _revision(connection, database.name) != REVISIONS[-1]:
            _migrate(connection)


def _free_name(folder: Path, name: str) -> Path:
    folder.mkdir(mode=0o700, exist_ok=True)
    number, path = 1, folder / f"{name}.db"
    while path.exists():
        number += 1
        path = folder / f"{name}-{number}.db"
    return path


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
