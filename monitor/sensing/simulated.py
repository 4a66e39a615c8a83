"""A made-up sensor: for the demo, for trying things out with nothing plugged in, for tests."""

import math
import os
import tty
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import TracebackType
from typing import Self

from monitor.sensing.formats.xdr import xdr_sentence
from monitor.sensing.replay import ReplaySource


@dataclass(frozen=True, slots=True)
class Weather:
    """What it is like beside the part at one moment."""

    temperature_c: float
    humidity_pct: float
    surface_c: float | None = None


WeatherAt = Callable[[datetime], Weather]


def made_up_day(at: datetime) -> Weather:
    """A spring day in a shed: 12 °C before dawn, 22 °C at three, damp when it is cold. Invented."""
    hour = at.hour + at.minute / 60.0 + at.second / 3600.0
    swing = math.cos((hour - 15.0) / 24.0 * math.tau)
    ripple = 0.3 * math.sin(hour * math.tau / 0.7)
    return Weather(17.0 + 5.0 * swing + ripple, 62.0 - 16.0 * swing - ripple)


@dataclass(frozen=True, slots=True)
class SimulatedSensor:
    """Says what the weather is, as XDR sentences."""

    weather: WeatherAt = made_up_day

    def sentence(self, at: datetime) -> str:
        now = self.weather(at)
        return xdr_sentence(now.temperature_c, now.humidity_pct, now.surface_c)

    def lines(
        self, start: datetime, step: timedelta, count: int | None = None
    ) -> Iterator[tuple[datetime, str]]:
        """A sentence every step, for ever or `count` of them."""
        at, said = start, 0
        while count is None or said < count:
            yield at, self.sentence(at)
            at, said = at + step, said + 1


class SimulatedSource(ReplaySource):
    """A simulated sensor's readings without any port; `speed` as in a replay."""

    def __init__(
        self,
        name: str,
        sensor: SimulatedSensor,
        *,
        start: datetime,
        step: timedelta,
        count: int | None = None,
        speed: float | None = 1.0,
    ) -> None:
        super().__init__(name, sensor.lines(start, step, count), speed=speed, format="xdr")


class SimulatedPort:
    """A pseudo-terminal: `device` opens like a serial port and hears what is sent here.

    Closing it is like pulling the plug. POSIX only.
    """

    def __init__(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        # A wire doesn't wait for a listener: what nobody reads is lost.
        os.set_blocking(self._master, False)
        self.device = os.ttyname(self._slave)

    def send(self, data: bytes) -> int:
        """How many of these bytes found room; 0 if nobody has read for long."""
        try:
            return os.write(self._master, data)
        except BlockingIOError:
            return 0

    def say(self, line: str) -> int:
        return self.send(line.encode() + b"\r\n")

    def unplug(self) -> None:
        """Close both ends; a second time does nothing."""
        for descriptor in (self._master, self._slave):
            if descriptor >= 0:
                os.close(descriptor)
        self._master = self._slave = -1

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        raised: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.unplug()
