"""Raw readings let go by their age: never inside a layup, and never their sums."""

from datetime import UTC, datetime, timedelta

import numpy as np

from monitor.records import Channel, Flags, Nearness, Reading, Sensor
from monitor.records.readings import Doubt
from monitor.store import Store

BEGAN = datetime(2026, 1, 1, tzinfo=UTC)
NOW = datetime(2026, 7, 1, tzinfo=UTC)
STEP = timedelta(minutes=20)


def half_a_year(first: datetime = BEGAN) -> list[Reading]:
    return [
        Reading(first + number * STEP, 10.0 + number % 100 / 10, 60.0)
        for number in range((NOW - first) // STEP)
    ]


def day(month: int, number: int) -> datetime:
    return datetime(2026, month, number, tzinfo=UTC)


def laid_up(store: Store, shed: Sensor, since: datetime, ended: datetime | None) -> None:
    sheet = store.book.keep_sheet("demo", "x", since)
    layup = store.book.add_layup(3, "rudder cheek", sheet.id, added_at=since)
    store.book.add_stay(layup.id, None, shed.id, Channel.AIR, Nearness.BESIDE, since)
    if ended is not None:
        store.book.end_layup(3, ended)


def test_raw_goes_and_sums_stay(store: Store, shed: Sensor) -> None:
    """Before the day set only sums are left, the same as before; after it everything."""
    readings = half_a_year()
    store.readings.add(shed.id, readings)
    sums = store.readings.rollups(shed.id, None, None, "hour")
    assert store.let_go_before(day(5, 1) + timedelta(minutes=30)) == 120 * 24
    assert store.readings.first_at(shed.id) == day(5, 1)
    after = store.readings.rollups(shed.id, None, None, "hour")
    assert after.n_all.tolist() == sums.n_all.tolist()
    assert np.array_equal(after.temperature_c.mean, sums.temperature_c.mean)
    assert store.let_go_before(day(5, 1)) == 0
    assert store.problems() == ()


def test_what_was_heard_last_keeps_its_sums(store: Store, shed: Sensor) -> None:
    """A sensor that fell silent in the middle of an hour, and spoke again in the same year."""
    last = day(2, 1)
    store.readings.add(shed.id, [Reading(last + n * STEP, 10.0 + n, 60.0) for n in range(5)])
    assert store.let_go_before(day(5, 1)) == 2
    assert store.readings.count(shed.id) == 0
    store.readings.add(shed.id, [Reading(day(5, 2) + n * STEP, 20.0, 60.0) for n in range(2)])
    hours = store.readings.rollups(shed.id, None, None, "hour")
    assert hours.n_all.tolist() == [3, 2, 2]
    assert hours.temperature_c.mean.tolist() == [11.0, 13.5, 20.0]
    assert store.readings.rollups(shed.id, None, None).n_all.tolist() == [1] * 7


def test_what_lies_inside_a_layup_stays(store: Store, shed: Sensor) -> None:
    """Of the sensor it stood beside, with a day before it; of another sensor it goes."""
    boat = store.book.add_sensor("boat", "none")
    for sensor in (shed, boat):
        store.readings.add(sensor.id, half_a_year())
    laid_up(store, shed, day(2, 10), day(2, 20))
    store.let_go_before(day(5, 1))
    kept = store.readings.between(shed.id, None, day(4, 30))
    assert kept.time_s[0] == day(2, 9).timestamp()
    assert kept.time_s[-1] == (day(2, 20) + timedelta(hours=2) - STEP).timestamp()
    assert np.diff(kept.time_s).max() == STEP.total_seconds()
    assert len(store.readings.between(boat.id, None, day(4, 30))) == 0


def test_an_open_layup_keeps_all_since(store: Store, shed: Sensor) -> None:
    """It isn't over, so nothing that came since it began is let go."""
    store.readings.add(shed.id, half_a_year())
    laid_up(store, shed, day(2, 10), None)
    store.let_go_before(day(6, 1))
    assert store.readings.first_at(shed.id) == day(2, 9)
    assert store.readings.count(shed.id) == len(half_a_year(day(2, 9)))


def test_what_was_let_go_is_not_counted_twice(store: Store, shed: Sensor) -> None:
    """A logger's file read in once more adds nothing to the sums; an older one does."""
    readings = half_a_year()
    store.readings.add(shed.id, readings)
    sums = store.readings.rollups(shed.id, None, None, "hour").n_all.tolist()
    store.let_go_before(day(4, 1))
    assert store.readings.add(shed.id, readings) == 0
    assert store.readings.rollups(shed.id, None, None, "hour").n_all.tolist() == sums
    older = [Reading(BEGAN - timedelta(days=3), 9.0, 50.0)]
    assert store.readings.add(shed.id, older) == 1
    store.let_go_before(day(5, 1))
    assert store.readings.first_at(shed.id) == day(5, 1)
    assert store.readings.rollups(shed.id, None, None, "hour").n_all.tolist() == [1, *sums]


def test_doubts_about_what_was_let_go(store: Store, shed: Sensor) -> None:
    """They redo only what has readings left; the sums of the rest stay as they are."""
    store.readings.add(shed.id, half_a_year())
    sums = store.readings.rollups(shed.id, None, day(4, 1), "hour")
    store.let_go_before(day(4, 10))
    store.readings.add_flags(shed.id, None, None, Flags(temperature=Doubt.SPIKE))
    after = store.readings.rollups(shed.id, None, day(4, 1), "hour")
    assert after.temperature_c.n.tolist() == sums.temperature_c.n.tolist()
