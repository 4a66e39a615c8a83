"""The whole open book in a few reads, however many parts are open."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy import Table, select

from monitor.records import Batch, Layup, Mark, Stay
from monitor.store.entries import Entries, all_of
from monitor.store.schema import batches, layups, marks, stays


@dataclass(frozen=True, slots=True)
class OpenLayup:
    """One open layup with all that was written of it, each in the order of its own time."""

    layup: Layup
    batches: tuple[Batch, ...]
    stays: tuple[Stay, ...]
    marks: tuple[Mark, ...]


Part = TypeVar("Part", Batch, Stay, Mark)


class OpenEntries(Entries):
    def open_layups(self) -> tuple[OpenLayup, ...]:
        """Every open layup, in the order in which they were added."""
        parts = self._all(Layup, layups, layups.c.ended_at.is_(None))
        cups = _by_layup(self._of_open(Batch, batches, "mixed_at"))
        beside = _by_layup(self._of_open(Stay, stays, "since"))
        seen = _by_layup(self._of_open(Mark, marks, "at"))
        return tuple(
            OpenLayup(part, tuple(cups[part.id]), tuple(beside[part.id]), tuple(seen[part.id]))
            for part in parts
        )

    def _of_open(self, record: type[Part], table: Table, order: str) -> tuple[Part, ...]:
        query = (
            select(table)
            .join(layups, table.c.layup_id == layups.c.id)
            .where(layups.c.ended_at.is_(None))
            .order_by(table.c[order], table.c.id)
        )
        with self._database.reading() as connection:
            return all_of(connection, record, query)


def _by_layup(entries: Iterable[Part]) -> defaultdict[int, list[Part]]:
    found: defaultdict[int, list[Part]] = defaultdict(list)
    for entry in entries:
        found[entry.layup_id].append(entry)
    return found
