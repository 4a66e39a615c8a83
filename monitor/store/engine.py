"""The database: how it is opened, read and written."""

import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import cast

from sqlalchemy import URL, Connection, Engine, PoolProxiedConnection, Table, create_engine, event
from sqlalchemy.dialects import sqlite
from sqlalchemy.engine.interfaces import DBAPICursor, Dialect
from sqlalchemy.sql.base import Executable
from sqlalchemy.sql.elements import ClauseElement

from monitor.errors import StoreError
from monitor.store import server
from monitor.store.faults import ShutStore, ToldPlainly
from monitor.store.gate import Gate
from monitor.store.schema import as_on_a_server
from monitor.store.users import Users, finish_exchange, mended_beside, sync_folder

BUSY_TIMEOUT_MS = 5000

# The busy timeout comes first: changing over to WAL may itself have to wait for another program.
# A thousand KiB of pages a connection, where SQLite would keep two thousand: a watch has several.
_PRAGMAS = (
    f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA cache_size = -1000",
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
        self._inside = _Inside(self, self._gate, name)
        self._prepare: Callable[[], None] | None = None
        self._preparing, self._ready = threading.RLock(), True
        # Kept out of the pool: lending one costs as much as storing a reading.
        self._at_hand = list[PoolProxiedConnection]()
        self._keeps_at_hand = engine.dialect.name == "sqlite"
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
        self._prepare, self._ready = prepare, False

    def leads(self) -> bool:
        """Whether this machine looks and alerts; of those that share a server one does."""
        if self.file is not None:
            return True
        with self._inside:
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
        with self._inside, self._engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction: all of it is stored when the block ends, none of it if it raises."""
        with self._inside, self._engine.connect() as connection:
            # Without parameters, so that a server takes two statements at once.
            connection.exec_driver_sql(self._begin, execution_options={"no_parameters": True})
            yield connection
            connection.commit()

    def reading_fast(self) -> AbstractContextManager[DBAPICursor]:
        """The driver's own cursor, for many rows."""
        return self._with_cursor(None)

    def writing_fast(self) -> AbstractContextManager[DBAPICursor]:
        """As `writing`, with the driver's own cursor."""
        return self._with_cursor(self._begin)

    @contextmanager
    def _with_cursor(self, begin: str | None) -> Iterator[DBAPICursor]:
        with self._inside:
            connection = self._borrow()
            try:
                cursor = connection.cursor()
                if begin is not None:
                    cursor.execute(begin)
                yield cursor
                if begin is not None:
                    cursor.execute("COMMIT")
                cursor.close()
            except BaseException:
                # Giving it back rolls back whatever was not committed.
                connection.close()
                raise
            self._give_back(connection)

    def make_ready(self) -> None:
        """Do what has to be done before first use, unless it was."""
        if self._ready:
            return
        with self._preparing:
            prepare, self._prepare = self._prepare, None
            if prepare is not None:
                try:
                    prepare()
                except BaseException:
                    self._prepare = prepare
                    raise
                self._ready = True

    def _borrow(self) -> PoolProxiedConnection:
        try:
            return self._at_hand.pop()
        except IndexError:
            return self._engine.raw_connection()

    def _give_back(self, connection: PoolProxiedConnection) -> None:
        if self._keeps_at_hand:
            self._at_hand.append(connection)
        else:
            connection.close()

    def drop_connections(self) -> None:
        """Open the file anew, or reach the server anew, when it is next needed."""
        at_hand, self._at_hand = self._at_hand, []
        for connection in at_hand:
            connection.close()
        self._engine.dispose()

    def fold_log(self) -> None:
        """Everything into the file itself, for one that is to be put elsewhere."""
        self.drop_connections()
        with self.reading() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.exec_driver_sql("PRAGMA journal_mode = DELETE")

    @contextmanager
    def exchanging(self, patience_s: float = 10.0) -> Iterator[None]:
        """Nobody else has the file open while the block runs. Raises StoreError where someone does.

        A connection that outlived its file would take the next one's log away as it closes.
        """
        with self._gate.shut(patience_s) as left:
            self.drop_connections()
            alone = left and (self._users is None or self._users.only_this_one())
            try:
                if not alone:
                    raise StoreError(
                        f"The database {self.name} is in use, so it can't be exchanged.",
                        "Stop every other layupwatch command on this shop folder, and try again.",
                    )
                yield
                self.drop_connections()
            finally:
                if self._users is not None:
                    self._users.one_of_many()

    def close(self) -> None:
        self._lead.let_go()
        self.drop_connections()
        if self._users is not None:
            self._users.leave()


class _Inside(ToldPlainly):
    """Entered by everyone who uses a database: through its gate, and after it was made ready."""

    def __init__(self, database: Database, gate: Gate, name: str) -> None:
        super().__init__(name)
        self._database, self._gate = database, gate

    def __enter__(self) -> None:
        self._gate.__enter__()
        try:
            self._database.make_ready()
        except BaseException:
            self._gate.__exit__()
            raise

    def __exit__(self, kind: object, fault: BaseException | None, where: object) -> None:
        try:
            super().__exit__(kind, fault, where)
        except ShutStore:
            # Others are kept: on a full disk a file that nobody has open can't even be read.
            self._database.drop_connections()
            raise
        finally:
            self._gate.__exit__()


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
        given = values if self.in_order else [values[place] for place in self._places]
        cursor.execute(self.text, given)
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
