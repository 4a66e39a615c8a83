"""A sensor on a real pseudo-terminal: lines in, unplugged, found again, stopped."""

import queue
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from serial.tools.list_ports_common import ListPortInfo

from monitor.errors import PortError
from monitor.records import Reading
from monitor.sensing.line_reader import Heard
from monitor.sensing.serial_source import SerialSource
from monitor.sensing.simulated import SimulatedPort

XDR = "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44"
PATIENCE_S = 20.0


def now() -> datetime:
    return datetime.now(UTC)


def usb(device: str, serial: str = "0042") -> ListPortInfo:
    info = ListPortInfo(device)
    info.vid, info.pid, info.serial_number = 0x1A2B, 0x3C4D, serial
    return info


def wait_until(true: Callable[[], bool]) -> None:
    """Fails if it never comes true."""
    tick = threading.Event()
    for _ in range(round(PATIENCE_S / 0.01)):
        if true():
            return
        tick.wait(0.01)
    pytest.fail("it never happened")


class Listener:
    """What came out of a running source."""

    def __init__(self) -> None:
        self.readings: queue.Queue[Reading] = queue.Queue()
        self.heard: list[Heard] = []

    def next(self) -> Reading:
        return self.readings.get(timeout=PATIENCE_S)

    def next_many(self, count: int) -> list[Reading]:
        return [self.next() for _ in range(count)]


@contextmanager
def running(source: SerialSource, *, opened: bool = True) -> Iterator[Listener]:
    """The source in a thread of its own, which has ended afterwards."""
    listener = Listener()
    thread = threading.Thread(
        target=source.run, args=(listener.readings.put, listener.heard.append), daemon=True
    )
    thread.start()
    try:
        if opened:
            wait_until(lambda: source.status.connected_since is not None)
        yield listener
    finally:
        source.stop()
        thread.join(PATIENCE_S)
    assert not thread.is_alive()


def source_at(port: SimulatedPort, **more) -> SerialSource:
    return SerialSource("shed", port.device, clock=now, lister=list, **more)


def test_lines_become_readings_stamped_in_order() -> None:
    """Many lines in one write, each with its own time, none lost, none changed."""
    with SimulatedPort() as port, running(source_at(port)) as listener:
        before = now()
        port.send((XDR + "\r\n").encode() * 60)
        readings = listener.next_many(60)
        after = now()
    assert {(r.temperature_c, r.humidity_pct, r.raw) for r in readings} == {(18.4, 65.2, XDR)}
    assert all(b.at - a.at >= timedelta(microseconds=1) for a, b in pairwise(readings))
    assert before <= readings[0].at
    assert readings[-1].at <= after + timedelta(milliseconds=1)


def test_a_line_in_pieces_is_one_reading_at_the_time_of_its_end() -> None:
    """The wire brings it in whatever portions it likes."""
    with SimulatedPort() as port, running(source_at(port, format="xdr")) as listener:
        for byte in XDR.encode():
            port.send(bytes([byte]))
        ended = now()
        port.send(b"\n")
        assert listener.next().at >= ended
        assert listener.readings.empty()


def test_the_status_shows_what_was_heard_and_refused() -> None:
    """Last line as received, counts by reason, the format, and no error."""
    with SimulatedPort() as port:
        source = source_at(port)
        with running(source) as listener:
            port.send(b"\x00\x01\x02\r\n" + XDR.replace("18.4", "19.4").encode() + b"\r\n")
            port.say(XDR)
            listener.next()
            wait_until(lambda: source.status.readings == 1)
            status = source.status
    assert dict(status.rejects) == {"garbled": 1, "checksum": 1}
    assert (status.format, status.unit_stated, status.baud) == ("xdr", "c", 9600)
    assert (status.lines, status.readings, status.error) == (2, 1, None)
    assert status.last_line == XDR
    assert status.last_reject is not None
    assert status.last_reject.reason == "checksum"
    assert [heard.reason for heard in listener.heard] == ["garbled", "checksum", None]
    assert source.status.connected_since is None


def test_the_front_of_a_stream_may_be_cut() -> None:
    """`1.4,56.0` right after opening is left out; the clock that stands still makes it so."""
    at = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
    with SimulatedPort() as port:
        source = SerialSource("shed", port.device, clock=lambda: at, lister=list)
        with running(source) as listener:
            port.send(b"1.4,56.0\n21.4,56.0\n21.5,56.0\n")
            assert [r.temperature_c for r in listener.next_many(2)] == [21.4, 21.5]
    assert dict(source.status.rejects) == {"may-be-cut": 1}


def test_a_stream_that_began_after_opening_is_read_from_its_first_line() -> None:
    """A sensor of one line a minute must not lose its first minute."""
    times = iter(datetime(2026, 5, 2, 9, 0, tzinfo=UTC) + timedelta(seconds=n) for n in range(999))
    with SimulatedPort() as port:
        source = SerialSource("shed", port.device, clock=lambda: next(times), lister=list)
        with running(source) as listener:
            port.send(b"21.4,56.0\n21.5,56.0\n")
            assert [r.temperature_c for r in listener.next_many(2)] == [21.4, 21.5]


def test_an_unplugged_sensor_is_found_again_under_another_name() -> None:
    """By the USB identity learnt when it was first opened; the error is gone once it is back."""
    with SimulatedPort() as first, SimulatedPort() as second:
        plugged = [usb(first.device)]
        source = SerialSource("shed", first.device, clock=now, lister=lambda: list(plugged))
        with running(source) as listener:
            first.say(XDR)
            listener.next()
            assert source.status.identity == "usb 1a2b:3c4d serial 0042"
            plugged.clear()
            first.unplug()
            wait_until(lambda: source.status.error is not None)
            assert source.status.connected_since is None
            plugged.append(usb(second.device))
            wait_until(lambda: source.status.connected_since is not None)
            second.say(XDR)
            assert listener.next().temperature_c == 18.4
            assert source.status.port == second.device
            assert source.status.error is None
            assert source.status.readings >= 1


def test_another_device_under_the_old_name_is_left_alone() -> None:
    """Its readings are not this sensor's."""
    with SimulatedPort() as port:
        source = SerialSource(
            "shed",
            port.device,
            clock=now,
            identity="usb 1a2b:3c4d serial 0042",
            lister=lambda: [usb(port.device, "0099")],
        )
        with running(source, opened=False):
            wait_until(lambda: source.status.error is not None)
            assert source.status.connected_since is None
            assert source.status.error is not None
            assert source.status.error[0].startswith("Another device")


def test_a_port_that_is_not_there_is_waited_for(tmp_path) -> None:
    """The daemon lives on, and says in two lines what it waits for."""
    missing = str(tmp_path / "ttyUSB9")
    source = SerialSource("shed", missing, clock=now, lister=list)
    with running(source, opened=False):
        wait_until(lambda: source.status.error is not None)
    assert source.status.error is not None
    assert source.status.error[0] == f"There is no port {missing}."


def test_an_impatient_source_says_so_at_once(tmp_path) -> None:
    """For a person who is looking at what a sensor says."""
    source = SerialSource("shed", str(tmp_path / "x"), clock=now, lister=list, patient=False)
    with pytest.raises(PortError, match="There is no port"):
        source.run(lambda reading: None)


def test_a_sensor_that_babbles_without_an_ending_can_be_stopped() -> None:
    """And is counted, so that it shows."""
    with SimulatedPort() as port:
        source = source_at(port)
        with running(source):
            for _ in range(40):
                port.send(b"U" * 64)
            wait_until(lambda: dict(source.status.rejects) == {"too-long": 1})


def test_stop_wakes_a_source_that_waits_for_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Even one that would wait for ever; its thread has ended when `running` leaves."""
    monkeypatch.setattr("monitor.sensing.ports.READ_TIMEOUT_S", None)
    with SimulatedPort() as port:
        source = source_at(port)
        with running(source) as listener:
            pass
        assert listener.heard == []


def test_a_source_stopped_before_it_runs_opens_nothing() -> None:
    """Stopping early is no race."""
    with SimulatedPort() as port:
        source = source_at(port)
        source.stop()
        source.run(lambda reading: pytest.fail("it read"))
        assert source.status.connected_since is None


def test_what_deliver_raises_ends_the_run_and_frees_the_port() -> None:
    """A store that fails is not taken for a cable that failed."""

    def full(reading: Reading) -> None:
        raise OSError("disk full")

    with SimulatedPort() as port:
        source = source_at(port, format="xdr")
        raised: list[str] = []

        def run() -> None:
            with pytest.raises(OSError, match="disk full") as trouble:
                source.run(full)
            raised.append(str(trouble.value))

        thread = threading.Thread(target=run)
        thread.start()
        wait_until(lambda: source.status.connected_since is not None)
        port.say(XDR)
        thread.join(PATIENCE_S)
        assert raised == ["disk full"]
        with running(source_at(port)) as listener:
            port.say(XDR)
            assert listener.next().temperature_c == 18.4


def test_garbage_makes_it_try_the_next_baud_rate() -> None:
    """A clock that runs a second a look makes two blocks two bursts."""
    start = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
    looks = iter(range(10_000))
    with SimulatedPort() as port:
        source = SerialSource(
            "shed",
            port.device,
            clock=lambda: start + timedelta(seconds=2 * next(looks)),
            lister=list,
        )
        with running(source) as listener:
            wait_until(lambda: port.send(b"\xfe") == 1 and source.status.baud != 9600)
            assert source.status.baud in (115200, 4800, 38400, 19200)
            port.say("")
            port.say(XDR)
            assert listener.next().temperature_c == 18.4
