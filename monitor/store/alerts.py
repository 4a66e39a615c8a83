"""Alerts that were raised: one an event, so that nothing is said twice, also after a restart."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import select, update

from monitor.errors import BadInput
from monitor.records import Alert
from monitor.store.entries import Entries, added, all_of, first_of
from monitor.store.schema import alerts


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
    ) -> Alert | None:
        """Store an alert; None where the same event (rule, key, began at) has been raised."""
        same = select(alerts).where(
            alerts.c.rule == rule, alerts.c.key == key, alerts.c.began_at == began_at
        )
        values = {
            "rule": rule,
            "key": key,
            "began_at": began_at,
            "raised_at": raised_at,
            "parts": tuple(parts),
            "fact": fact,
            "action": action,
        }
        with self._database.writing() as connection:
            if first_of(connection, Alert, same) is not None:
                return None
            return added(connection, Alert, alerts, values)

    def clear(self, id: int, cleared_at: datetime) -> Alert:
        """It is over. The first time given stands. Raises BadInput for an unknown one."""
        return self._stamp(id, "cleared_at", cleared_at)

    def mark_seen(self, id: int, at: datetime) -> Alert:
        """Someone has seen it. The first time given stands. Raises BadInput for an unknown one."""
        return self._stamp(id, "seen_at", at)

    def open(self) -> tuple[Alert, ...]:
        """Those not cleared, oldest first."""
        return self._all(Alert, alerts, alerts.c.cleared_at.is_(None))

    def recent(self, limit: int = 20) -> tuple[Alert, ...]:
        """The newest, cleared or not, newest first."""
        query = select(alerts).order_by(alerts.c.raised_at.desc(), alerts.c.id.desc()).limit(limit)
        with self._database.reading() as connection:
            return all_of(connection, Alert, query)

    def _stamp(self, id: int, field: str, at: datetime) -> Alert:
        which = alerts.c.id == id
        with self._database.writing() as connection:
            connection.execute(
                update(alerts).where(which, alerts.c[field].is_(None)).values({field: at})
            )
            found = first_of(connection, Alert, select(alerts).where(which))
            if found is None:
                raise BadInput(f"There is no alert {id}.", "See which there are: alert list.")
            return found
