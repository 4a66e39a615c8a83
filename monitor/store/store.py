"""The store: readings, book and alerts of one shop."""

from pathlib import Path
from types import TracebackType
from typing import Self

from monitor.store.alerts import AlertEntries
from monitor.store.book import Book
from monitor.store.checks import CheckEntries
from monitor.store.doorbook import DoorBook
from monitor.store.engine import Database
from monitor.store.health import Health
from monitor.store.messages import MessageEntries
from monitor.store.readings import ReadingTable
from monitor.store.suspects import SuspectEntries
from monitor.store.upgrade import bring_up_to_date
from monitor.store.upkeep import copy_to, problems

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
            bring_up_to_date(database, backups or path.parent / BACKUPS)
        except BaseException:
            database.close()
            raise
        return cls(database)

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
