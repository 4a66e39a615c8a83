"""What the database's faults mean for a person: two plain lines that name the file or server."""

import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import exc

from monitor.errors import StoreError


class DamagedStore(StoreError):
    """What is stored can't be read back whole."""


class RefusedRow(StoreError):
    """The database is well, and what was to be stored contradicts what it holds."""


class ShutStore(StoreError):
    """The file could not be opened for writing; a connection that met this stays so."""


class AwayStore(StoreError):
    """The server can't be reached now; nothing is wrong with what it holds."""


@dataclass(frozen=True, slots=True)
class _Meaning:
    """A fault by the start of its code: what is wrong, what to do."""

    start: str
    what: str
    remedy: str
    kind: Callable[[str, str], StoreError] = StoreError


_HELD = "The database {name} is held by another program."
_WAIT = "Close what holds it, or wait for a long import to finish, and try again."
_FULL = "Make room on that disk; what is already stored is safe."
_MEND = (
    "`layupwatch run` sets it aside and rescues what can be read; `layupwatch check --mend` too."
)
_REFUSED = "It points to something that isn't there, or is there already; the rest is untouched."

# SQLite's own names: https://www.sqlite.org/rescode.html
_SQLITE = (
    _Meaning("SQLITE_FULL", "The disk is full: nothing more fits into {name}.", _FULL),
    _Meaning("SQLITE_BUSY", _HELD, _WAIT),
    _Meaning("SQLITE_LOCKED", _HELD, _WAIT),
    _Meaning(
        "SQLITE_READONLY",
        "The database {name} can be read but not written.",
        "Give this user the right to write the file and its folder; see whether its disk is "
        "read-only.",
        ShutStore,
    ),
    _Meaning("SQLITE_CORRUPT", "The database {name} is damaged.", _MEND, DamagedStore),
    _Meaning(
        "SQLITE_NOTADB",
        "{name} is not a database, or it is damaged.",
        "Put your last backup in its place; `layupwatch check --mend` does, and keeps the file.",
        DamagedStore,
    ),
    _Meaning(
        "SQLITE_CANTOPEN",
        "The database {name} can't be opened.",
        "Check that its folder exists and that this user may write there.",
        ShutStore,
    ),
    _Meaning(
        "SQLITE_IOERR",
        "The disk failed while {name} was being read or written.",
        "See whether the disk or card is worn or read-only; copy the file away while you can.",
    ),
    _Meaning("SQLITE_CONSTRAINT", "The database {name} refused: {fault}.", _REFUSED, RefusedRow),
)

# SQLSTATE classes and codes: https://www.postgresql.org/docs/current/errcodes-appendix.html
_POSTGRES = (
    _Meaning("53100", "The server's disk is full: nothing more fits into {name}.", _FULL),
    _Meaning(
        "53",
        "The database server of {name} has no more room for this: {fault}.",
        "Close programs that hold connections to it, or let it have more.",
    ),
    _Meaning("55P03", _HELD, _WAIT),
    _Meaning(
        "25006",
        "The database {name} can be read but not written.",
        "Take its server out of read-only, or name the one that takes writes in shop.toml.",
    ),
    _Meaning(
        "42501",
        "This user may not do that in the database {name}.",
        "Make this user the owner of the database: ALTER DATABASE … OWNER TO ….",
    ),
    _Meaning(
        "28",
        "The database server doesn't let this user into {name}.",
        "Put user and password right: `database` in shop.toml.",
    ),
    _Meaning(
        "3D000",
        "The server has no database {name}.",
        "Make one there, owned by this user: CREATE DATABASE … OWNER ….",
    ),
    _Meaning(
        "XX00",
        "The database {name} is damaged: {fault}.",
        "Stop the server and go back to your last backup: `layupwatch restore FILE`.",
        DamagedStore,
    ),
    _Meaning("23", "The database {name} refused: {fault}.", _REFUSED, RefusedRow),
    *(
        _Meaning(
            start,
            "The database server of {name} is not there now: {fault}.",
            "Start it, or wait for it; what comes in meanwhile is kept and stored then.",
            AwayStore,
        )
        for start in ("08", "57")
    ),
)
_AWAY = _Meaning(
    "",
    "The database server of {name} can't be reached.",
    "See that it runs and that this machine is on its network.",
)


def store_error(fault: BaseException | None, name: str) -> StoreError:
    """The two lines for a driver's fault; those it doesn't know quote the driver."""
    code: str | None = getattr(fault, "sqlite_errorname", None)
    meanings: tuple[_Meaning, ...] = _SQLITE
    if fault is not None and hasattr(fault, "sqlstate"):
        code, meanings = fault.sqlstate, _POSTGRES
        if code is None and type(fault).__name__ == "OperationalError":
            return AwayStore(_AWAY.what.format(name=name), _AWAY.remedy)
    said = str(fault).partition("\n")[0].rstrip(".")
    for meaning in meanings:
        if (code or "").startswith(meaning.start):
            return meaning.kind(meaning.what.format(name=name, fault=said), meaning.remedy)
    return StoreError(
        f"The database {name} refused: {said}.",
        "Run the check command on it; if it finds nothing, report this line.",
    )


def _drivers_faults() -> tuple[type[Exception], ...]:
    """What the drivers in use raise; the server's is only there where it was asked for."""
    psycopg = sys.modules.get("psycopg")
    return (sqlite3.Error,) if psycopg is None else (sqlite3.Error, psycopg.Error)


CAN_NOT_BE = (TypeError, ValueError, OverflowError)
"""What Python says of a stored value that its column can't hold."""


def damage(fault: Exception) -> DamagedStore:
    """The two lines for such a value."""
    said = " ".join(str(fault).split())
    return DamagedStore(f"The database holds what can't be: {said}.", _MEND)


@contextmanager
def read_back() -> Iterator[None]:
    """A stored value that its column can't hold is damage."""
    try:
        yield
    except CAN_NOT_BE as fault:
        raise damage(fault) from fault


class ToldPlainly:
    """Turns the driver's and the library's faults into a StoreError about that database.

    A ValueError that a column type raised over a value comes out as itself: it is the caller's.
    """

    def __init__(self, name: str) -> None:
        self._name = name

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, fault: BaseException | None, _where: object) -> None:
        if isinstance(fault, exc.DBAPIError):
            raise store_error(fault.orig, self._name) from fault
        if isinstance(fault, exc.StatementError):
            raise (fault.orig or store_error(fault, self._name)) from None
        if isinstance(fault, (exc.SQLAlchemyError, *_drivers_faults())):
            raise store_error(fault, self._name) from fault
