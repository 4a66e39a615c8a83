"""Looks at what the sensors said lately, keeps what is suspect, and flags the readings."""

from datetime import datetime, timedelta

from monitor.records import MarkKind, Sensor, SuspectKind, SuspectSpan
from monitor.sensing.honesty import look
from monitor.sensing.recent import Recent
from monitor.store import Store

LOOK_BACK = timedelta(hours=6)
FURTHEST_BACK = timedelta(hours=36)
"""A doubt that lasts longer than this stands as it is and is not looked at from its start."""
BEFORE_A_DOUBT = timedelta(minutes=30)
HEATER_RUNS = timedelta(hours=12)
"""How long a heater is taken to be on where nobody marked it off."""


def look_over(
    store: Store, sensor: Sensor, now: datetime, since: datetime | None = None
) -> tuple[SuspectSpan, ...]:
    """What a look at one sensor finds that was not known before.

    It looks at the last hours, and on from the beginning of any doubt that reaches into them;
    with `since` at everything from then on, as after a file was read in.
    """
    since = since or _looked_from(store, sensor.id, now)
    latest = store.readings.latest(sensor.id)
    if latest is None:
        return ()
    recent = Recent(
        store.readings.between(sensor.id, since, now, as_read=True),
        _heated(store, sensor.id),
        tuple(
            store.readings.between(other.id, since, now, as_read=True)
            for other in store.book.sensors()
            if other.id < sensor.id
        ),
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
