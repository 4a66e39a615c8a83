"""Changes behind a sensor's newest reading: for whoever keeps what the readings added up to."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam, insert, select
from sqlalchemy.engine.interfaces import DBAPICursor

from monitor.store.columns import moment_from
from monitor.store.engine import Database, Prepared
from monitor.store.rollups import EARLIEST_US
from monitor.store.schema import late_changes as table

_NUMBERS_ASIDE = 500
"""A change may be written down after one with a higher number, by another program."""


@dataclass(frozen=True, slots=True)
class LateChange:
    """Readings of a sensor came, or were doubted, from `since` on (None: from the first)."""

    id: int
    sensor_id: int
    since: datetime | None


class LateChanges:
    """Writes them down in the transaction that makes them, and reads them back."""

    def __init__(self, database: Database) -> None:
        dialect = database.dialect
        note = insert(table).values(
            sensor_id=bindparam("sensor_id"), first_us=bindparam("first_us")
        )
        self._note = Prepared(note, dialect, ("sensor_id", "first_us"))

    def note(self, cursor: DBAPICursor, sensor_id: int, first_us: int) -> None:
        self._note.run(cursor, sensor_id, first_us)


def late_changes(database: Database, after_id: int) -> tuple[LateChange, ...]:
    """Those written down after the one with that number, oldest first."""
    query = select(table).where(table.c.id > after_id).order_by(table.c.id)
    with database.reading() as connection:
        return tuple(
            LateChange(
                row.id,
                row.sensor_id,
                None if row.first_us == EARLIEST_US else moment_from(row.first_us),
            )
            for row in connection.execute(query)
        )


class LateNews:
    """Late changes as one who keeps something gets to know them: each once."""

    def __init__(self, ask: Callable[[int], tuple[LateChange, ...]]) -> None:
        self._ask = ask
        self._known: set[int] = set()

    def take(self) -> tuple[LateChange, ...]:
        """Those written down since it was last asked; the first time, all."""
        changes = self._ask(max(max(self._known, default=0) - _NUMBERS_ASIDE, 0))
        new = tuple(change for change in changes if change.id not in self._known)
        self._known = {change.id for change in changes}
        return new
