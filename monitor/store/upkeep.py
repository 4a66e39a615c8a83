"""Copies of the database while it is in use, and a look at whether it is whole."""

from pathlib import Path

from monitor.errors import BadInput, StoreError
from monitor.store.engine import Database


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
    except StoreError:
        target.unlink()
        raise


def problems(database: Database) -> tuple[str, ...]:
    """What is wrong inside the file, in the database's own words; nothing where it is whole."""
    with database.reading() as connection:
        damage = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
        strays = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    broken = tuple(str(line) for line in damage if line != "ok")
    return broken + tuple(f"a row of {row[0]} points to nothing in {row[2]}" for row in strays)
