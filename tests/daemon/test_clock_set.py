"""The host's clock is set while it runs: noticed, readings moved along, old times kept."""

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from monitor.errors import StoreError
from monitor.records import Reading, SuspectKind
from monitor.sensing.clock_steps import REMEMBERED, ClockWatch, Stamped
from monitor.sensing.stamps import Stamps
from monitor.store.suspects import SuspectEntries
from monitor.trust.watch import look_over
from monitor.writer import Writer
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand, open_demo_shop

NOON = datetime(2026, 5, 2, 12, tzinfo=UTC)


def test_a_clock_that_runs_is_not_set() -> None:
    """Neither by its small corrections, nor by hours of sleep."""
    watch = ClockWatch()
    times = [(0, 0), (10, 10), (11.5, 11), (7211.5, 7211), (7200, 7220)]
    assert [watch.step(NOON + timedelta(seconds=w), s) for w, s in times] == [None] * 5


@pytest.mark.parametrize("by", [timedelta(hours=3), -timedelta(minutes=7)])
def test_a_clock_that_is_set(by: timedelta) -> None:
    """On or back, told once."""
    watch = ClockWatch()
    watch.step(NOON, 0.0)
    assert watch.step(NOON + by + timedelta(seconds=5), 5.0) == by
    assert watch.step(NOON + by + timedelta(seconds=9), 9.0) is None


def test_what_was_stamped_is_remembered_up_to_a_bound() -> None:
    """The latest of it, and moved as a whole."""
    stamped = Stamped()
    for first in range(0, 2 * REMEMBERED, 1_000):
        stamped.add(range(first, first + 1_000))
        assert len(stamped.times_us) <= 1.25 * REMEMBERED
    assert stamped.times_us[-1] == 2 * REMEMBERED - 1
    assert len(stamped.times_us) >= REMEMBERED
    stamped.move(-7)
    assert stamped.times_us[-1] == 2 * REMEMBERED - 8


class Host:
    """A clock that can be set, and one that can't."""

    def __init__(self) -> None:
        self.wall, self.steady = NOON, 100.0

    def goes_on(self, seconds: float) -> None:
        self.wall += timedelta(seconds=seconds)
        self.steady += seconds

    def say(self, writer: Writer, sensor_id: int, count: int) -> None:
        for n in range(count):
            writer.put(sensor_id, Reading(self.wall, 20.0 + n / 10, 50.0))
            self.goes_on(60.0)


@pytest.mark.parametrize("by", [timedelta(hours=3), timedelta(minutes=5), -timedelta(minutes=10)])
def test_what_came_before_is_moved_along(shop: ShopAtHand, by: timedelta) -> None:
    """In order and complete, with a correction that keeps the old times; others' stay put."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    older = Reading(NOON + timedelta(seconds=30), 15.0, 50.0)
    shop.store.readings.add(sensor.id, [older])
    host = Host()
    writer = Writer(shop.store, (lambda: host.wall, lambda: host.steady))
    host.say(writer, sensor.id, 30)
    host.wall += by
    host.say(writer, sensor.id, 30)
    writer.start()
    writer.stop()
    got = shop.store.readings.between(sensor.id, None, None)
    ours = got.temperature_c > 15.0
    start_s = (NOON + by).timestamp()
    assert got.time_s[ours].tolist() == [start_s + 60.0 * n for n in range(60)]
    assert got.temperature_c[ours].tolist() == pytest.approx([*np.arange(20, 23, 0.1)] * 2)
    assert got.time_s[~ours].tolist() == [older.at.timestamp()]
    (kept,) = shop.store.book.corrections(f"sensor-{sensor.id}")
    assert kept.field == "clock"
    assert str(kept.old_value).startswith("2026-05-02T12:00:00")
    hours = shop.store.readings.rollups(sensor.id, None, None, "hour")
    assert int(hours.n_all.sum()) == 61
    look_over(shop.store, sensor, host.wall)
    (span,) = [s for s in shop.store.suspects.spans() if s.kind is SuspectKind.CLOCK_SET]
    assert span.since == NOON + by


def test_a_database_that_refuses_in_the_middle_moves_nobody_twice(
    shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two sensors; the second one's move fails once and is tried again."""
    ids = [shop.store.book.add_sensor(name, f"/dev/{name}").id for name in ("shed", "boat")]
    host = Host()
    writer = Writer(shop.store, (lambda: host.wall, lambda: host.steady))
    for sensor_id in ids:
        host.say(writer, sensor_id, 3)
    began = host.wall
    host.wall += timedelta(hours=3)
    host.say(writer, ids[0], 1)
    restamp, calls = SuspectEntries.restamp, []

    def refusing(self: SuspectEntries, sensor_id: int, *rest) -> None:
        calls.append(sensor_id)
        if len(calls) == 2:
            raise StoreError("The disk is full.", "Make room; what came in is held.")
        restamp(self, sensor_id, *rest)

    monkeypatch.setattr("monitor.writer.RETRY_S", 0.01)
    monkeypatch.setattr(SuspectEntries, "restamp", refusing)
    writer.start()
    end = time.monotonic() + 30.0
    while shop.store.readings.count(ids[0]) < 4:
        assert time.monotonic() < end, "it was not stored"
        time.sleep(0.02)
    writer.stop()
    assert len(calls) == 3
    firsts = [shop.store.readings.first_at(sensor_id) for sensor_id in ids]
    assert firsts == [NOON + timedelta(hours=3), NOON + timedelta(hours=3, minutes=3)]
    assert began == NOON + timedelta(minutes=6)


def test_without_a_second_clock_nothing_is_moved(shop: ShopAtHand) -> None:
    """A made-up clock may leap as it likes."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    host = Host()
    writer = Writer(shop.store)
    host.say(writer, sensor.id, 3)
    host.wall += timedelta(hours=3)
    host.say(writer, sensor.id, 3)
    writer.start()
    writer.stop()
    got = shop.store.readings.between(sensor.id, None, None)
    assert float(got.time_s[0]) == NOON.timestamp()
    assert len(got) == 6


@pytest.mark.parametrize("night", ["2026-03-29T00:00:00Z", "2026-10-25T00:00:00Z"])
def test_a_clock_change_neither_makes_nor_loses_an_hour(tmp_path: Path, night: str) -> None:
    """Three hours at 20 °C over a base of 5 °C are 45 degree-hours in either night."""
    shop = open_demo_shop(tmp_path / "shop", zone="Europe/Berlin")
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    host = Host()
    host.wall = at(night)
    writer = Writer(shop.store, (lambda: host.wall, lambda: host.steady))
    for _ in range(3 * 60 + 1):
        writer.put(sensor.id, Reading(host.wall, 20.0, 50.0))
        host.goes_on(60.0)
    writer.start()
    writer.stop()
    shop.lay_up(1, "P1", at(night))
    shop.put("1", "shed", at(night))
    now = at(night) + timedelta(hours=3)
    told = shop.look(1, now).batches[0].worked.assessment
    assert told.count.middle == pytest.approx(45.0)
    assert told.gaps == ()
    assert shop.store.book.corrections(f"sensor-{sensor.id}") == ()
    shop.store.close()


def test_a_leap_second_keeps_order_and_spacing(shop: ShopAtHand) -> None:
    """The machine's clock says 23:59:59 twice (POSIX has no 23:59:60); nothing is moved."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    host = Host()
    host.wall = at("2026-12-31T23:59:50Z")
    stamps = Stamps(lambda: host.wall)
    writer = Writer(shop.store, (lambda: host.wall, lambda: host.steady))
    for number in range(50):
        writer.put(sensor.id, Reading(stamps.block(), 20.0, 50.0, raw=f"{number}"))
        host.goes_on(0.4)
        if number == 25:
            host.wall -= timedelta(seconds=1)
    writer.start()
    writer.stop()
    got = shop.store.readings.between(sensor.id, None, None)
    assert len(got) == 50
    apart_s = np.diff(got.time_s)
    assert (apart_s > 0.0).all()
    assert (np.abs(apart_s - 0.4) < 1e-5).sum() >= 46
    assert apart_s.max() < 0.4 + 1e-5
    assert shop.store.book.corrections(f"sensor-{sensor.id}") == ()
