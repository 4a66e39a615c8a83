"""What is kept of the readings from look to look is what the store would give anew."""

import math
from datetime import datetime, timedelta

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from monitor.records import Reading, Readings, Sensor
from monitor.store import LateNews, Store, Tails

STEP = timedelta(seconds=10)


def _alike(kept: Readings, fetched: Readings) -> None:
    for name in ("time_s", "temperature_c", "humidity_pct", "surface_c", "flags"):
        np.testing.assert_array_equal(getattr(kept, name), getattr(fetched, name))


def _reading(at: datetime, number: int) -> Reading:
    return Reading(at, 18.0 + number / 100, None if number % 3 else 60.0)


def _go_on(tails: Tails, store: Store) -> None:
    tails.go_on(store.readings.newest())


def test_a_sensor_that_was_asked_before_it_ever_spoke(
    store: Store, shed: Sensor, noon: datetime
) -> None:
    tails = Tails(store.readings)
    assert len(tails.since(shed.id, noon.timestamp())) == 0
    store.readings.add(shed.id, [_reading(noon + STEP, 1)])
    _go_on(tails, store)
    assert tails.since(shed.id, noon.timestamp()).temperature_c.tolist() == [18.01]


def test_what_was_handed_out_stays(store: Store, shed: Sensor, noon: datetime) -> None:
    tails = Tails(store.readings)
    store.readings.add(shed.id, [_reading(noon + n * STEP, n) for n in range(10)])
    before = tails.since(shed.id, noon.timestamp())
    held = before.temperature_c.copy()
    for number in range(10, 60):
        store.readings.add(shed.id, [_reading(noon + number * STEP, number)])
        _go_on(tails, store)
    assert before.temperature_c.tolist() == held.tolist()
    assert len(tails.since(shed.id, noon.timestamp())) == 60


def test_what_nobody_asks_for_is_let_go(store: Store, shed: Sensor, noon: datetime) -> None:
    """Not what this look asked for, unless that too has to go."""
    store.readings.add(shed.id, [_reading(noon + n * STEP, n) for n in range(100)])
    tails, late_s = Tails(store.readings), (noon + 90 * STEP).timestamp()
    tails.since(shed.id, noon.timestamp())
    tails.let_go(late_s)
    assert tails.held == 100
    tails.let_go(late_s, asked_for=True)
    assert tails.held == 10
    _go_on(tails, store)
    assert len(tails.since(shed.id, noon.timestamp())) == 100
    _go_on(tails, store)
    tails.let_go(late_s)
    assert (len(tails), tails.held) == (1, 10)


def test_each_late_change_is_told_once(store: Store, shed: Sensor, noon: datetime) -> None:
    news = LateNews(store.readings.late_changes)
    store.readings.add(shed.id, [_reading(noon + STEP, 1)])
    news.take()
    assert news.take() == ()
    store.readings.add(shed.id, [_reading(noon, 0)])
    (told,) = news.take()
    assert (told.sensor_id, told.since) == (shed.id, noon)
    assert news.take() == ()


Events = st.lists(
    st.tuples(st.sampled_from(["add", "late", "look", "let go"]), st.integers(0, 200)),
    min_size=1,
    max_size=30,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(events=Events)
def test_whatever_happens_between_the_looks(
    store: Store, shed: Sensor, noon: datetime, events: list[tuple[str, int]]
) -> None:
    """Asked at any time from any moment on, kept readings are those in store."""
    begun = max((r.at for r in store.readings.newest().values()), default=noon) + STEP
    tails, news, latest = Tails(store.readings), LateNews(store.readings.late_changes), 0
    for what, number in events:
        moment = begun + number * STEP
        if what == "add":
            new = [_reading(begun + n * STEP, n) for n in range(latest + 1, latest + 1 + number)]
            store.readings.add(shed.id, new)
            latest += number
        elif what == "late":
            store.readings.add(shed.id, [_reading(moment + STEP / 2, number)])
        elif what == "let go":
            tails.let_go(moment.timestamp())
        else:
            for change in news.take():
                tails.forget(change.sensor_id)
            _go_on(tails, store)
            since_s = moment.timestamp()
            kept = tails.since(shed.id, since_s).between(since_s, math.inf)
            _alike(kept, store.readings.between(shed.id, moment, None))
