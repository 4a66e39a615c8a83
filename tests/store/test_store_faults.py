"""Each fault is a real one of SQLite's, brought about on a real file."""

import os
import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import event

from monitor.errors import StoreError
from monitor.records import Reading, Sensor
from monitor.store import Store


def _set(store: Store, pragma: str) -> None:
    """A setting on every connection from now on."""
    engine = store.database._engine

    def on_connect(connection: sqlite3.Connection, _record: object) -> None:
        connection.execute(f"PRAGMA {pragma}").close()

    event.listen(engine, "connect", on_connect)
    store.database.drop_connections()


def _full(store: Store, path: Path) -> None:
    _set(store, "max_page_count = 1")


def _read_only(store: Store, path: Path) -> None:
    _set(store, "query_only = ON")


def _locked(store: Store, path: Path) -> None:
    _set(store, "busy_timeout = 20")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    _HELD.append(other)


_HELD: list[sqlite3.Connection] = []


@pytest.fixture(autouse=True)
def _let_go() -> object:
    yield
    while _HELD:
        _HELD.pop().close()


@pytest.mark.parametrize(
    ("break_it", "what", "remedy"),
    [
        (_full, "disk is full", "Make room"),
        (_read_only, "not written", "right to write"),
        (_locked, "held by another program", "try again"),
    ],
)
def test_a_fault_is_told_in_two_lines(
    store: Store,
    path: Path,
    shed: Sensor,
    noon: datetime,
    break_it: Callable[[Store, Path], None],
    what: str,
    remedy: str,
) -> None:
    """By the book and by the readings alike, naming the file; what was stored can still be read."""
    readings = [
        Reading(noon + timedelta(seconds=number), 20.0, None, raw="x" * 400)
        for number in range(100)
    ]
    break_it(store, path)
    for write in (
        lambda: store.readings.add(shed.id, readings),
        lambda: store.book.keep_sheet("demo", "x" * 10_000, noon),
    ):
        with pytest.raises(StoreError) as told:
            write()
        assert told.value.exit_code == 3
        assert what in told.value.what
        assert str(path) in told.value.what
        assert remedy in told.value.remedy
    assert store.book.sensors() == (shed,)
    assert store.readings.count(shed.id) == 0


def test_it_goes_on_after_a_full_disk(
    store: Store, path: Path, shed: Sensor, noon: datetime
) -> None:
    """Once there is room the same readings are taken, whole."""
    readings = [
        Reading(noon + timedelta(seconds=number), 20.0, None, raw="x" * 400)
        for number in range(100)
    ]
    _set(store, "max_page_count = 1")
    with pytest.raises(StoreError):
        store.readings.add(shed.id, readings)
    _set(store, "max_page_count = 1000000")
    assert store.readings.add(shed.id, readings) == 100
    assert list(store.readings.rollups(shed.id, None, None, "hour").n_all) == [100]


def test_a_file_that_is_no_database(path: Path) -> None:
    """Refused as it is, not overwritten."""
    path.write_text("time,temperature_c\n" * 200)
    before = path.read_bytes()
    with pytest.raises(StoreError, match="not a database") as told:
        Store.open(path)
    assert "backup" in told.value.remedy
    assert path.read_bytes() == before


def test_a_damaged_file(path: Path, noon: datetime) -> None:
    """Pages overwritten with noise: the file opens, the reading of it is refused."""
    with Store.open(path) as store:
        sensor = store.book.add_sensor("shed", "/dev/ttyUSB0")
        readings = [
            Reading(noon + timedelta(seconds=number), 20.0, 60.0, raw="x" * 100)
            for number in range(5000)
        ]
        store.readings.add(sensor.id, readings)
    whole = path.read_bytes()
    middle = len(whole) // 8192 * 4096
    path.write_bytes(whole[:middle] + b"\xa5" * (len(whole) - middle))
    with Store.open(path) as store, pytest.raises(StoreError) as told:
        store.readings.between(sensor.id, None, None)
    assert "damaged" in told.value.what
    assert str(path) in told.value.what


def test_a_folder_in_its_place(path: Path) -> None:
    """Something that can't be opened is said, with the path."""
    path.mkdir()
    with pytest.raises(StoreError, match="can't be opened") as told:
        Store.open(path)
    assert str(path) in told.value.what


def test_two_threads_write_at_once(store: Store, shed: Sensor, noon: datetime) -> None:
    """Both get through, nothing is lost, and nobody is told that the database is locked."""
    boat = store.book.add_sensor("boat", "/dev/ttyUSB1")
    faults: list[BaseException] = []
    start = threading.Barrier(2)

    def write(sensor: Sensor) -> None:
        start.wait()
        try:
            for number in range(150):
                at = noon + timedelta(seconds=number)
                store.readings.add(sensor.id, [Reading(at, 20.0, 60.0)])
                # Reads before it writes: the pattern that SQLite won't wait for by itself.
                store.alerts.raise_alert("dew", sensor.name, at, at, (3,), "Dew.", "Cover it.")
        except StoreError as fault:
            faults.append(fault)

    threads = [threading.Thread(target=write, args=(sensor,)) for sensor in (shed, boat)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    assert [store.readings.count(sensor.id) for sensor in (shed, boat)] == [150, 150]
    assert len(store.alerts.open()) == 300


def test_two_programs_open_a_new_file_at_once(path: Path) -> None:
    """One of them makes the tables, the other waits and finds them."""
    faults: list[BaseException] = []
    start = threading.Barrier(2)

    def open_it() -> None:
        start.wait()
        try:
            Store.open(path).close()
        except StoreError as fault:
            faults.append(fault)

    threads = [threading.Thread(target=open_it) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []


WRITER = """
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from monitor.records import Reading
from monitor.store import Store

store = Store.open(Path(sys.argv[1]))
sensor = store.book.add_sensor("shed", "none")
start = datetime(2026, 5, 2, tzinfo=UTC)
number = 0
while True:
    store.readings.add(sensor.id, [Reading(start + timedelta(seconds=number), 20.0, 60.0)])
    number += 1
    print(number, flush=True)
"""


def test_what_was_said_to_be_stored_survives_a_kill(path: Path) -> None:
    """Killed in the middle of writing: every reading that was acknowledged is there, and whole."""
    root = Path(__file__).parents[2]
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)],
        stdout=subprocess.PIPE,
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    assert writer.stdout is not None
    for _ in range(200):
        acknowledged = int(writer.stdout.readline())
    writer.send_signal(signal.SIGKILL)
    acknowledged = max(
        [acknowledged, *(int(line) for line in writer.stdout if line.endswith(b"\n"))]
    )
    writer.stdout.close()
    assert writer.wait() == -signal.SIGKILL
    with Store.open(path) as store:
        sensor = store.book.sensor("shed")
        stored = store.readings.count(sensor.id)
        assert stored >= acknowledged
        assert store.readings.rollups(sensor.id, None, None, "hour").n_all.sum() == stored
        assert store.problems() == ()
