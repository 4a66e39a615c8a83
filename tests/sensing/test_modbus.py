"""RS-485 probes, against pymodbus's own server over a pair of pseudo-terminals."""

import contextlib
import queue
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

import minimalmodbus
import pytest
import serial
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.framer import FramerRTU

from monitor.records import Reading
from monitor.sensing.line_reader import Heard
from monitor.sensing.measured import Measured
from monitor.sensing.modbus_feed import ModbusFeed
from monitor.sensing.modbus_line import ModbusLine, NoRegisters
from monitor.sensing.modbus_probe import likely_layouts, measured, runs, signed
from monitor.wires import ModbusBus, ModbusProbe
from tests.sensing.rs485 import Cable, Probe, as_it_is, cable, serving

PATIENCE_S = 20.0
SHED = ModbusProbe("shed", 1, temperature=0, humidity=1)


def now() -> datetime:
    return datetime.now(UTC)


class Heards:
    """What came out of a running feed."""

    def __init__(self) -> None:
        self.readings: queue.Queue[tuple[str, Reading]] = queue.Queue()
        self.heard: queue.Queue[tuple[str, Heard]] = queue.Queue()

    def reading(self) -> tuple[str, float | None, float | None, float | None]:
        name, reading = self.readings.get(timeout=PATIENCE_S)
        return name, reading.temperature_c, reading.humidity_pct, reading.surface_c

    def reasons(self, count: int) -> list[str | None]:
        return [self.heard.get(timeout=PATIENCE_S)[1].reason for _ in range(count)]


@contextmanager
def polling(bus: ModbusBus) -> Iterator[tuple[ModbusFeed, Heards]]:
    feed, heards = ModbusFeed(bus, clock=now, lister=list), Heards()
    thread = threading.Thread(
        target=feed.run,
        args=(
            lambda name, reading: heards.readings.put((name, reading)),
            lambda name, heard: heards.heard.put((name, heard)),
        ),
        daemon=True,
    )
    thread.start()
    try:
        yield feed, heards
    finally:
        feed.stop()
        thread.join(PATIENCE_S)
    assert not thread.is_alive()
    assert all(status.connected_since is None for status in feed.statuses)


def bus_on(line: Cable, *probes: ModbusProbe, **more) -> ModbusBus:
    return ModbusBus(line.near, probes, every_s=more.pop("every_s", 0.2), **more)


# Frames printed in MODBUS Application Protocol Specification V1.1b3, 6.3 and 6.4, and in MODBUS
# over Serial Line V1.02, appendix B, which works the CRC of 02 07 out as 41 12 on the wire.
SPECIFIED = [
    (3, 108 - 1, 3, "03 00 6B 00 03", "03 06 02 2B 00 00 00 64", [555, 0, 100]),
    (4, 9 - 1, 1, "04 00 08 00 01", "04 02 00 0A", [10]),
]


def test_the_crc_is_the_standards() -> None:
    """And the catalogue's: CRC-16/MODBUS of the nine digits is 4B37 (G. Cook's catalogue)."""
    for data, crc in ((b"\x02\x07", b"\x41\x12"), (b"123456789", b"\x37\x4b")):
        assert minimalmodbus._calculate_crc(data) == crc
        assert FramerRTU.compute_CRC(data) == int.from_bytes(crc, "big")


@pytest.mark.parametrize(("function", "first", "count", "request_", "answer", "values"), SPECIFIED)
def test_frames_are_the_standards(
    function: int, first: int, count: int, request_: str, answer: str, values: list[int]
) -> None:
    """What goes over the wire, and what is made of the answer, byte by byte."""
    with cable() as line, ModbusPeer(line.far, bytes.fromhex("11" + answer)):
        link = ModbusLine(line.near, 9600)
        try:
            table = "holding" if function == 3 else "input"
            assert link.ask(0x11, table, first, count) == values
        finally:
            link.close()
        assert b"".join(line.asked)[:-2] == bytes.fromhex("11" + request_)


class ModbusPeer:
    """Answers whatever it is asked with one body and its CRC."""

    def __init__(self, port: str, body: bytes) -> None:
        self._port = serial.Serial(port, 9600, timeout=5)
        self._answer = body + FramerRTU.compute_CRC(body).to_bytes(2, "big")
        self._thread = threading.Thread(target=self._run, daemon=True)

    def _run(self) -> None:
        if len(self._port.read(8)) == 8:
            self._port.write(self._answer)

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(self, *raised: object) -> None:
        self._thread.join(10)
        self._port.close()


@pytest.mark.parametrize("baud", [4800, 9600])
def test_three_probes_on_one_bus(baud: int) -> None:
    """Each at its own address, with its own table, order, scale and unit; one below zero."""
    probes = (
        SHED,
        ModbusProbe("tent", 7, "input", temperature=1, humidity=0, times=0.01, humidity_times=0.01),
        ModbusProbe("hull", 12, surface=4, temperature=2, humidity=3, unit="f"),
    )
    peers = (
        Probe(1, {0: 0xFF9F, 1: 652}),
        Probe(7, {0: 1, 1: 1}, {0: 5600, 1: 2140}),
        Probe(12, {2: 705, 3: 560, 4: 320}),
    )
    with (
        cable() as line,
        serving(line.far, *peers, baud=baud),
        polling(bus_on(line, *probes, baud=baud)) as (feed, heards),
    ):
        read = [heards.reading() for _ in range(6)]
    assert (
        read[:3]
        == read[3:]
        == [
            ("shed", -9.7, 65.2, None),
            ("tent", 21.4, 56.0, None),
            ("hull", pytest.approx(21.39, abs=0.01), 56.0, 0.0),
        ]
    )
    assert {status.baud for status in feed.statuses} == {baud}
    assert all(status.readings >= 2 and status.error is None for status in feed.statuses)


def test_requests_keep_their_pause() -> None:
    """At least 200 ms lie between any two, of whichever probe; asked by one thread alone."""
    probes = (SHED, replace(SHED, sensor="tent", address=2))
    with cable() as line, serving(line.far, Probe(1, {0: 1, 1: 1}), Probe(2, {0: 1, 1: 1})):
        times: list[float] = []
        ask = ModbusLine.ask

        def timed(self, *args):
            times.append(now().timestamp())
            return ask(self, *args)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(ModbusLine, "ask", timed)
            with polling(bus_on(line, *probes)) as (_, heards):
                for _ in range(6):
                    heards.reading()
    assert min(later - earlier for earlier, later in pairwise(times)) >= 0.2


def test_silence_is_a_gap_and_is_told_after_three_rounds() -> None:
    """The other probe is read on; what to look at is said; it clears once it is heard again."""
    quiet = Probe(2, {0: 200, 1: 500})
    quiet.silent = True
    probes = (SHED, replace(SHED, sensor="tent", address=2))
    with (
        cable() as line,
        serving(line.far, Probe(1, {0: 214, 1: 560}), quiet),
        polling(bus_on(line, *probes)) as (feed, heards),
    ):
        assert [heards.reading()[0] for _ in range(4)] == ["shed"] * 4
        shed, tent = feed.statuses
        assert (shed.error, tent.readings) == (None, 0)
        assert dict(tent.rejects)["no-answer"] >= 3
        assert tent.error is not None
        assert "address 2" in tent.error[0]
        assert "doesn't answer" in tent.error[0]
        quiet.silent = False
        while heards.reading()[0] != "tent":
            pass
        assert feed.statuses[1].error is None


def test_a_refused_register_is_told_as_such() -> None:
    """Exception reply 2: no reading, no second try, no other register taken instead."""
    probe = replace(SHED, temperature=40, humidity=41)
    with (
        cable() as line,
        serving(line.far, Probe(1, {0: 214, 1: 560})),
        polling(bus_on(line, probe)) as (feed, heards),
    ):
        assert heards.reasons(3) == ["refused-register"] * 3
        error = feed.statuses[0].error
        assert heards.readings.empty()
    assert error is not None
    assert "registers" in error[0]


def test_a_damaged_answer_is_asked_for_again_and_never_believed() -> None:
    """One bit off: the second try of the same round brings it; off every time, there is none."""
    spoilt: list[int] = []

    def once(data: bytes) -> bytes:
        spoilt.append(len(data))
        return _bit_off(data) if len(spoilt) == 1 else data

    with cable() as line, serving(line.far, Probe(1, {0: 214, 1: 560})):
        line.spoil = once
        with polling(bus_on(line, SHED)) as (feed, heards):
            assert heards.reading() == ("shed", 21.4, 56.0, None)
            assert spoilt[0] > 0
            line.spoil = _bit_off
            while heards.reasons(1) != ["checksum"]:
                pass
            while not heards.readings.empty():
                assert heards.reading() == ("shed", 21.4, 56.0, None)
            assert heards.reasons(2) == ["checksum"] * 2
            line.spoil = as_it_is
            assert heards.reading() == ("shed", 21.4, 56.0, None)
        assert feed.statuses[0].error is None


def _bit_off(data: bytes) -> bytes:
    return data[:3] + bytes([data[3] ^ 0x10]) + data[4:] if len(data) > 4 else data


@pytest.mark.parametrize("junk", [b"\x00", b"\xff\xfe", b"U" * 40, b"21.4,56.0\r\n"])
def test_noise_around_answers_makes_no_reading_of_its_own(junk: bytes) -> None:
    """Bytes in front, behind, or half an answer: a gap at most, and right again after it."""
    ways = (lambda d: junk + d, lambda d: d + junk, lambda d: d[:5], lambda d: b"")
    with cable() as line, serving(line.far, Probe(1, {0: 214, 1: 560})):
        link = ModbusLine(line.near, 9600, answer_s=0.2)
        try:
            for way in ways:
                line.spoil = way
                assert _answer(link) in {(214, 560), "checksum", "no-answer"}
                line.spoil = as_it_is
                # What was late is thrown away before the next request.
                threading.Event().wait(0.1)
                assert _answer(link) == (214, 560)
        finally:
            link.close()


def _answer(link: ModbusLine) -> tuple[int, ...] | str:
    try:
        return tuple(link.ask(1, "holding", 0, 2))
    except NoRegisters as none:
        return none.reason


def test_a_late_answer_is_not_taken_for_another_registers() -> None:
    """Of two stretches the second comes late, once, and would fit the next question by looks."""
    probe = replace(SHED, temperature=0, humidity=5)
    with (
        cable() as line,
        Slow(line.far, {0: 214, 5: 560}),
        polling(bus_on(line, probe)) as (_, got),
    ):
        assert [got.reading() for _ in range(3)] == [("shed", 21.4, 56.0, None)] * 3


class Slow:
    """Answers one register at a time; the first question for register 5 after most of a second."""

    def __init__(self, port: str, registers: dict[int, int]) -> None:
        self._port = serial.Serial(port, 9600, timeout=0.1)
        self._registers, self._done = registers, threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def _run(self) -> None:
        waits_s = [0.8]
        while not self._done.is_set():
            asked = self._port.read(8)
            if len(asked) == 8:
                number = int.from_bytes(asked[2:4], "big")
                if number == 5 and waits_s:
                    self._done.wait(waits_s.pop())
                body = b"\x01\x03\x02" + self._registers[number].to_bytes(2, "big")
                self._port.write(body + FramerRTU.compute_CRC(body).to_bytes(2, "big"))

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(self, *raised: object) -> None:
        self._done.set()
        self._thread.join(10)
        self._port.close()


def test_a_bus_that_is_unplugged_is_waited_for() -> None:
    """The stick pulled and put back: told, and read on by itself."""
    with polling_on_link() as (link, feed, heards):
        assert heards.reading()[0] == "shed"
        link.pull()
        while feed.statuses[0].error is None:
            threading.Event().wait(0.01)
        assert "went away" in feed.statuses[0].error[0] or "no port" in feed.statuses[0].error[0]
        link.plug()
        while not heards.readings.empty():
            heards.readings.get()
        assert heards.reading() == ("shed", 21.4, 56.0, None)


@contextmanager
def polling_on_link() -> Iterator[tuple["Link", ModbusFeed, Heards]]:
    with Link() as link, polling(ModbusBus(link.path, (SHED,), every_s=0.2)) as (feed, heards):
        yield link, feed, heards


class Link:
    """A name that leads to a cable with a probe, or to nothing."""

    def __enter__(self) -> "Link":
        self._folder = tempfile.TemporaryDirectory()
        self.path = f"{self._folder.name}/ttyUSB0"
        self.plug()
        return self

    def plug(self) -> None:
        self._inside = contextlib.ExitStack()
        line = self._inside.enter_context(cable())
        self._inside.enter_context(serving(line.far, Probe(1, {0: 214, 1: 560})))
        Path(self.path).symlink_to(line.near)

    def pull(self) -> None:
        Path(self.path).unlink()
        self._inside.close()

    def __exit__(self, *raised: object) -> None:
        self.pull()
        self._folder.cleanup()


@pytest.mark.parametrize(
    ("register", "number"), [(0xFF9F, -97), (0, 0), (0x7FFF, 32767), (0x8000, -32768)]
)
def test_registers_are_signed(register: int, number: int) -> None:
    """-9.7 °C is FF9F; taken unsigned it would be 6543.9."""
    assert signed(register) == number


@given(st.integers(-400, 600), st.integers(0, 1000))
def test_tenths_come_back_as_they_went_in(air: int, humidity: int) -> None:
    """Over the whole range of such probes, to the tenth."""
    registers = {0: air & 0xFFFF, 1: humidity}
    assert measured(SHED, registers) == Measured(air / 10, humidity / 10, None, "c")


def test_all_bits_set_is_a_lost_sensor_and_not_frost() -> None:
    """FFFF in every register is a fault code; alone beside a true humidity it is -0.1 °C."""
    assert measured(SHED, {0: 0xFFFF, 1: 0xFFFF}) == Measured(6553.5, 6553.5, None, "c")
    assert measured(SHED, {0: 0xFFFF, 1: 560}) == Measured(-0.1, 56.0, None, "c")
    assert measured(SHED, {0: 214, 1: 0xFFFF}) == Measured(21.4, 6553.5, None, "c")


def test_only_neighbours_are_asked_for_together() -> None:
    """A probe may refuse a stretch with a register it doesn't have."""
    assert runs(SHED) == ((0, 2),)
    assert runs(replace(SHED, temperature=5, humidity=2, surface=3)) == ((2, 2), (5, 1))


def test_layouts_are_guessed_the_likeliest_first() -> None:
    """Both orders where both can be; a humidity that no air has is no guess."""
    first = next(likely_layouts(1, "input", {0: 560, 1: 214}))
    assert (first.table, first.temperature, first.humidity, first.times) == ("input", 1, 0, 0.1)
    cold = next(likely_layouts(1, "holding", {0: 0xFF9F, 1: 652}))
    assert (cold.temperature, cold.humidity) == (0, 1)
    assert next(likely_layouts(1, "holding", {3: 2140, 4: 5600})).times == 0.01
    both = [(p.temperature, p.humidity) for p in likely_layouts(1, "holding", {0: 214, 1: 400})]
    assert both == [(0, 1), (1, 0)]
    assert list(likely_layouts(1, "holding", {0: 0, 1: 0, 2: 0})) == []
