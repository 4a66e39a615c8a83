"""A server that goes away, and one that isn't there yet: nothing that came in is lost."""

import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from monitor.alerts.rules import Telling
from monitor.cli.session import now_utc
from monitor.config import make_shop, open_shop
from monitor.daemon import Daemon
from monitor.records import Reading
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from monitor.store import Store
from monitor.upkeep import Upkeep
from monitor.writer import Writer
from tests.scenarios.postgres import Server, running

NOON = datetime(2026, 5, 2, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def mortal() -> Iterator[Server]:
    """A server that these tests bring down."""
    with tempfile.TemporaryDirectory(prefix="lw-", dir="/tmp") as name:
        Path(name).chmod(0o755)
        with running(Path(name) / "pg") as server:
            yield server


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + 60.0
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.05)


def upkeep_of(folder: Path, store: Store, address: str) -> Upkeep:
    make_shop(folder, zone="UTC")
    shop = replace(open_shop(folder, create=False), database=address)
    return Upkeep(shop, store, now_utc)


def test_readings_wait_for_a_server_that_went(mortal: Server, tmp_path: Path) -> None:
    """Brought down without an orderly end in the middle; told, kept on the disk, stored after."""
    address = mortal.url(mortal.new_database())
    with Store.on_server(address, "shed") as store:
        upkeep = upkeep_of(tmp_path / "shop", store, address)
        sensor = store.book.add_sensor("shed", "none")
        writer = Writer(store, None, upkeep)
        writer.start()
        for number in range(300):
            if number == 100:
                wait_for(lambda: store.readings.count(sensor.id) == 100)
                mortal.stop("immediate")
            if number == 200:
                wait_for(upkeep.waiting.path.exists)
                ((what, remedy),) = store.health.troubles()
                assert "wait in the shop folder" in what
                assert remedy
                mortal.start()
            writer.put(sensor.id, Reading(NOON + timedelta(seconds=number), 20.0, 50.0))
        wait_for(lambda: not upkeep.waiting.path.exists() and not store.health.troubles())
        writer.stop()
        assert store.readings.count(sensor.id) == 300
        assert writer.lost == 0


def test_a_watch_begins_without_its_server(mortal: Server, tmp_path: Path) -> None:
    """It reads the sensors it read last, keeps what they say, and stores it when the server is up.

    What it can't make before, the tables, is made then.
    """
    address = mortal.url(mortal.new_database())
    with SimulatedPort() as port:
        with Store.on_server(address, "shed") as store:
            sensor = store.book.add_sensor("shed", port.device)
            store.book.add_sensor("none-of-ours", "/dev/ttyNOWHERE")
            store.book.correct("sensor-2", "owner", "boat", NOON)
            upkeep = upkeep_of(tmp_path / "shop", store, address)
            assert upkeep.own_sensors() == (sensor,)
        mortal.stop("fast")
        with Store.on_server(address, "shed") as store:
            upkeep = upkeep_of(tmp_path / "shop", store, address)
            daemon = Daemon(store, Telling(ZoneInfo("UTC"), "c"), clock=now_utc, upkeep=upkeep)
            daemon.start()
            try:
                wait_for(lambda: any(status.connected_since for status in daemon.statuses))
                for number in range(20):
                    assert port.say(xdr_sentence(15.0 + number / 10, 60.0))
                wait_for(upkeep.waiting.path.exists)
                mortal.start()
                wait_for(lambda: not upkeep.waiting.path.exists())
            finally:
                daemon.stop()
            assert store.readings.count(sensor.id) == 20
