"""Messages on their way: what is due on a channel, and how each try ended."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, select, update

from monitor.records import Message
from monitor.store.entries import Entries, first_of
from monitor.store.schema import messages

_WAITING = messages.c.sent_at.is_(None) & messages.c.dropped_at.is_(None)

CLAIMED_FOR = timedelta(seconds=90)
"""Whoever began to send one has this long, more than any channel takes. After that its run was
killed, and it goes out again: better twice than never."""


def _free(at: datetime) -> ColumnElement[bool]:
    begun = messages.c.begun_at
    return _WAITING & (begun.is_(None) | (begun <= at - CLAIMED_FOR))


class MessageEntries(Entries):
    def next_due(self, channel: str, now: datetime) -> Message | None:
        """The one that has waited longest on a channel; also one that a killed run had begun."""
        query = (
            select(messages)
            .where(messages.c.channel == channel, _free(now), messages.c.due_at <= now)
            .order_by(messages.c.due_at, messages.c.id)
        )
        with self._database.reading() as connection:
            return first_of(connection, Message, query)

    def begin(self, id: int, at: datetime) -> bool:
        """Note that it is being sent. False: it was dropped, or somebody else is sending it."""
        with self._database.writing() as connection:
            done = connection.execute(
                update(messages).where(messages.c.id == id, _free(at)).values(begun_at=at)
            )
            return bool(done.rowcount)

    def sent(self, id: int, at: datetime) -> None:
        with self._database.writing() as connection:
            connection.execute(
                update(messages)
                .where(messages.c.id == id)
                .values(sent_at=at, tries=messages.c.tries + 1, dropped_at=None, trouble=None)
            )

    def failed(self, id: int, trouble: str, next_at: datetime | None, at: datetime) -> None:
        """It was not taken: tried again at `next_at`, or no more."""
        values = {"trouble": trouble, "tries": messages.c.tries + 1, "begun_at": None}
        with self._database.writing() as connection:
            changed = {"due_at": next_at} if next_at is not None else {"dropped_at": at}
            connection.execute(
                update(messages).where(messages.c.id == id).values(**values, **changed)
            )

    def of(self, alert_ids: Iterable[int]) -> tuple[Message, ...]:
        """Every message of those alerts, oldest first."""
        return self._all(Message, messages, messages.c.alert_id.in_(tuple(alert_ids)))

    def last_tried(self, channel: str) -> Message | None:
        """The newest on a channel that somebody tried to send."""
        query = (
            select(messages)
            .where(messages.c.channel == channel, messages.c.tries > 0)
            .order_by(messages.c.id.desc())
        )
        with self._database.reading() as connection:
            return first_of(connection, Message, query)
