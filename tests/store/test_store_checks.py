"""Checks: kept with both numbers, put to use when readings are read out, raw values untouched."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from monitor.records import Batch, Channel, Nearness, Reading, Sensor
from monitor.store import Store


def hear(store: Store, sensor: Sensor, noon: datetime, hours: int = 4) -> None:
    store.readings.add(
        sensor.id,
        [Reading(noon + timedelta(minutes=10 * n), 20.0, 80.0, 15.0) for n in range(6 * hours)],
    )


def salt(store: Store, sensor: Sensor, at: datetime, read_pct: float, true_pct: float) -> None:
    store.checks.add(
        sensor.id, "some salt", Channel.AIR, at, 20.0, humidity_pct=(read_pct, true_pct)
    )


def test_one_salt_makes_an_offset_from_then_on(store: Store, shed: Sensor, noon: datetime) -> None:
    """Before the check nothing changes, and what is stored never does."""
    hear(store, shed, noon)
    salt(store, shed, noon + timedelta(hours=2), 73.0, 75.5)
    got = store.readings.between(shed.id, None, None)
    assert got.humidity_pct.tolist() == [80.0] * 12 + [82.5] * 12
    assert set(got.temperature_c) == {20.0}
    raw = store.readings.between(shed.id, None, None, as_read=True)
    assert set(raw.humidity_pct) == {80.0}
    hours = store.readings.rollups(shed.id, None, None, "hour").humidity_pct
    assert hours.mean.tolist() == hours.max.tolist() == [80.0, 80.0, 82.5, 82.5]
    latest = store.readings.latest(shed.id)
    assert latest is not None
    assert latest.humidity_pct == store.readings.newest()[shed.id].humidity_pct == 82.5


def test_two_salts_make_a_slope(store: Store, shed: Sensor, noon: datetime) -> None:
    """Both of their points come out true."""
    salt(store, shed, noon - timedelta(days=2), 73.0, 75.5)
    salt(store, shed, noon - timedelta(days=1), 93.0, 97.6)
    points = [(0, 73.0), (1, 93.0), (2, 83.0), (3, 99.0)]
    store.readings.add(
        shed.id, [Reading(noon + timedelta(minutes=n), 20.0, read) for n, read in points]
    )
    got = store.readings.between(shed.id, None, None).humidity_pct
    np.testing.assert_allclose(got, [75.5, 97.6, 86.55, 100.0])


@pytest.mark.parametrize("days", [31, 400])
def test_an_old_salt_is_no_second_point(
    store: Store, shed: Sensor, noon: datetime, days: int
) -> None:
    """The newest alone decides."""
    salt(store, shed, noon - timedelta(days=days), 93.0, 97.6)
    salt(store, shed, noon, 74.5, 75.5)
    hear(store, shed, noon)
    assert set(store.readings.between(shed.id, None, None).humidity_pct) == {81.0}


def test_the_same_salt_again_replaces_the_first(store: Store, shed: Sensor, noon: datetime) -> None:
    """Two readings of one point make no slope."""
    salt(store, shed, noon - timedelta(days=2), 73.0, 75.5)
    salt(store, shed, noon - timedelta(days=1), 74.0, 75.4)
    hear(store, shed, noon)
    got = store.readings.between(shed.id, None, None).humidity_pct
    np.testing.assert_allclose(got, 81.4)


@pytest.mark.parametrize("channel", list(Channel))
def test_ice_moves_its_own_channel(
    store: Store, shed: Sensor, noon: datetime, channel: Channel
) -> None:
    """The other temperature and the humidity stay."""
    store.checks.add(shed.id, "ice", channel, noon, 0.4, ice_c=(0.4, 0.0))
    hear(store, shed, noon)
    got = store.readings.between(shed.id, None, None)
    air, surface = (19.6, 15.0) if channel is Channel.AIR else (20.0, 14.6)
    assert (got.temperature_c[0], got.surface_c[0], got.humidity_pct[0]) == (air, surface, 80.0)


def test_whoever_adds_readings_up_is_told(store: Store, shed: Sensor, noon: datetime) -> None:
    """From the check on they are others."""
    salt(store, shed, noon, 73.0, 75.5)
    (change,) = store.readings.late_changes()
    assert (change.sensor_id, change.since) == (shed.id, noon)


def test_batches_since_are_counted(
    store: Store, shed: Sensor, skin_a: Batch, noon: datetime
) -> None:
    """Those of parts that stood beside it."""
    assert store.checks.jobs_since(shed.id, noon - timedelta(days=1)) == 0
    store.book.add_stay(
        skin_a.layup_id, None, shed.id, Channel.AIR, Nearness.BESIDE, noon - timedelta(hours=1)
    )
    assert store.checks.jobs_since(shed.id, noon - timedelta(days=1)) == 1
    assert store.checks.jobs_since(shed.id, noon + timedelta(days=1)) == 0
