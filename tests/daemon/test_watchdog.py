"""What dies is started again; what hangs is no longer said to be alive."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from monitor.alerts.rules import Telling
from monitor.config import make_shop
from monitor.daemon import LOOK_STUCK_S, WRITER_STUCK_S, Daemon, Pulse
from monitor.records import Reading
from monitor.writer import Writer
from tests.scenarios.shop import ShopAtHand

NOW = datetime(2026, 5, 2, 8, tzinfo=UTC)


def wait_for(happened: Callable[[], object]) -> None:
    for _ in range(500):
        if happened():
            return
        time.sleep(0.01)
    raise AssertionError("it did not happen within five seconds")


def test_a_pulse_is_a_count_that_moves() -> None:
    """Within its patience, counted from the last change; the first look begins it."""
    pulse = Pulse(10.0)
    assert pulse.moved(3, 100.0)
    assert pulse.moved(3, 110.0)
    assert not pulse.moved(3, 110.1)
    assert pulse.moved(4, 200.0)
    assert pulse.moved(4, 209.0)


@pytest.fixture
def daemon(shop: ShopAtHand) -> Daemon:
    return Daemon(shop.store, Telling(ZoneInfo("UTC"), "c"), clock=lambda: NOW, look_every_s=3600.0)


def test_a_watch_that_goes_on_is_alive(daemon: Daemon) -> None:
    """It stores and looks; a look that is slow is not a hang for long."""
    daemon.start()
    try:
        assert daemon.alive(0.0)
        wait_for(lambda: daemon.alive(WRITER_STUCK_S * 3))
        daemon.look()
        wait_for(lambda: daemon.alive(LOOK_STUCK_S - 1.0))
    finally:
        daemon.stop()


def test_a_look_that_hangs_is_not_alive(daemon: Daemon) -> None:
    """Nothing looked for ten minutes."""
    daemon.start()
    try:
        assert daemon.alive(0.0)
        time.sleep(0.3)
        assert not daemon.alive(LOOK_STUCK_S + 1.0)
    finally:
        daemon.stop()


def test_a_store_that_hangs_is_not_alive(
    daemon: Daemon, shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A write that never comes back for a minute."""
    beside = shop.store.book.add_sensor("shed", "none")
    hanging, go_on = threading.Event(), threading.Event()

    def hang(*_given: object) -> int:
        hanging.set()
        go_on.wait(10.0)
        return 0

    daemon.start()
    monkeypatch.setattr(shop.store.readings, "add", hang)
    daemon._writer.put(beside.id, Reading(NOW, 20.0, 50.0))
    try:
        assert hanging.wait(5.0)
        assert daemon.alive(0.0)
        assert not daemon.alive(WRITER_STUCK_S + 1.0)
    finally:
        go_on.set()
        daemon.stop()


def test_what_dies_is_started_again(
    shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """A fault that nobody foresaw ends the writer's thread; the next reading is stored anyway."""
    beside = shop.store.book.add_sensor("shed", "none")
    writer = Writer(shop.store)
    real, faults = shop.store.readings.add, iter([RuntimeError("nobody foresaw this")])

    def add(*given: object) -> int:
        for fault in faults:
            raise fault
        return real(*given)

    died = threading.Event()
    monkeypatch.setattr(threading, "excepthook", lambda _fault: died.set())
    monkeypatch.setattr(shop.store.readings, "add", add)
    writer.start()
    writer.kept_going()
    writer.put(beside.id, Reading(NOW, 20.0, 50.0))
    assert died.wait(5.0)
    wait_for(lambda: not writer._thread.is_alive())
    writer.kept_going()
    wait_for(lambda: shop.store.readings.latest(beside.id) is not None)
    assert "started again" in caplog.text
    writer.stop()
    writer.kept_going()
    assert not writer._thread.is_alive()


def test_the_service_manager_is_told(tmp_path: Path) -> None:
    """By the real program: ready once it serves, alive again and again, stopping when told to."""
    make_shop(tmp_path / "shop", zone="UTC", demo=True)
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "manager"))
        manager.settimeout(20.0)
        program = [sys.executable, "-c", "from monitor.cli import main; main()"]
        watch = subprocess.Popen(
            [*program, "--shop", str(tmp_path / "shop"), "run", "--port", "0"],
            env={
                **os.environ,
                "NOTIFY_SOCKET": str(tmp_path / "manager"),
                "WATCHDOG_USEC": "400000",
            },
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        try:
            told = [manager.recv(100) for _ in range(4)]
            assert told == [b"READY=1", b"WATCHDOG=1", b"WATCHDOG=1", b"WATCHDOG=1"]
            watch.send_signal(signal.SIGTERM)
            while manager.recv(100) != b"STOPPING=1":
                pass
            assert watch.wait(10.0) == 0
        finally:
            watch.kill()
            watch.communicate()
