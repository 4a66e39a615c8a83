"""Alerts that were raised: one an event, so that nothing is said twice, also after a restart.

A message for each channel is written down in the transaction that raises its alert, so that none
is lost between the two.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert, select, update

from monitor.errors import BadInput
from monitor.records import Alert, Aloud, MessageKind
from monitor.store.entries import Entries, added, all_of, first_of
from monitor.store.schema import alerts, messages

OVER_FIRST = "It was over before it went out."
SEEN_FIRST = "It was seen before it went out."


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A message to be written down with its alert."""

    channel: str
    kind: MessageKind
    text: str
    due_at: datetime


class AlertEntries(Entries):
    def raise_alert(
        self,
        rule: str,
        key: str,
        began_at: datetime,
        raised_at: datetime,
        parts: Iterable[int],
        fact: str,
        action: str,
        *,
        aloud: Aloud = Aloud.PAGE,
        outgoing: Iterable[Outgoing] = (),
    ) -> Alert | None:
        """Store an alert and its messages; None where the same event has been raised.

        An event is its rule, key and beginning. One that was withdrawn in words may be raised
        once more, as beginning now.
        """
        event = alerts.c.rule == rule, alerts.c.key == key
        with self._database.writing() as connection:
            same = select(alerts).where(*event, alerts.c.began_at == began_at)
            before = first_of(connection, Alert, same)
            if before is not None and before.withdrawn is not None:
                began_at = raised_at
                again = select(alerts).where(*event, alerts.c.began_at == began_at)
                before = first_of(connection, Alert, again)
            if before is not None:
                return None
            values = {
                "rule": rule,
                "key": key,
                "began_at": began_at,
                "raised_at": raised_at,
                "parts": tuple(parts),
                "fact": fact,
                "action": action,
                "aloud": aloud,
            }
            alert = added(connection, Alert, alerts, values)
            _write_down(connection, alert.id, raised_at, outgoing)
            return alert

    def clear(
        self,
        id: int,
        cleared_at: datetime,
        *,
        withdrawn: str | None = None,
        over: Outgoing | None = None,
    ) -> Alert:
        """It is over, or withdrawn in words. The first time given stands.

        Messages that have not gone out are dropped. Where one has, `over` is sent after it, once
        for each such channel (its own channel is of no account). Raises BadInput for an unknown
        one.
        """
        with self._database.writing() as connection:
            open_still = alerts.c.id == id, alerts.c.cleared_at.is_(None)
            done = connection.execute(
                update(alerts).where(*open_still).values(cleared_at=cleared_at, withdrawn=withdrawn)
            )
            if done.rowcount:
                reached = _reached(connection, id)
                _drop(connection, id, cleared_at, OVER_FIRST)
                if over is not None:
                    _write_down(
                        connection,
                        id,
                        cleared_at,
                        [Outgoing(name, over.kind, over.text, over.due_at) for name in reached],
                    )
            return _found(connection, id)

    def mark_seen(self, id: int, at: datetime) -> Alert:
        """Someone has seen it. The first time given stands. Raises BadInput for an unknown one."""
        with self._database.writing() as connection:
            unseen = alerts.c.id == id, alerts.c.seen_at.is_(None)
            connection.execute(update(alerts).where(*unseen).values(seen_at=at, again_at=None))
            _drop(connection, id, at, SEEN_FIRST, MessageKind.AGAIN)
            return _found(connection, id)

    def ask_again(
        self, id: int, now: datetime, at: datetime, outgoing: Iterable[Outgoing]
    ) -> Alert:
        """It is to be asked again at that moment. Raises BadInput for an unknown or a past one."""
        with self._database.writing() as connection:
            if _found(connection, id).cleared_at is not None:
                raise BadInput(f"Alert {id} is over.", "There is nothing to ask again.")
            connection.execute(
                update(alerts).where(alerts.c.id == id).values(again_at=at, seen_at=None)
            )
            _drop(connection, id, now, SEEN_FIRST, MessageKind.AGAIN)
            _write_down(connection, id, now, outgoing)
            return _found(connection, id)

    def alert(self, id: int) -> Alert:
        """Raises BadInput for an unknown one."""
        with self._database.reading() as connection:
            return _found(connection, id)

    def open(self) -> tuple[Alert, ...]:
        """Those not cleared, oldest first."""
        return self._all(Alert, alerts, alerts.c.cleared_at.is_(None))

    def raised_since(self, moment: datetime) -> tuple[Alert, ...]:
        """All since then and every open one, oldest first."""
        return self._all(
            Alert, alerts, alerts.c.cleared_at.is_(None) | (alerts.c.raised_at >= moment)
        )

    def recent(self, limit: int = 20) -> tuple[Alert, ...]:
        """The newest, cleared or not, newest first."""
        query = select(alerts).order_by(alerts.c.raised_at.desc(), alerts.c.id.desc()).limit(limit)
        with self._database.reading() as connection:
            return all_of(connection, Alert, query)


def _write_down(
    connection: Connection, alert_id: int, made_at: datetime, outgoing: Iterable[Outgoing]
) -> None:
    for one in outgoing:
        connection.execute(
            insert(messages).values(
                alert_id=alert_id,
                channel=one.channel,
                kind=one.kind,
                text=one.text,
                made_at=made_at,
                due_at=one.due_at,
                tries=0,
            )
        )


def _drop(connection: Connection, id: int, at: datetime, why: str, *kinds: MessageKind) -> None:
    waiting = [
        messages.c.alert_id == id,
        messages.c.sent_at.is_(None),
        messages.c.dropped_at.is_(None),
    ]
    if kinds:
        waiting.append(messages.c.kind.in_(kinds))
    # What the last try met says more than that there will be no other.
    connection.execute(update(messages).where(*waiting).values(dropped_at=at))
    connection.execute(
        update(messages)
        .where(messages.c.alert_id == id, messages.c.dropped_at == at, messages.c.trouble.is_(None))
        .values(trouble=why)
    )


def _reached(connection: Connection, id: int) -> list[str]:
    """The channels that somebody may have heard it on."""
    went = messages.c.sent_at.is_not(None) | messages.c.begun_at.is_not(None)
    query = select(messages.c.channel).where(messages.c.alert_id == id, went).distinct()
    return sorted(connection.execute(query).scalars())


def _found(connection: Connection, id: int) -> Alert:
    found = first_of(connection, Alert, select(alerts).where(alerts.c.id == id))
    if found is None:
        raise BadInput(f"There is no alert {id}.", "See which there are: alert list.")
    return found
