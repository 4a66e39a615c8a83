"""What the database's faults mean for a person: two plain lines that name the file."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from monitor.errors import StoreError

# The start of SQLite's own name for the fault → what is wrong, what to do.
# Names: https://www.sqlite.org/rescode.html
_LINES = (
    (
        "SQLITE_FULL",
        "The disk is full: nothing more fits into {name}.",
        "Make room on that disk; what is already stored is safe.",
    ),
    (
        "SQLITE_BUSY",
        "The database {name} is held by another program.",
        "Close what holds it, or wait for a long import to finish, and try again.",
    ),
    (
        "SQLITE_LOCKED",
        "The database {name} is held by another program.",
        "Close what holds it, or wait for a long import to finish, and try again.",
    ),
    (
        "SQLITE_READONLY",
        "The database {name} can be read but not written.",
        "Give this user the right to write the file and its folder.",
    ),
    (
        "SQLITE_CORRUPT",
        "The database {name} is damaged.",
        "Copy it away before anything else, then go back to your last backup.",
    ),
    (
        "SQLITE_NOTADB",
        "{name} is not a database, or it is damaged.",
        "Move it out of the way and put your last backup in its place.",
    ),
    (
        "SQLITE_CANTOPEN",
        "The database {name} can't be opened.",
        "Check that its folder exists and that this user may write there.",
    ),
    (
        "SQLITE_IOERR",
        "The disk failed while {name} was being read or written.",
        "Check the disk or card, and copy the file away while it can still be read.",
    ),
)


def store_error(fault: BaseException | None, name: str) -> StoreError:
    """The two lines for a driver's fault; those it doesn't know quote the driver."""
    code = getattr(fault, "sqlite_errorname", None) or ""
    for start, what, remedy in _LINES:
        if code.startswith(start):
            return StoreError(what.format(name=name), remedy)
    return StoreError(
        f"The database {name} refused: {fault}.",
        "Run the check command on it; if it finds nothing, report this line.",
    )


@contextmanager
def told_plainly(name: str) -> Iterator[None]:
    """Turn the driver's and the library's faults into a StoreError about that database.

    A ValueError that a column type raised over a value comes out as itself: it is the caller's.
    """
    try:
        yield
    except exc.DBAPIError as fault:
        raise store_error(fault.orig, name) from fault
    except exc.StatementError as fault:
        raise (fault.orig or store_error(fault, name)) from None
    except (exc.SQLAlchemyError, sqlite3.Error) as fault:
        raise store_error(fault, name) from fault
