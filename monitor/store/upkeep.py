"""Copies of the database while it is in use, and a look at whether it is whole."""

import os
import sqlite3
from pathlib import Path
from typing import cast

from monitor.errors import BadInput, StoreError
from monitor.store.engine import Database
from monitor.store.proof import problems_in
from monitor.store.users import sync_folder


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
        with database.reading() as connection:
            connection.exec_driver_sql("VACUUM INTO ?", (str(target),))
        with target.open("rb") as copied:
            os.fsync(copied.fileno())
        sync_folder(target.parent)
    except (StoreError, OSError):
        target.unlink(missing_ok=True)
        raise


def problems(database: Database) -> tuple[str, ...]:
    """What is wrong inside the file, in the database's own words; nothing where it is whole."""
    with database.reading_fast() as cursor:
        return problems_in(cast(sqlite3.Cursor, cursor).connection)
