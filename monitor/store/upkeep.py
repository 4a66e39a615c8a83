"""Copies of the database while it is in use, and a look at whether it is whole."""

import os
import sqlite3
from pathlib import Path
from typing import cast

from sqlalchemy import Text, func, select
from sqlalchemy import cast as cast_to

from monitor.errors import BadInput, StoreError
from monitor.store.columns import moment_from
from monitor.store.engine import Database, Prepared
from monitor.store.proof import Proof, problems_in
from monitor.store.schema import layups, metadata, readings
from monitor.store.transfer import transfer
from monitor.store.upgrade import bring_up_to_date, revision_of
from monitor.store.users import sync_folder
from monitor.store.versions import REVISIONS


def copy_to(database: Database, target: Path) -> None:
    """A whole copy in a new file (mode 0600), as it stands at this moment; writers go on.

    Raises BadInput where the file is there already, StoreError where it can't be written.
    """
    try:
        target.touch(mode=0o600, exist_ok=False)
    except FileExistsError:
        raise BadInput(f"{target} is there already.", "Give the backup a new name.") from None
    except OSError as fault:
        raise StoreError(
            f"The backup {target} can't be written: {fault.strerror}.",
            "Check that its folder exists and that this user may write there.",
        ) from fault
    try:
        if database.file is None:
            _transfer_to(database, target)
        else:
            with database.reading() as connection:
                connection.exec_driver_sql("VACUUM INTO ?", (str(target),))
        with target.open("rb") as copied:
            os.fsync(copied.fileno())
        sync_folder(target.parent)
    except (StoreError, OSError):
        target.unlink(missing_ok=True)
        raise


def _transfer_to(database: Database, target: Path) -> None:
    """A server's rows into a file of the same version, so that a backup is opened like any shop."""
    copy = Database.in_file(target)
    try:
        bring_up_to_date(copy, revision=revision_of(database) or REVISIONS[-1])
        transfer(database, copy)
        copy.fold_log()
    finally:
        copy.close()
        target.with_name(f"{target.name}-users").unlink(missing_ok=True)


def problems(database: Database) -> tuple[str, ...]:
    """What is wrong inside it, in the database's own words; nothing where it is whole."""
    with database.reading_fast() as cursor:
        if database.file is not None:
            return problems_in(cast(sqlite3.Cursor, cursor).connection)
        for table in metadata.sorted_tables:
            # Every value of every row is read, so that a page that rotted is met.
            row = func.hashtext(cast_to(table.table_valued(), Text))
            Prepared(select(func.count(row)).select_from(table), database.dialect).run(cursor)
    return ()


def prove_store(database: Database) -> Proof:
    """What a server's database holds, after all of it was read. Raises StoreError."""
    found = problems(database)
    revision = revision_of(database) or ""
    with database.reading() as connection:
        at = readings.c.at_us
        counted = select(func.count(), func.min(at), func.max(at)).select_from(readings)
        count, first, last = connection.execute(counted).one()
        parts = connection.execute(select(func.count()).select_from(layups)).scalar_one()
        unsafe = connection.exec_driver_sql("SHOW fsync").scalar_one() == "off"
    first_at, last_at = (
        None if time_us is None else moment_from(time_us) for time_us in (first, last)
    )
    warning = _NOT_SYNCED if unsafe else None
    return Proof(count, first_at, last_at, parts, revision, False, found, warning)


_NOT_SYNCED = (
    "The server doesn't wait for its disk: a power cut there can lose everything. "
    "Set fsync = on in its postgresql.conf."
)
