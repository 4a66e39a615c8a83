"""Readings put right by what their sensor was held against. What is stored stays as it was read.

A check holds from its own moment on: what a sensor said before it is left alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from monitor.records import Channel, FloatArray, Reading, Readings, SensorCheck
from monitor.store.rollups import Rolled, Rollups

TOGETHER = timedelta(days=30)
APART_PCT = 5.0
"""Two salts in one month, this far apart, make a slope; one salt makes an offset."""


@dataclass(frozen=True, slots=True)
class Line:
    """From a moment (Unix seconds) on a quantity is what was read times `slope` plus `offset`."""

    since_s: float
    slope: float
    offset: float


@dataclass(frozen=True, slots=True)
class Lines:
    """A sensor's corrections of each quantity, oldest first."""

    air: tuple[Line, ...] = ()
    humidity: tuple[Line, ...] = ()
    surface: tuple[Line, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.air or self.humidity or self.surface)

    def readings(self, read: Readings) -> Readings:
        """The same readings put right, with the same flags."""
        return Readings(
            read.time_s,
            _straightened(read.time_s, read.temperature_c, self.air),
            _straightened(read.time_s, read.humidity_pct, self.humidity, most=100.0),
            _straightened(read.time_s, read.surface_c, self.surface),
            read.flags,
        )

    def reading(self, read: Reading) -> Reading:
        at_s = read.at.timestamp()
        humidity = _one(at_s, read.humidity_pct, self.humidity)
        return replace(
            read,
            temperature_c=_one(at_s, read.temperature_c, self.air),
            humidity_pct=None if humidity is None else min(100.0, humidity),
            surface_c=_one(at_s, read.surface_c, self.surface),
        )

    def rollups(self, read: Rollups) -> Rollups:
        """A bucket that began before the check keeps what was read."""
        return replace(
            read,
            temperature_c=_rolled(read.time_s, read.temperature_c, self.air),
            humidity_pct=_rolled(read.time_s, read.humidity_pct, self.humidity, most=100.0),
            surface_c=_rolled(read.time_s, read.surface_c, self.surface),
        )


def lines_of(checks: Sequence[SensorCheck]) -> Lines:
    """What a sensor's checks, oldest first, make of its readings."""
    return Lines(
        _offsets(checks, Channel.AIR), _humidity(checks), _offsets(checks, Channel.SURFACE)
    )


def _offsets(checks: Sequence[SensorCheck], channel: Channel) -> tuple[Line, ...]:
    return tuple(
        Line(check.checked_at.timestamp(), 1.0, check.true_c - check.read_c)
        for check in checks
        if check.channel is channel and check.true_c is not None and check.read_c is not None
    )


def _humidity(checks: Sequence[SensorCheck]) -> tuple[Line, ...]:
    lines: list[Line] = []
    for place, check in enumerate(checks):
        if check.read_pct is None or check.true_pct is None:
            continue
        slope = 1.0
        other = _other_salt(checks[:place], check)
        if other is not None:
            slope = (check.true_pct - other[1]) / (check.read_pct - other[0])
        offset = check.true_pct - slope * check.read_pct
        lines.append(Line(check.checked_at.timestamp(), slope, offset))
    return tuple(lines)


def _other_salt(earlier: Sequence[SensorCheck], check: SensorCheck) -> tuple[float, float] | None:
    """What was read and what was true over another salt, not long before."""
    for other in reversed(earlier):
        if other.read_pct is None or other.true_pct is None:
            continue
        late = check.checked_at - other.checked_at > TOGETHER
        if late or check.true_pct is None or check.read_pct is None:
            return None
        far = abs(check.true_pct - other.true_pct) >= APART_PCT
        if far and (check.read_pct - other.read_pct) * (check.true_pct - other.true_pct) > 0.0:
            return other.read_pct, other.true_pct
    return None


def _straightened(
    time_s: FloatArray, value: FloatArray, lines: tuple[Line, ...], most: float = np.inf
) -> FloatArray:
    if not lines:
        return value
    put_right = value.copy()
    for line in lines:
        first = int(np.searchsorted(time_s, line.since_s))
        put_right[first:] = np.minimum(line.slope * value[first:] + line.offset, most)
    return put_right


def _one(at_s: float, value: float | None, lines: tuple[Line, ...]) -> float | None:
    line = next((line for line in reversed(lines) if line.since_s <= at_s), None)
    return value if value is None or line is None else line.slope * value + line.offset


def _rolled(
    time_s: FloatArray, read: Rolled, lines: tuple[Line, ...], most: float = np.inf
) -> Rolled:
    if not lines:
        return read
    mean, least, greatest = (
        _straightened(time_s, value, lines, most) for value in (read.mean, read.min, read.max)
    )
    return Rolled(read.n, mean, least, greatest)
