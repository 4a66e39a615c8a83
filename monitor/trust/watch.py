"""Looks at what the sensors said lately, keeps what is suspect, and flags the readings."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from monitor.records import Reading, Readings, Sensor, SuspectKind, SuspectSpan
from monitor.sensing.honesty import look
from monitor.sensing.recent import Recent
from monitor.store import LateNews, Store, Tails

LOOK_BACK = timedelta(hours=6)
FURTHEST_BACK = timedelta(hours=36)
"""A doubt that lasts longer than this stands as it is and is not looked at from its start."""
BEFORE_A_DOUBT = timedelta(minutes=30)
HEATER_RUNS = timedelta(hours=12)
"""How long a heater is taken to be on where nobody marked it off."""


class Heard:
    """What the sensors said, as they were read, and what was doubted of it and marked beside it.

    One that is kept goes on from look to look.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._tails = Tails(store.readings, as_read=True)
        self._late = LateNews(store.readings.late_changes)
        self.sensors: tuple[Sensor, ...] = ()
        self.newest: dict[int, Reading] = {}
        self.heaters: dict[int, list[tuple[datetime, bool]]] = {}
        self.doubts: dict[int, list[SuspectSpan]] = {}

    def begin(self, now: datetime) -> None:
        """A look begins: take in what was heard, or has changed, since the last one."""
        for change in self._late.take():
            self._tails.forget(change.sensor_id)
        self.sensors, self.newest = self._store.book.sensors(), self._store.readings.newest()
        self._tails.go_on(self.newest)
        self.heaters = self._store.suspects.heater_marks()
        self.doubts = {}
        for span in self._store.suspects.spans(since=now - LOOK_BACK):
            self.doubts.setdefault(span.sensor_id, []).append(span)

    def between(self, sensor_id: int, since: datetime, now: datetime) -> Readings:
        """What a sensor said in that time."""
        readings = self._tails.since(sensor_id, since.timestamp())
        return readings.between(since.timestamp(), now.timestamp())

    def end(self, now: datetime) -> None:
        """Let go of what no look asks for any more."""
        self._tails.let_go((now - LOOK_BACK).timestamp())


def look_over_all(store: Store, now: datetime, heard: Heard | None = None) -> None:
    """A look at every sensor, the one that was there first before the others."""
    heard = heard or Heard(store)
    heard.begin(now)
    for sensor in heard.sensors:
        _look_over(store, sensor, now, None, heard)
    heard.end(now)


def look_over(
    store: Store, sensor: Sensor, now: datetime, since: datetime | None = None
) -> tuple[SuspectSpan, ...]:
    """What a look at one sensor finds that was not known before.

    It looks at the last hours, and on from the beginning of any doubt that reaches into them;
    with `since` at everything from then on, as after a file was read in.
    """
    heard = Heard(store)
    heard.begin(now)
    return _look_over(store, sensor, now, since, heard)


def _look_over(
    store: Store, sensor: Sensor, now: datetime, since: datetime | None, heard: Heard
) -> tuple[SuspectSpan, ...]:
    latest, doubts = heard.newest.get(sensor.id), heard.doubts.get(sensor.id, [])
    if latest is None:
        return ()
    begun = since or _looked_from(doubts, now)
    recent = Recent(
        heard.between(sensor.id, begun, now),
        _heated(heard.heaters.get(sensor.id, [])),
        tuple(
            heard.between(other.id, begun, now) for other in heard.sensors if other.id < sensor.id
        ),
        latest.raw,
        latest.at,
    )
    found = look(recent)
    if not found and not doubts and since is None:
        return ()
    return store.suspects.settle(sensor.id, found, begun, now)


def _looked_from(doubts: Sequence[SuspectSpan], now: datetime) -> datetime:
    since = now - LOOK_BACK
    for span in reversed(doubts):
        if span.kind is not SuspectKind.BOARD_CLOCK:
            since = min(since, span.since - BEFORE_A_DOUBT)
    return max(since, now - FURTHEST_BACK)


def _heated(marked: Sequence[tuple[datetime, bool]]) -> tuple[tuple[float, float], ...]:
    """When a heater was on beside the parts that stood by a sensor."""
    spans: list[tuple[float, float]] = []
    on_at: datetime | None = None
    for at, is_on in marked:
        if is_on:
            if on_at is not None:
                spans.append((on_at.timestamp(), min(at, on_at + HEATER_RUNS).timestamp()))
            on_at = at
        elif on_at is not None:
            spans.append((on_at.timestamp(), at.timestamp()))
            on_at = None
    if on_at is not None:
        spans.append((on_at.timestamp(), (on_at + HEATER_RUNS).timestamp()))
    return tuple(spans)
