"""Where the sensors lay, and what was seen or done."""

from datetime import datetime

from sqlalchemy import Connection, select, update

from monitor.errors import BadInput
from monitor.records import Channel, Mark, MarkKind, Nearness, Stay
from monitor.store.corrections import write_down
from monitor.store.entries import Entries, added, all_of, batch_must_be_of, entry_id
from monitor.store.schema import marks, stays


class StayEntries(Entries):
    def add_stay(
        self,
        layup_id: int,
        batch_id: int | None,
        sensor_id: int,
        channel: Channel,
        nearness: Nearness,
        since: datetime,
        until: datetime | None = None,
        *,
        logged_at: datetime | None = None,
    ) -> Stay:
        """A layup, or one batch of it, beside a sensor's channel.

        Of the same layup or batch and the same channel, whichever began later stands: an earlier
        stay that reaches into this one ends where this one begins (a move), and this one ends
        where a later one begins. Each change of an end that was there is kept as a correction,
        dated `logged_at` (or `since`). Raises BadInput for a stay that ends before it begins.
        """
        if until is not None and until <= since:
            raise BadInput(
                "That stay would end before it begins.", "Give --to a later time than --from."
            )
        written_at = logged_at or since
        with self._database.writing() as connection:
            batch_must_be_of(connection, batch_id, layup_id)
            others = _same_scope(connection, layup_id, batch_id, channel)
            stay = added(
                connection,
                Stay,
                stays,
                {
                    "layup_id": layup_id,
                    "batch_id": batch_id,
                    "sensor_id": sensor_id,
                    "channel": channel,
                    "nearness": nearness,
                    "since": since,
                    "until": until,
                },
            )
            for other in others:
                if other.since <= since:
                    _end(connection, other, since, written_at)
            later = min((other.since for other in others if other.since > since), default=None)
            if later is not None and until is None:
                # Nobody gave an end, so there is no old value to keep.
                return _set_until(connection, stay, later)
            return stay if later is None else _end(connection, stay, later, written_at)

    def stays(self, layup_id: int) -> tuple[Stay, ...]:
        """All of a layup, its batches' too, in the order in which they began."""
        query = (
            select(stays).where(stays.c.layup_id == layup_id).order_by(stays.c.since, stays.c.id)
        )
        with self._database.reading() as connection:
            return all_of(connection, Stay, query)


class MarkEntries(Entries):
    def add_mark(
        self,
        layup_id: int,
        batch_id: int | None,
        kind: MarkKind,
        at: datetime,
        note: str | None = None,
    ) -> Mark:
        values = {
            "layup_id": layup_id,
            "batch_id": batch_id,
            "kind": kind,
            "at": at,
            "note": note,
        }
        with self._database.writing() as connection:
            batch_must_be_of(connection, batch_id, layup_id)
            return added(connection, Mark, marks, values)

    def marks(self, layup_id: int) -> tuple[Mark, ...]:
        """In the order in which they happened."""
        query = select(marks).where(marks.c.layup_id == layup_id).order_by(marks.c.at, marks.c.id)
        with self._database.reading() as connection:
            return all_of(connection, Mark, query)


def _same_scope(
    connection: Connection, layup_id: int, batch_id: int | None, channel: Channel
) -> tuple[Stay, ...]:
    scope = stays.c.batch_id.is_(None) if batch_id is None else stays.c.batch_id == batch_id
    query = select(stays).where(stays.c.layup_id == layup_id, scope, stays.c.channel == channel)
    return all_of(connection, Stay, query)


def _end(connection: Connection, stay: Stay, at: datetime, written_at: datetime) -> Stay:
    """End a stay at a moment, unless it ended before; the old end is kept as a correction."""
    if stay.until is not None and stay.until <= at:
        return stay
    write_down(connection, entry_id(stay), "until", stay.until, at, written_at)
    return _set_until(connection, stay, at)


def _set_until(connection: Connection, stay: Stay, at: datetime) -> Stay:
    query = update(stays).where(stays.c.id == stay.id).values(until=at).returning(*stays.columns)
    return Stay(**connection.execute(query).mappings().one())
