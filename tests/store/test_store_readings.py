from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from monitor.errors import StoreError
from monitor.records import Doubt, Flags, Reading, Sensor
from monitor.store import Store

SUNNED = Flags(temperature=Doubt.SUNNED)


def _every_minute(start: datetime, temperatures_c: list[float | None]) -> list[Reading]:
    return [
        Reading(start + timedelta(minutes=number), value, 60.0, raw=f"line {number}")
        for number, value in enumerate(temperatures_c)
    ]


def test_readings_come_back_as_columns(store: Store, shed: Sensor, noon: datetime) -> None:
    """In time order, exact to the value, nan where nothing was given, flags as packed."""
    at = noon + timedelta(microseconds=123_457)
    flags = Flags(humidity=Doubt.STUCK_WET, surface=Doubt.FROZEN)
    readings = [
        Reading(at, 18.4, None, 16.9, flags, "b"),
        Reading(noon - timedelta(days=1), None, 61.25, None, raw="a"),
    ]
    assert store.readings.add(shed.id, readings) == 2
    columns = store.readings.between(shed.id, None, None)
    assert len(columns) == 2
    np.testing.assert_allclose(
        columns.time_s, [noon.timestamp() - 86400, at.timestamp()], atol=1e-6
    )
    np.testing.assert_array_equal(columns.temperature_c, [np.nan, 18.4])
    np.testing.assert_array_equal(columns.humidity_pct, [61.25, np.nan])
    np.testing.assert_array_equal(columns.surface_c, [np.nan, 16.9])
    assert columns.flags.dtype == np.int64
    assert list(columns.flags) == [0, flags.packed()]


def test_both_ends_are_included(store: Store, shed: Sensor, noon: datetime) -> None:
    """since ≤ time ≤ until; None is no bound; another sensor's readings stay out."""
    other = store.book.add_sensor("boat", "/dev/ttyUSB1")
    store.readings.add(shed.id, _every_minute(noon, [1.0, 2.0, 3.0, 4.0]))
    store.readings.add(other.id, _every_minute(noon, [9.0]))

    def found(since: datetime | None, until: datetime | None) -> list[float]:
        return list(store.readings.between(shed.id, since, until).temperature_c)

    second, third = noon + timedelta(minutes=1), noon + timedelta(minutes=2)
    assert found(second, third) == [2.0, 3.0]
    assert found(None, second) == [1.0, 2.0]
    assert found(third, None) == [3.0, 4.0]
    assert found(second + timedelta(seconds=1), third - timedelta(seconds=1)) == []
    assert list(store.readings.between(other.id, None, None).temperature_c) == [9.0]


def test_more_than_one_chunk(store: Store, shed: Sensor, noon: datetime) -> None:
    """A range longer than what is fetched at a time comes back whole and in order."""
    count = 70_000
    readings = [
        Reading(noon + timedelta(seconds=number), number / 8, None) for number in range(count)
    ]
    assert store.readings.add(shed.id, readings) == count
    columns = store.readings.between(shed.id, None, None)
    np.testing.assert_array_equal(columns.temperature_c, np.arange(count) / 8)
    np.testing.assert_array_equal(columns.time_s, noon.timestamp() + np.arange(count))
    assert np.isnan(columns.humidity_pct).all()


def test_a_moment_is_stored_once(store: Store, shed: Sensor, noon: datetime) -> None:
    """Reading a file in twice adds nothing, and what was stored stays as it was."""
    assert store.readings.add(shed.id, _every_minute(noon, [18.0, 19.0])) == 2
    assert store.readings.add(shed.id, _every_minute(noon, [18.0, 19.0])) == 0
    assert store.readings.add(shed.id, _every_minute(noon, [30.0, 30.0, 20.0])) == 1
    assert list(store.readings.between(shed.id, None, None).temperature_c) == [18.0, 19.0, 20.0]
    assert store.readings.add(shed.id, []) == 0


def test_one_moment_twice_in_a_batch(store: Store, shed: Sensor, noon: datetime) -> None:
    """The first of them is kept, and counted once in the rollups."""
    readings = [Reading(noon, 18.0, None), Reading(noon, 25.0, None)]
    assert store.readings.add(shed.id, readings) == 1
    rolled = store.readings.rollups(shed.id, None, None)
    assert list(rolled.n_all) == [1]
    assert list(rolled.temperature_c.mean) == [18.0]


def test_numbers_that_are_none(store: Store, shed: Sensor, noon: datetime) -> None:
    """nan and infinity are kept in the raw line alone."""
    odd = Reading(noon, float("nan"), float("inf"), float("-inf"), raw="nan,inf,-inf")
    store.readings.add(shed.id, [odd])
    assert store.readings.latest(shed.id) == Reading(noon, None, None, None, raw="nan,inf,-inf")
    assert list(store.readings.rollups(shed.id, None, None).humidity_pct.n) == [0]


def test_a_line_that_is_no_text_is_kept(store: Store, shed: Sensor, noon: datetime) -> None:
    """Bytes that could not be decoded are spelled out rather than refused."""
    damaged = b"T=2\xff.4".decode(errors="surrogateescape")
    store.readings.add(shed.id, [Reading(noon, None, None, raw=damaged)])
    assert store.readings.raw_lines(shed.id) == ("T=2\\udcff.4",)


def test_the_newest_and_the_oldest(store: Store, shed: Sensor, noon: datetime) -> None:
    """The newest comes back whole, with its flags and its line; out of order or not."""
    assert store.readings.latest(shed.id) is None
    assert store.readings.first_at(shed.id) is None
    assert store.readings.count(shed.id) == 0
    newest = Reading(noon + timedelta(hours=2), 21.5, 55.0, 19.25, SUNNED, "$WIXDR…")
    store.readings.add(shed.id, [newest])
    store.readings.add(shed.id, _every_minute(noon, [18.0, 19.0, 20.0]))
    assert store.readings.latest(shed.id) == newest
    assert store.readings.first_at(shed.id) == noon
    assert store.readings.count(shed.id) == 4
    assert store.readings.raw_lines(shed.id, last=2) == ("line 2", "$WIXDR…")


def test_times_of_any_zone_are_the_same_moment(store: Store, shed: Sensor, noon: datetime) -> None:
    """An offset other than UTC's is taken into account; a time without one is refused."""
    there = noon.astimezone(UTC).replace(tzinfo=UTC)
    store.readings.add(shed.id, [Reading(there, 18.0, None)])
    elsewhere = datetime.fromisoformat("2026-05-02T14:00:00+02:00")
    assert store.readings.add(shed.id, [Reading(elsewhere, 19.0, None)]) == 0
    with pytest.raises(ValueError, match="offset"):
        store.readings.add(shed.id, [Reading(noon.replace(tzinfo=None), 18.0, None)])


def test_later_doubts_are_added(store: Store, shed: Sensor, noon: datetime) -> None:
    """They join those that are there; only readings that change are counted."""
    first = Flags(temperature=Doubt.SPIKE)
    store.readings.add(shed.id, [Reading(noon, 30.0, 50.0, flags=first)])
    store.readings.add(shed.id, _every_minute(noon + timedelta(minutes=1), [31.0, 20.0]))
    until = noon + timedelta(minutes=1)
    assert store.readings.add_flags(shed.id, noon, until, SUNNED) == 2
    assert store.readings.add_flags(shed.id, noon, until, SUNNED) == 0
    flags = [
        Flags.unpacked(int(bits)) for bits in store.readings.between(shed.id, None, None).flags
    ]
    assert flags == [first | SUNNED, SUNNED, Flags()]
    hours = store.readings.rollups(shed.id, None, None, "hour")
    assert (list(hours.n_all), list(hours.temperature_c.n)) == ([3], [1])
    assert list(hours.humidity_pct.n) == [3]


def test_an_unknown_sensor_is_refused(store: Store, noon: datetime) -> None:
    """Nothing is stored for a sensor that isn't in the book."""
    with pytest.raises(StoreError, match=r"(?i)foreign key"):
        store.readings.add(99, [Reading(noon, 18.0, 60.0)])
    assert store.readings.count(99) == 0
