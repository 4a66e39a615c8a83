"""A server that goes away, and one that isn't there yet: nothing that came in is lost."""

import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import httpx
import pytest

from monitor.alerts.rules import Telling
from monitor.cli.session import now_utc
from monitor.config import make_shop, open_shop
from monitor.daemon import Daemon
from monitor.records import Leave, Reading
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.simulated import SimulatedPort
from monitor.store import Store
from monitor.upkeep import Upkeep
from monitor.writer import Writer
from tests.cli.process import PROGRAM, read_until, started
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


def test_the_pages_begin_without_their_server_too(mortal: Server, tmp_path: Path) -> None:
    """For phones as well, which can't sign in before it is back; nobody is let in meanwhile.

    Which bench reads a sensor is said where there are several.
    """
    address = mortal.url(mortal.new_database())
    folder = tmp_path / "shop"
    make_shop(folder, zone="UTC")
    told = (folder / "shop.toml").read_text()
    (folder / "shop.toml").write_text(f'database = "{address}"\nbench = "shed"\n{told}')
    with SimulatedPort() as port:
        with Store.on_server(address, "shed") as store:
            store.book.add_sensor("loft", port.device)
            store.door.set_passcode(Leave.LOOK, "tide table nine", NOON)
        listed = subprocess.run(
            [*PROGRAM, "--shop", str(folder), "sensor", "list"],
            capture_output=True,
            text=True,
            check=True,
        )
        assert listed.stdout == f"loft at {port.device} of bench shed: never heard.\n"
        mortal.stop("fast")
        with started("--shop", str(folder), "run", "--lan", "--port", "0") as run:
            at = read_until(run, r"http://127\.0\.0\.1:\d+/")[0]
            read_until(run, "Watching")
            assert httpx.get(f"{at}alive").status_code == 204
            assert httpx.get(at).status_code == 503
            name = socket.gethostname()
            headers = {"Host": name, "Accept": "text/html"}
            assert httpx.get(at, headers=headers).status_code in (303, 503)
            mortal.start()
            wait_for(lambda: httpx.get(at).status_code == 200)
            run.terminate()
            printed = run.communicate(timeout=30)[0]
    assert "Traceback" not in printed
