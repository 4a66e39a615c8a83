"""The loop: collects from real pseudo-terminals, holds what can't be stored, stops clean."""

import threading
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from monitor.alerts.rules import Telling
from monitor.cli.session import now_utc
from monitor.daemon import Daemon
from monitor.errors import StoreError
from monitor.records import Alert, Reading
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from monitor.store.readings import ReadingTable
from monitor.writer import Writer
from tests.scenarios import at, series, story
from tests.scenarios.shop import ShopAtHand

TELLING = Telling(ZoneInfo("UTC"), "c")
PATIENCE_S = 30.0


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.02)


def reading(minute: int) -> Reading:
    return Reading(datetime(2026, 5, 2, tzinfo=UTC) + timedelta(minutes=minute), 20.0, 50.0)


def test_two_sensors_and_one_that_comes_later(shop: ShopAtHand) -> None:
    """Each port has its thread; a sensor added while it runs is picked up; all is stored."""
    names = ("shed", "boat", "late")
    ports = {name: SimulatedPort() for name in names}
    threads = threading.active_count()
    daemon = Daemon(shop.store, TELLING, clock=now_utc)
    ids = {name: shop.store.book.add_sensor(name, ports[name].device).id for name in names[:2]}
    daemon.start()
    try:
        wait_for(lambda: all(status.connected_since for status in daemon.statuses))
        ids["late"] = shop.store.book.add_sensor("late", ports["late"].device).id
        daemon.sweep()
        wait_for(lambda: len([s for s in daemon.statuses if s.connected_since]) == 3)
        for i in range(50):
            for port in ports.values():
                assert port.say(xdr_sentence(15.0 + i / 10, 60.0))
        wait_for(lambda: all(shop.store.readings.count(id) == 50 for id in ids.values()))
    finally:
        daemon.stop()
        for port in ports.values():
            port.unplug()
    assert threading.active_count() == threads


def test_stopping_stores_what_has_come_in(shop: ShopAtHand) -> None:
    """Readings handed over a moment before the end are stored."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    writer = Writer(shop.store)
    writer.start()
    for minute in range(500):
        writer.put(sensor.id, reading(minute))
    writer.stop()
    assert shop.store.readings.count(sensor.id) == 500


def test_a_database_that_refuses_for_a_while(
    shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What can't be stored is held, told, and stored once it can be."""
    sensor = shop.store.book.add_sensor("shed", "/dev/nowhere")
    add, tries = ReadingTable.add, []

    def refusing(self: ReadingTable, sensor_id: int, readings: Sequence[Reading]) -> int:
        tries.append(len(readings))
        if len(tries) < 3:
            raise StoreError("The disk is full.", "Make room; what came in is held.")
        return add(self, sensor_id, readings)

    monkeypatch.setattr("monitor.writer.RETRY_S", 0.01)
    monkeypatch.setattr(ReadingTable, "add", refusing)
    writer = Writer(shop.store)
    writer.start()
    for minute in range(10):
        writer.put(sensor.id, reading(minute))
    wait_for(lambda: shop.store.readings.count(sensor.id) == 10)
    wait_for(lambda: writer.trouble is None)
    writer.stop()
    assert len(tries) >= 3
    assert writer.lost == 0


def test_more_than_can_be_held_is_counted(
    shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full buffer loses the newest, and says how many."""
    monkeypatch.setattr("monitor.writer.HELD_READINGS", 5)
    writer = Writer(shop.store)
    for minute in range(8):
        writer.put(1, reading(minute))
    assert writer.lost == 3


def test_a_port_that_is_not_there_does_not_stop_the_rest(shop: ShopAtHand) -> None:
    """One sensor missing: it is said, the other collects, and stopping is as quick."""
    with SimulatedPort() as port:
        gone = shop.store.book.add_sensor("gone", "/dev/ttyNOWHERE")
        here = shop.store.book.add_sensor("here", port.device)
        daemon = Daemon(shop.store, TELLING, clock=now_utc)
        daemon.start()
        try:
            wait_for(lambda: any(status.error for status in daemon.statuses))
            wait_for(lambda: any(status.connected_since for status in daemon.statuses))
            assert port.say(xdr_sentence(18.0, 60.0))
            wait_for(lambda: shop.store.readings.count(here.id) == 1)
        finally:
            daemon.stop()
        assert shop.store.readings.count(gone.id) == 0


def test_a_look_settles_what_is_due(shop: ShopAtHand) -> None:
    """The look that the schedule takes raises an alert in the store and sends it once."""
    shop.hear("shed", series("A2"))
    mixed = at(story("A2")["mixed_at"])
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    sent: list[Alert] = []

    class Kept:
        name = "kept"

        def send(self, alert: Alert) -> None:
            sent.append(alert)

        def withdraw(self, alert: Alert) -> None:
            raise AssertionError(alert)

    now = at("2026-05-02T20:00:00Z")
    daemon = Daemon(shop.store, TELLING, clock=lambda: now, channels=(Kept(),))
    daemon.look()
    daemon.look()
    assert [alert.rule for alert in sent] == ["out-of-range"]
    assert [alert.rule for alert in shop.store.alerts.open()] == ["out-of-range"]
