"""Named columns and feeds in the loop: taken over while it runs, started again where they die."""

import logging
import threading
import time
from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from monitor.alerts.rules import Telling
from monitor.cli.session import now_utc
from monitor.cli.wires import ColumnsAtHand
from monitor.config import FILE, make_shop
from monitor.daemon import Daemon
from monitor.errors import HostError
from monitor.records import Reading
from monitor.sensing.feeder import Feeder
from monitor.sensing.simulated import SimulatedPort
from monitor.sensing.sources import DeliverNamed, HearNamed, SourceStatus
from monitor.wires import NO_WIRES, Columns
from monitor.wires.written import keep_columns
from tests.scenarios.shop import ShopAtHand

TELLING = Telling(ZoneInfo("UTC"), "c")


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + 30.0
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.02)


def test_columns_told_while_it_runs_are_taken_over(shop: ShopAtHand) -> None:
    """Nothing need be started anew; what was read before stays as it was."""
    columns_of = ColumnsAtHand(shop.shop.folder, NO_WIRES)
    with SimulatedPort() as port:
        sensor = shop.store.book.add_sensor("bench", port.device, "c")
        daemon = Daemon(shop.store, TELLING, clock=now_utc, columns_of=columns_of)
        daemon.start()

        def heard(temperature_c: float) -> bool:
            port.say("40.0,21.4")
            latest = shop.store.readings.latest(sensor.id)
            return latest is not None and latest.temperature_c == temperature_c

        try:
            wait_for(lambda: heard(40.0))
            keep_columns(shop.shop.folder / FILE, Columns("bench", "2", "1"))
            daemon.sweep()
            wait_for(lambda: heard(21.4))
        finally:
            daemon.stop()
    assert shop.store.readings.between(sensor.id, None, None).temperature_c[0] == 40.0


def test_a_spoilt_shop_toml_leaves_what_it_said_before(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Told once, and taken again when it was mended."""
    make_shop(tmp_path, zone="UTC")
    path = tmp_path / FILE
    columns_of = ColumnsAtHand(tmp_path, NO_WIRES)
    keep_columns(path, Columns("bench", "2", "1"))
    assert columns_of("bench") == Columns("bench", "2", "1")
    good = path.read_text(encoding="utf-8")
    path.write_text(good + "\n[[", encoding="utf-8")
    with caplog.at_level(logging.WARNING):
        assert columns_of("bench") == columns_of("bench") == Columns("bench", "2", "1")
    assert len(caplog.records) == 1
    path.write_text(good.replace('"2"', '"3"'), encoding="utf-8")
    assert columns_of("bench") == Columns("bench", "3", "1")


class Failing:
    """A feed that ends the way it is told, each time it runs."""

    name = "bus"

    def __init__(self, *ends: Exception | None) -> None:
        self._ends = list(ends)
        self.statuses = (SourceStatus("shed", "bus", error=("It is silent.", "Look at it.")),)
        self.stopped = threading.Event()

    def run(self, deliver: DeliverNamed, hear: HearNamed | None = None) -> None:
        if self._ends:
            end = self._ends.pop(0)
            if end is not None:
                raise end
            return
        deliver("shed", Reading(now_utc(), 21.4, 56.0))
        self.stopped.wait()

    def stop(self) -> None:
        self.stopped.set()


def test_a_feed_that_ends_is_started_again_and_told_once(
    caplog: pytest.LogCaptureFixture,
) -> None:
    """One that can't run says why a single time; its readings come under the book's number."""
    got: list[tuple[int, float | None]] = []
    why = HostError("No library.", "Install it.")
    feed = Failing(why, why, None)
    feeder = Feeder(feed, {"shed": 7}, lambda number, r: got.append((number, r.temperature_c)))
    with caplog.at_level(logging.INFO, "layupwatch"):
        feeder.start()
        for _ in range(3):
            feeder.join()
            feeder.tend()
        wait_for(lambda: got)
        feeder.tend()
    feeder.stop()
    feeder.join()
    assert got == [(7, 21.4)]
    said = [record.getMessage() for record in caplog.records]
    assert said.count("bus: No library. Install it.") == 1
    assert said.count("Sensor shed: It is silent. Look at it.") == 1
