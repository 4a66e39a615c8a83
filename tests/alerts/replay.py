"""A night replayed through the real store as the daemon would ask, and what people would hear."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from monitor.alerts.dispatch import Ways, look_at, settle
from monitor.alerts.doubted import aloud, doubted
from monitor.alerts.rules import Telling, due_now
from monitor.overview import Desk, overview
from monitor.records import Alert, Aloud, Message
from monitor.store import Store
from monitor.trust.watch import look_over
from tests.scenarios import at, series, story
from tests.scenarios.shop import ShopAtHand

TELLING = Telling(ZoneInfo("UTC"), "c")
BELL = "bell"
STEP = timedelta(minutes=5)

Deed = tuple[str, Callable[[], object]]


class Kept:
    """A channel that keeps what it was given at once."""

    name = "kept"

    def __init__(self) -> None:
        self.sent: list[Alert] = []
        self.withdrawn: list[Alert] = []

    def send(self, alert: Alert) -> None:
        self.sent.append(alert)

    def withdraw(self, alert: Alert) -> None:
        self.withdrawn.append(alert)


def look_once(
    store: Store, now: datetime, kept: Kept, desk: Desk, telling: Telling = TELLING
) -> None:
    """As the daemon looks, its outside channel a bell."""
    for sensor in store.book.sensors():
        look_over(store, sensor, now)
    seen = overview(store, now, desk)
    doubts = doubted(store, seen, telling.zone)
    look = look_at(store, seen, telling)
    settle(store, look, aloud(due_now(look), doubts, seen), Ways([kept], (BELL,)))


def ring(store: Store, now: datetime) -> list[Message]:
    """The bell takes everything that is due."""
    rung = []
    while (message := store.messages.next_due(BELL, now)) is not None:
        store.messages.begin(message.id, now)
        store.messages.sent(message.id, now)
        rung.append(message)
    return rung


class Replay:
    """What was said at once, and what rang, between two moments."""

    def __init__(self, shop: ShopAtHand, *, heeded: bool = True) -> None:
        self._store, self._heeded = shop.store, heeded
        self._desk = Desk(shop.store, keeps=True)
        self.kept = Kept()
        self.rung: list[tuple[datetime, Message, Alert]] = []

    def run(
        self, start: str, end: str, step: timedelta = STEP, deeds: Sequence[Deed] = ()
    ) -> "Replay":
        """Whoever hears it marks it as seen, where the alerts are heeded."""
        now, to_do = at(start), list(deeds)
        while now <= at(end):
            while to_do and at(to_do[0][0]) <= now:
                to_do.pop(0)[1]()
            look_once(self._store, now, self.kept, self._desk)
            for message in ring(self._store, now):
                alert = self._store.alerts.alert(message.alert_id)
                self.rung.append((now, message, alert))
                if self._heeded:
                    self._store.alerts.mark_seen(alert.id, now)
            now += step
        return self

    @property
    def sent(self) -> list[Alert]:
        return self.kept.sent

    @property
    def withdrawn(self) -> list[Alert]:
        return self.kept.withdrawn

    def of(self, rule: str) -> list[Alert]:
        return [alert for alert in self.sent if alert.rule == rule]

    def heard(self) -> list[tuple[str, str, str]]:
        """When the bell rang, for which rule, and what kind of message it was."""
        return [(f"{when:%a %H:%M}", alert.rule, m.kind.value) for when, m, alert in self.rung]

    def woke(self) -> list[Alert]:
        """The alerts that somebody may have been woken by."""
        night = TELLING.night
        return [
            alert
            for when, message, alert in self.rung
            if night.hold(when, TELLING.zone) and alert.aloud is Aloud.ANY_HOUR
        ]


def begin(shop: ShopAtHand, name: str, sheet: str, *names: str, role: str = "skin-a") -> None:
    """A story's part beside the shed's sensor."""
    shop.hear("shed", series(*names))
    mixed = at(story(name)["mixed_at"])
    shop.lay_up(1, sheet, mixed, role=role)
    shop.put("1", "shed", mixed)
