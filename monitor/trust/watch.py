"""Looks at what the sensors said lately, keeps what is suspect, and flags the readings."""

import math
from datetime import datetime, timedelta

from monitor.records import MarkKind, Readings, Sensor, SuspectKind, SuspectSpan
from monitor.sensing.honesty import look
from monitor.sensing.recent import Recent
from monitor.store import Store

LOOK_BACK = timedelta(hours=6)
FURTHEST_BACK = timedelta(hours=36)
"""A doubt that lasts longer than this stands as it is and is not looked at from its start."""
BEFORE_A_DOUBT = timedelta(minutes=30)
HEATER_RUNS = timedelta(hours=12)
"""How long a heater is taken to be on where nobody marked it off."""


class Heard:
    """What the sensors said until one moment, each fetched once for all that are looked at."""

    def __init__(self, store: Store, now: datetime) -> None:
        self._store, self._now = store, now
        self._known: dict[int, tuple[datetime, Readings]] = {}
        self.sensors = store.book.sensors()

    def since(self, sensor_id: int, moment: datetime) -> Readings:
        """As they were read, from that moment on."""
        begun, readings = self._known.get(sensor_id, (None, None))
        if begun is None or readings is None or moment < begun:
            readings = self._store.readings.between(sensor_id, moment, self._now, as_read=True)
            self._known[sensor_id] = moment, readings
            return readings
        return readings.between(moment.timestamp(), math.inf)


def look_over_all(store: Store, now: datetime) -> None:
    """A look at every sensor, the one that was there first before the others."""
    heard = Heard(store, now)
    for sensor in heard.sensors:
        look_over(store, sensor, now, heard=heard)


def look_over(
    store: Store,
    sensor: Sensor,
    now: datetime,
    since: datetime | None = None,
    heard: Heard | None = None,
) -> tuple[SuspectSpan, ...]:
    """What a look at one sensor finds that was not known before.

    It looks at the last hours, and on from the beginning of any doubt that reaches into them;
    with `since` at everything from then on, as after a file was read in.
    """
    since = since or _looked_from(store, sensor.id, now)
    latest = store.readings.latest(sensor.id)
    if latest is None:
        return ()
    heard = heard or Heard(store, now)
    recent = Recent(
        heard.since(sensor.id, since),
        _heated(store, sensor.id),
        tuple(heard.since(other.id, since) for other in heard.sensors if other.id < sensor.id),
        latest.raw,
        latest.at,
    )
    return store.suspects.settle(sensor.id, look(recent), since, now)


def _looked_from(store: Store, sensor_id: int, now: datetime) -> datetime:
    since = now - LOOK_BACK
    for span in reversed(store.suspects.spans(sensor_id, since)):
        if span.kind is not SuspectKind.BOARD_CLOCK:
            since = min(since, span.since - BEFORE_A_DOUBT)
    return max(since, now - FURTHEST_BACK)


def _heated(store: Store, sensor_id: int) -> tuple[tuple[float, float], ...]:
    """When a heater was on beside the parts that stood by this sensor."""
    spans: list[tuple[float, float]] = []
    on_at: datetime | None = None
    for mark in store.suspects.heater_marks(sensor_id):
        if mark.kind is MarkKind.HEATER_ON:
            if on_at is not None:
                spans.append((on_at.timestamp(), min(mark.at, on_at + HEATER_RUNS).timestamp()))
            on_at = mark.at
        elif on_at is not None:
            spans.append((on_at.timestamp(), mark.at.timestamp()))
            on_at = None
    if on_at is not None:
        spans.append((on_at.timestamp(), (on_at + HEATER_RUNS).timestamp()))
    return tuple(spans)
