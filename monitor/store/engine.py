"""The database: how it is opened, read and written."""

import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

from sqlalchemy import URL, Connection, Engine, Table, create_engine, event
from sqlalchemy.dialects import sqlite
from sqlalchemy.engine.interfaces import DBAPICursor, Dialect
from sqlalchemy.sql.base import Executable
from sqlalchemy.sql.elements import ClauseElement

from monitor.errors import StoreError
from monitor.store import server
from monitor.store.faults import ShutStore, told_plainly
from monitor.store.gate import Gate
from monitor.store.schema import as_on_a_server
from monitor.store.users import Users, finish_exchange, mended_beside, sync_folder

BUSY_TIMEOUT_MS = 5000

# The busy timeout comes first: changing over to WAL may itself have to wait for another program.
_PRAGMAS = (
    f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
)


class Database:
    """Connections to one database. Each is used by one thread at a time.

    Reads run in autocommit. A write takes the lock at its start (`BEGIN IMMEDIATE`): SQLite
    refuses at once, without waiting, to turn a read that has grown old into a write.
    """

    def __init__(
        self, engine: Engine, name: str, users: Users | None = None, owner: str | None = None
    ) -> None:
        self._engine, self._users, self._gate = engine, users, Gate()
        self.name, self.owner = name, owner
        self._prepare: Callable[[], None] | None = None
        self._preparing = threading.RLock()
        self._lead = server.Lead(engine)
        self._begin = "BEGIN IMMEDIATE" if engine.dialect.name == "sqlite" else server.BEGIN

    @classmethod
    def in_file(cls, path: Path) -> "Database":
        """The SQLite file at that path, made empty (mode 0600) where there is none.

        Raises StoreError where its folder is missing or the file can't be opened.
        """
        if not path.parent.is_dir():
            raise StoreError(
                f"There is no folder {path.parent} for the database {path.name}.",
                "Make the folder, or name the shop folder you meant with --shop.",
            )
        users = Users(path)
        try:
            if mended_beside(path).exists() and users.only_this_one():
                finish_exchange(path)
            if not path.exists():
                path.touch(mode=0o600)
                sync_folder(path.parent)
        except OSError as fault:
            users.leave()
            raise StoreError(
                f"The database {path} can't be opened: {fault.strerror}.",
                "Give this user the right to write the file and its folder.",
            ) from fault
        if not users.one_of_many(50, lambda: threading.Event().wait(0.1)):
            users.leave()
            raise StoreError(
                f"The database {path} is being mended at this moment.",
                "Wait until that is done, and try again.",
            )
        engine = create_engine(
            URL.create("sqlite", database=str(path)),
            isolation_level="AUTOCOMMIT",
            max_overflow=-1,
        )
        event.listen(engine, "connect", _set_pragmas)
        return cls(engine, str(path), users)

    @classmethod
    def on_server(cls, address: str, owner: str | None = None) -> "Database":
        """The database at a postgresql:// address; nothing is asked of the server yet.

        `owner` is what this machine is called among those that share it. Raises BadInput for what
        is no such address, StoreError where its library is missing.
        """
        as_on_a_server()
        return cls(*server.engine_for(address), owner=owner)

    def before_first_use(self, prepare: Callable[[], None]) -> None:
        """Do this once before anything else, and again until it goes through."""
        self._prepare = prepare

    def leads(self) -> bool:
        """Whether this machine looks and alerts; of those that share a server one does."""
        if self.file is not None:
            return True
        with self._inside():
            return self._lead.held()

    @property
    def dialect(self) -> Dialect:
        return self._engine.dialect

    @property
    def file(self) -> Path | None:
        """Where it lies; None: on a server."""
        return Path(self.name) if self.dialect.name == "sqlite" else None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        with self._inside(), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction: all of it is stored when the block ends, none of it if it raises."""
        with self._inside(), self._engine.connect() as connection:
            # Without parameters, so that a server takes two statements at once.
            connection.exec_driver_sql(self._begin, execution_options={"no_parameters": True})
            yield connection
            connection.commit()

    @contextmanager
    def reading_fast(self) -> Iterator[DBAPICursor]:
        """The driver's own cursor, for many rows."""
        with self._inside(), self._borrowed() as (_, cursor):
            yield cursor

    @contextmanager
    def writing_fast(self) -> Iterator[DBAPICursor]:
        """As `writing`, with the driver's own cursor."""
        with self._inside(), self._borrowed() as (connection, cursor):
            cursor.execute(self._begin)
            yield cursor
            connection.commit()

    @contextmanager
    def _inside(self) -> Iterator[None]:
        with self._gate.inside():
            self._make_ready()
            try:
                with told_plainly(self.name):
                    yield
            except ShutStore:
                # Others are kept: on a full disk a file that nobody has open can't even be read.
                self._engine.dispose()
                raise

    def _make_ready(self) -> None:
        with self._preparing:
            prepare, self._prepare = self._prepare, None
            if prepare is not None:
                try:
                    prepare()
                except BaseException:
                    self._prepare = prepare
                    raise

    @contextmanager
    def _borrowed(self) -> Iterator[tuple[Any, DBAPICursor]]:
        connection = self._engine.raw_connection()
        try:
            cursor = connection.cursor()
            try:
                yield connection, cursor
            finally:
                cursor.close()
        finally:
            # Giving it back rolls back whatever was not committed.
            connection.close()

    @contextmanager
    def exchanging(self, patience_s: float = 10.0) -> Iterator[None]:
        """Nobody else has the file open while the block runs. Raises StoreError where someone does.

        A connection that outlived its file would take the next one's log away as it closes.
        """
        with self._gate.shut(patience_s) as left:
            self._engine.dispose()
            alone = left and (self._users is None or self._users.only_this_one())
            try:
                if not alone:
                    raise StoreError(
                        f"The database {self.name} is in use, so it can't be exchanged.",
                        "Stop every other layupwatch command on this shop folder, and try again.",
                    )
                yield
                self._engine.dispose()
            finally:
                if self._users is not None:
                    self._users.one_of_many()

    def close(self) -> None:
        self._lead.let_go()
        self._engine.dispose()
        if self._users is not None:
            self._users.leave()


class Prepared:
    """A statement turned into the driver's text once, for a path too hot to do it each time.

    `order` names the parameters in the order in which the caller gives them.
    """

    def __init__(self, statement: Executable, dialect: Dialect, order: Sequence[str] = ()) -> None:
        if not isinstance(statement, ClauseElement):
            raise TypeError("only a statement of the expression language can be prepared")
        compiled = statement.compile(dialect=dialect)
        self.text = str(compiled)
        names: Sequence[str] = getattr(compiled, "positiontup", None) or ()
        self._places = tuple(order.index(name) for name in names)
        self.in_order = self._places == tuple(range(len(order)))

    def run(self, cursor: DBAPICursor, *values: object) -> DBAPICursor:
        cursor.execute(self.text, tuple(values[place] for place in self._places))
        return cursor

    def run_many(self, cursor: DBAPICursor, rows: Sequence[tuple[object, ...]]) -> int:
        """How many rows the statement changed in all."""
        if not self.in_order:
            rows = [tuple(row[place] for place in self._places) for row in rows]
        cursor.executemany(self.text, rows)
        return cursor.rowcount


def insert_for(dialect: Dialect, table: Table) -> sqlite.Insert:
    """An insert that can say what to do about a row that is there already.

    Both dialects offer the same methods for it, under no common type.
    """
    if dialect.name == "sqlite":
        return sqlite.insert(table)
    # A shop in a file does without: it weighs 4 MB.
    from sqlalchemy.dialects import postgresql

    return cast(sqlite.Insert, postgresql.insert(table))


def rows_of(cursor: DBAPICursor) -> Iterator[tuple[object, ...]]:
    """The rows left in a cursor, one after another."""
    # Both drivers' cursors are iterable; the interface's type doesn't say so.
    return iter(cast("Iterable[tuple[object, ...]]", cursor))


def _set_pragmas(connection: sqlite3.Connection, _record: object) -> None:
    cursor = connection.cursor()
    for pragma in _PRAGMAS:
        cursor.execute(pragma)
    cursor.close()
