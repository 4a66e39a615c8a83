"""Whoever keeps what readings added up to is told when they changed behind the newest."""

from datetime import datetime, timedelta

from monitor.records import Doubt, Flags, Reading, Sensor
from monitor.store import Store

MINUTE = timedelta(minutes=1)


def _at(noon: datetime, minute: int) -> Reading:
    return Reading(noon + minute * MINUTE, 20.0, 50.0)


def test_readings_in_order_are_no_late_change(store: Store, shed: Sensor, noon: datetime) -> None:
    """A sensor that speaks in order leaves nothing behind, singly or in a heap."""
    store.readings.add(shed.id, [_at(noon, 0), _at(noon, 1)])
    store.readings.add(shed.id, [_at(noon, 2)])
    assert store.readings.late_changes() == ()


def test_a_reading_before_the_newest_is_told(store: Store, shed: Sensor, noon: datetime) -> None:
    """With the earliest moment it touches; only after the change last seen."""
    store.readings.add(shed.id, [_at(noon, 10)])
    store.readings.add(shed.id, [_at(noon, 5), _at(noon, 7), _at(noon, 12)])
    (change,) = store.readings.late_changes()
    assert (change.sensor_id, change.since) == (shed.id, noon + 5 * MINUTE)
    assert store.readings.late_changes(change.id) == ()


def test_reading_a_file_in_twice_changes_nothing(
    store: Store, shed: Sensor, noon: datetime
) -> None:
    """What was there already is no change."""
    rows = [_at(noon, 0), _at(noon, 1)]
    store.readings.add(shed.id, rows)
    store.readings.add(shed.id, rows)
    assert store.readings.late_changes() == ()


def test_a_doubt_added_later_is_told(store: Store, shed: Sensor, noon: datetime) -> None:
    """Once for what it changed, and not at all where the doubt was there; None: from the first."""
    store.readings.add(shed.id, [_at(noon, 0), _at(noon, 1)])
    sunned = Flags(temperature=Doubt.SUNNED)
    store.readings.add_flags(shed.id, noon + MINUTE, None, sunned)
    store.readings.add_flags(shed.id, noon + MINUTE, None, sunned)
    store.readings.add_flags(shed.id, None, None, sunned)
    assert [c.since for c in store.readings.late_changes()] == [noon + MINUTE, None]
