"""Entries of the book as rows: how one is found, added, and called on the command line."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Connection, Select, Table, insert, select

from monitor.errors import BadInput
from monitor.records import Batch, Layup, Mark, Sensor, Stay
from monitor.store.engine import Database
from monitor.store.schema import batches, layups, marks, sensors, stays

Entry = Layup | Batch | Stay | Mark | Sensor
Record = TypeVar("Record")


@dataclass(frozen=True, slots=True)
class EntryKind:
    """The word before the number (`batch-7`), and where such entries lie."""

    word: str
    record: type[Entry]
    table: Table


ENTRY_KINDS = (
    EntryKind("layup", Layup, layups),
    EntryKind("batch", Batch, batches),
    EntryKind("stay", Stay, stays),
    EntryKind("mark", Mark, marks),
    EntryKind("sensor", Sensor, sensors),
)


def entry_id(entry: Entry) -> str:
    """What an entry is called when it is corrected: `batch-7`."""
    word = next(kind.word for kind in ENTRY_KINDS if isinstance(entry, kind.record))
    return f"{word}-{entry.id}"


def all_of(connection: Connection, record: type[Record], query: Select[Any]) -> tuple[Record, ...]:
    """The rows as records; the query's columns are the record's fields."""
    return tuple(record(**row) for row in connection.execute(query).mappings())


def first_of(connection: Connection, record: type[Record], query: Select[Any]) -> Record | None:
    row = connection.execute(query.limit(1)).mappings().one_or_none()
    return None if row is None else record(**row)


def added(
    connection: Connection, record: type[Record], table: Table, values: Mapping[str, object]
) -> Record:
    """Store a row and return it as its record, with the id it was given."""
    query = insert(table).values(**values).returning(*table.columns)
    return record(**connection.execute(query).mappings().one())


def batch_must_be_of(connection: Connection, batch_id: int | None, layup_id: int) -> None:
    """Raises BadInput where the batch is part of another layup."""
    if batch_id is None:
        return
    of = connection.execute(select(batches.c.layup_id).where(batches.c.id == batch_id)).scalar()
    if of != layup_id:
        raise BadInput(
            f"batch-{batch_id} is no batch of this layup.",
            "Name the batch by its address, such as 3/skin-a.",
        )


class Entries:
    """A part of the book: its database, and how its rows become records."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def _all(
        self, record: type[Record], table: Table, *where: ColumnElement[bool]
    ) -> tuple[Record, ...]:
        with self._database.reading() as connection:
            return all_of(connection, record, select(table).where(*where).order_by(table.c.id))
