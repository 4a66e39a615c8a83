"""The store: readings, book and alerts of one shop."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from monitor.errors import StoreError
from monitor.store.alerts import AlertEntries
from monitor.store.book import Book
from monitor.store.checks import CheckEntries
from monitor.store.doorbook import DoorBook
from monitor.store.engine import Database
from monitor.store.health import Health
from monitor.store.messages import MessageEntries
from monitor.store.readings import ReadingTable
from monitor.store.retention import let_go_before
from monitor.store.suspects import SuspectEntries
from monitor.store.transfer import transfer
from monitor.store.upgrade import bring_up_to_date
from monitor.store.upkeep import copy_to, problems
from monitor.store.versions import REVISIONS

BACKUPS = "backups"


class Store:
    """One database. Safe to share between threads; close it, or use it in a `with`."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.health = Health()
        self.readings = ReadingTable(database)
        self.book = Book(database)
        self.alerts = AlertEntries(database)
        self.door = DoorBook(database)
        self.messages = MessageEntries(database)
        self.suspects = SuspectEntries(database)
        self.checks = CheckEntries(database)

    @classmethod
    def open(cls, path: Path, backups: Path | None = None) -> "Store":
        """The store in that file, made where there is none, its tables brought up to date.

        Before they are changed it is copied into the folder `backups` (None: the one beside the
        file). Raises StoreError where the folder is missing, the file can't be opened, is damaged
        or not ours, or was written by a newer version.
        """
        database = Database.in_file(path)
        try:
            bring_up_to_date(database, _into(database, backups or path.parent / BACKUPS))
        except BaseException:
            database.close()
            raise
        return cls(database)

    @classmethod
    def on_server(
        cls, address: str, owner: str | None = None, backups: Path | None = None
    ) -> "Store":
        """The store in a PostgreSQL database. `owner`: this machine, as its sensors are marked.

        Nothing is asked of the server yet: its tables are made, or brought up to date, when it is
        first used, and StoreError is raised then. Raises BadInput for a wrong address.
        """
        database = Database.on_server(address, owner)
        before = None if backups is None else _into(database, backups)
        database.before_first_use(lambda: bring_up_to_date(database, before))
        return cls(database)

    def leads(self) -> bool:
        """Whether this machine is the one that looks and alerts, of all that share a server."""
        return self.database.leads()

    def is_empty(self) -> bool:
        """Whether nobody has written anything into it."""
        return not (self.book.sensors() or self.book.layups(open_only=False))

    def take_all_from(self, other: "Store") -> int:
        """Everything that another store holds, into this empty one; how many readings."""
        return transfer(other.database, self.database)

    def let_go_before(self, moment: datetime) -> int:
        """Let raw readings outside of layups go, keep their sums; how many hours of them."""
        return let_go_before(self.database, moment)

    def copy_to(self, target: Path) -> None:
        """A whole copy in a new file, while others read and write. Raises BadInput, StoreError."""
        copy_to(self.database, target)

    def problems(self) -> tuple[str, ...]:
        """What is wrong inside the file, one line each; nothing where it is whole."""
        return problems(self.database)

    def close(self) -> None:
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _into(database: Database, backups: Path) -> Callable[[str], None]:
    """Copies a database of an older version before its tables are changed."""

    def copy(found: str) -> None:
        try:
            backups.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as fault:
            raise StoreError(
                f"There is no room for a backup before the tables change: {fault.strerror}.",
                f"Let this user make the folder {backups}, then start again.",
            ) from fault
        number, name = 1, f"before-{REVISIONS[-1]}-from-{found}"
        target = backups / f"{name}.db"
        while target.exists():
            number += 1
            target = backups / f"{name}-{number}.db"
        copy_to(database, target)

    return copy
