"""The whole book, or what is open of it, in a few reads, however many parts it holds."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy import ColumnElement, Table, select, true

from monitor.records import Batch, Layup, Mark, Stay
from monitor.store.entries import Entries, all_of
from monitor.store.schema import batches, layups, marks, stays


@dataclass(frozen=True, slots=True)
class OpenLayup:
    """One layup with all that was written of it, each in the order of its own time."""

    layup: Layup
    batches: tuple[Batch, ...]
    stays: tuple[Stay, ...]
    marks: tuple[Mark, ...]


Part = TypeVar("Part", Batch, Stay, Mark)


class OpenEntries(Entries):
    def open_layups(self) -> tuple[OpenLayup, ...]:
        """Every open layup, in the order in which they were added."""
        return self._written(layups.c.ended_at.is_(None))

    def every_layup(self) -> tuple[OpenLayup, ...]:
        """The ended ones too."""
        return self._written(true())

    def _written(self, wanted: ColumnElement[bool]) -> tuple[OpenLayup, ...]:
        parts = self._all(Layup, layups, wanted)
        cups = _by_layup(self._of(wanted, Batch, batches, "mixed_at"))
        beside = _by_layup(self._of(wanted, Stay, stays, "since"))
        seen = _by_layup(self._of(wanted, Mark, marks, "at"))
        return tuple(
            OpenLayup(part, tuple(cups[part.id]), tuple(beside[part.id]), tuple(seen[part.id]))
            for part in parts
        )

    def _of(
        self, wanted: ColumnElement[bool], record: type[Part], table: Table, order: str
    ) -> tuple[Part, ...]:
        query = (
            select(table)
            .join(layups, table.c.layup_id == layups.c.id)
            .where(wanted)
            .order_by(table.c[order], table.c.id)
        )
        with self._database.reading() as connection:
            return all_of(connection, record, query)


def _by_layup(entries: Iterable[Part]) -> defaultdict[int, list[Part]]:
    found: defaultdict[int, list[Part]] = defaultdict(list)
    for entry in entries:
        found[entry.layup_id].append(entry)
    return found
