import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.records import Doubt, Flags, Reading, Sensor
from monitor.store import Rolled, Rollups, Step, Store
from monitor.store.columns import us_from

START = datetime(2026, 5, 2, 12, tzinfo=UTC)
STEPS_S: dict[Step, int] = {"minute": 60, "hour": 3600}
QUANTITIES = ("temperature_c", "humidity_pct", "surface_c")


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """One file for all examples; each takes a sensor of its own."""
    with Store.open(tmp_path_factory.mktemp("rollups") / "shop.db") as store:
        yield store


@dataclass(frozen=True)
class _Move:
    """Readings that a wrong clock stamped, from a second on, are moved."""

    second: int
    length_s: int
    by_s: int

    def moved(self, kept: dict[datetime, Reading]) -> list[datetime]:
        """Which are moved. One whose new time is taken stays where it is."""
        since, by = START + timedelta(seconds=self.second), timedelta(seconds=self.by_s)
        times = [at for at in kept if since <= at <= since + timedelta(seconds=self.length_s)]
        for at in sorted(times, reverse=self.by_s > 0):
            if at + by not in kept:
                kept[at + by] = replace(kept.pop(at), at=at + by)
        return times


values = st.one_of(
    st.none(),
    st.just(math.nan),
    st.floats(min_value=-40, max_value=125, allow_nan=False),
)
doubts = st.sampled_from([Doubt(0), Doubt(0), Doubt(0), Doubt.SPIKE, Doubt.SUNNED | Doubt.CLOCK])
flags = st.builds(Flags, doubts, doubts, doubts)
# A few minutes beside each other, an hour's edge, and days before: runs of every kind.
moments_s = st.one_of(
    st.integers(-200, 200),
    st.integers(3400, 3800),
    st.integers(-400_000, -399_000),
)
readings = st.builds(
    lambda second, temperature_c, humidity_pct, surface_c, doubted: Reading(
        START + timedelta(seconds=second), temperature_c, humidity_pct, surface_c, doubted
    ),
    moments_s,
    values,
    values,
    values,
    flags,
)
batches = st.lists(readings, max_size=12)
late_doubts = st.tuples(moments_s, st.integers(0, 4000), flags)

moves = st.builds(_Move, moments_s, st.integers(0, 4000), st.integers(-8000, 8000))
histories = st.lists(st.one_of(batches, late_doubts, moves), max_size=8)


class _Bucket:
    """The good values of one bucket, by the definition alone."""

    def __init__(self, kept: list[Reading]) -> None:
        self.n_all = len(kept)
        self.good = [
            [
                value
                for reading in kept
                if not getattr(reading.flags, quantity.partition("_")[0])
                and (value := getattr(reading, quantity)) is not None
                and not math.isnan(value)
            ]
            for quantity in QUANTITIES
        ]


def _expected(kept: dict[datetime, Reading], step_s: int) -> dict[float, _Bucket]:
    grouped: dict[float, list[Reading]] = {}
    for at, reading in kept.items():
        grouped.setdefault(at.timestamp() // step_s * step_s, []).append(reading)
    return {start: _Bucket(grouped[start]) for start in sorted(grouped)}


def _check(rollups: Rollups, expected: dict[float, _Bucket]) -> None:
    assert list(rollups.time_s) == list(expected)
    assert list(rollups.n_all) == [bucket.n_all for bucket in expected.values()]
    for place, quantity in enumerate(QUANTITIES):
        rolled: Rolled = getattr(rollups, quantity)
        good = [bucket.good[place] for bucket in expected.values()]
        assert list(rolled.n) == [len(some) for some in good]
        means = [math.fsum(some) / len(some) if some else math.nan for some in good]
        np.testing.assert_allclose(rolled.mean, means, rtol=1e-12, atol=1e-10)
        np.testing.assert_array_equal(rolled.min, [min(some, default=math.nan) for some in good])
        np.testing.assert_array_equal(rolled.max, [max(some, default=math.nan) for some in good])


@settings(max_examples=150)
@given(history=histories)
def test_rollups_are_what_the_readings_say(
    shared: Store, history: list[list[Reading] | tuple[int, int, Flags] | _Move]
) -> None:
    """After arrivals, repeats, late doubts and moves, in any order: as a fresh summing up."""
    sensor = shared.book.add_sensor(f"sensor {len(shared.book.sensors())}", "none")
    kept: dict[datetime, Reading] = {}
    for event in history:
        if isinstance(event, _Move):
            times_us = [us_from(at) for at in event.moved(kept)]
            by = timedelta(seconds=event.by_s)
            shared.suspects.restamp(sensor.id, times_us, by, START)
        elif isinstance(event, tuple):
            second, length_s, late = event
            since = START + timedelta(seconds=second)
            until = since + timedelta(seconds=length_s)
            shared.readings.add_flags(sensor.id, since, until, late)
            for at, old in kept.items():
                if since <= at <= until:
                    kept[at] = Reading(
                        at,
                        old.temperature_c,
                        old.humidity_pct,
                        old.surface_c,
                        old.flags | late,
                    )
        else:
            shared.readings.add(sensor.id, event)
            for reading in event:
                kept.setdefault(reading.at, reading)
    for step, step_s in STEPS_S.items():
        _check(shared.readings.rollups(sensor.id, None, None, step), _expected(kept, step_s))


def test_a_worked_hour(store: Store, shed: Sensor) -> None:
    """Four readings, one of them doubted, by hand: 18, 20 and 22 give 20."""
    temperatures_c = [18.0, 20.0, 40.0, 22.0]
    store.readings.add(
        shed.id,
        [
            Reading(
                START + timedelta(minutes=20 * number),
                value,
                50.0,
                flags=Flags(Doubt.SUNNED) if value > 30 else Flags(),
            )
            for number, value in enumerate(temperatures_c)
        ],
    )
    hours = store.readings.rollups(shed.id, None, None, "hour")
    assert hours.step_s == 3600
    assert list(hours.time_s) == [START.timestamp(), START.timestamp() + 3600]
    assert list(hours.n_all) == [3, 1]
    assert list(hours.temperature_c.n) == [2, 1]
    assert list(hours.temperature_c.mean) == [19.0, 22.0]
    assert list(hours.temperature_c.min) == [18.0, 22.0]
    assert list(hours.temperature_c.max) == [20.0, 22.0]
    assert list(hours.humidity_pct.n) == [3, 1]
    assert np.isnan(hours.surface_c.mean).all()
    assert np.isnan(hours.surface_c.max).all()


def test_buckets_that_touch_the_range(store: Store, shed: Sensor) -> None:
    """The bucket that holds `since` and the one that holds `until` are both given."""
    readings = [Reading(START + timedelta(minutes=number), 20.0, None) for number in range(5)]
    store.readings.add(shed.id, readings)
    since, until = START + timedelta(seconds=90), START + timedelta(minutes=3)
    found = store.readings.rollups(shed.id, since, until)
    assert list((found.time_s - START.timestamp()) / 60) == [1, 2, 3]
    assert len(found) == 3
    until -= timedelta(microseconds=1)
    assert len(store.readings.rollups(shed.id, since, until)) == 2


def test_a_time_before_1970_has_its_bucket(store: Store, shed: Sensor) -> None:
    """A board's clock may say anything; buckets begin at or before what they hold."""
    at = datetime(1969, 12, 31, 23, 58, 30, tzinfo=UTC)
    store.readings.add(shed.id, [Reading(at, 20.0, None)])
    store.readings.add_flags(shed.id, at, at, Flags(humidity=Doubt.CLOCK))
    assert list(store.readings.rollups(shed.id, None, None).time_s) == [-120.0]
    assert list(store.readings.rollups(shed.id, at, at, "hour").time_s) == [-3600.0]


def test_an_hour_is_stored_when_it_is_over(store: Store, shed: Sensor) -> None:
    """Until then its readings are summed up as they are read, and nobody sees a difference."""

    def stored() -> list[int]:
        tables = ("minute_rollups", "hour_rollups")
        queries = [f"SELECT count(*) FROM {name}" for name in tables]  # noqa: S608 (these two)
        with store.database.reading() as connection:
            return [connection.exec_driver_sql(query).scalar_one() for query in queries]

    minutes = [Reading(START + timedelta(minutes=number), 20.0, None) for number in range(62)]
    for reading in minutes[:60]:
        store.readings.add(shed.id, [reading])
    assert stored() == [0, 0]
    before = store.readings.rollups(shed.id, None, minutes[59].at)
    for reading in minutes[60:]:
        store.readings.add(shed.id, [reading])
    assert stored() == [60, 1]
    after = store.readings.rollups(shed.id, None, minutes[59].at)
    assert list(after.time_s) == list(before.time_s)
    assert len(store.readings.rollups(shed.id, None, None)) == 62


def test_no_readings_no_buckets(store: Store, shed: Sensor) -> None:
    """An unheard sensor has columns of no length."""
    nothing = store.readings.rollups(shed.id, None, None, "hour")
    assert len(nothing) == 0
    assert len(nothing.temperature_c.mean) == 0


def test_readings_and_rollups_are_stored_together(
    store: Store, shed: Sensor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the rollups can't be written, the readings aren't stored either."""

    def cut_off(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("monitor.store.rollups.RollupTables.follow", cut_off)
        with pytest.raises(KeyboardInterrupt):
            store.readings.add(shed.id, [Reading(START, 20.0, None)])
    assert store.readings.count(shed.id) == 0
    assert store.readings.add(shed.id, [Reading(START, 20.0, None)]) == 1
