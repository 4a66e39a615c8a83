"""What a sensor beside a batch said: which of it counts, how hot, how damp."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c, spread_c
from monitor.cure.damp import damp_spells, spells
from monitor.cure.trace import Trace
from monitor.records import (
    HUMIDITY_FLAGS,
    SURFACE_FLAGS,
    TEMPERATURE_FLAGS,
    Channel,
    FloatArray,
    Nearness,
    Readings,
)


@dataclass(frozen=True)
class StayRead:
    """One stay and what its sensor said while it lasted, in time order."""

    readings: Readings
    channel: Channel
    nearness: Nearness
    sensor_band_c: float = 0.0

    @property
    def column_c(self) -> FloatArray:
        """The channel's temperatures in °C, good and suspect, nan where there was none.

        Valid for any stay. Source: the sensor.
        """
        surface = self.channel is Channel.SURFACE
        return self.readings.surface_c if surface else self.readings.temperature_c

    @property
    def mask(self) -> int:
        return SURFACE_FLAGS if self.channel is Channel.SURFACE else TEMPERATURE_FLAGS


def good(stay: StayRead) -> NDArray[np.bool_]:
    """Which of a stay's readings count: given, and without a doubt about its channel.

    Valid for any stay. Source: this project's rule.
    """
    clean: NDArray[np.bool_] = (stay.readings.flags & stay.mask) == 0
    return clean & np.isfinite(stay.column_c)


def trace_of(stay: StayRead) -> Trace:
    """The good readings as a trace in °C and Unix seconds, with the times of the suspect ones.

    Valid for any stay. Source: this project's rule.
    """
    column, time_s = stay.column_c, stay.readings.time_s
    keep = good(stay)
    suspect = time_s[(stay.readings.flags & stay.mask) != 0]
    if keep.all():
        return Trace(time_s, column, stay.nearness, suspect, stay.sensor_band_c)
    return Trace(time_s[keep], column[keep], stay.nearness, suspect, stay.sensor_band_c)


def spread_of(stay: StayRead) -> tuple[FloatArray, FloatArray]:
    """Times (Unix seconds) and the channel's spread over the air's dew point (°C).

    Only readings of which every value is good. Valid for any stay. Source: `monitor.air`.
    """
    readings = stay.readings
    spread = spread_c(stay.column_c, dew_point_c(readings.temperature_c, readings.humidity_pct))
    mask = stay.mask | TEMPERATURE_FLAGS | HUMIDITY_FLAGS
    keep = np.isfinite(spread) & ((readings.flags & mask) == 0)
    return readings.time_s[keep], spread[keep]


def hot_at(
    stays: tuple[StayRead, ...], limit_c: float | None, since_s: float, now_s: float
) -> float | None:
    """When a good reading first passed `limit_c` °C between two times (Unix seconds).

    Valid for any stays. Source: the sheet's limit.
    """
    if limit_c is None:
        return None
    first_s: list[float] = []
    for stay in stays:
        time_s = stay.readings.time_s
        over = good(stay) & (stay.column_c > limit_c) & (time_s >= since_s) & (time_s <= now_s)
        if over.any():
            first_s.append(float(time_s[np.argmax(over)]))
    return min(first_s, default=None)


def damp_times(
    stays: tuple[StayRead, ...], limit_c: float | None, since_s: float, now_s: float
) -> tuple[tuple[float, float], ...]:
    """Damp spells between two times: spread below `limit_c` °C, or wet where the sheet is silent.

    Surface stays are asked alone where there are any: they know better than the air. Valid for
    any stays. Source: the sheet's least spread.
    """
    surface = tuple(stay for stay in stays if stay.channel is Channel.SURFACE)
    found: list[tuple[float, float]] = []
    for stay in surface or stays:
        time_s, spread = spread_of(stay)
        inside = (time_s >= since_s) & (time_s <= now_s)
        limit = 0.0 if limit_c is None else limit_c
        found += damp_spells(time_s[inside], spread[inside], limit)
    return tuple(sorted(found))


def outside_range(
    stays: tuple[StayRead, ...],
    range_c: tuple[float, float] | None,
    since_s: float,
    until_s: float,
) -> bool:
    """Whether the channel was outside a range (°C) for 20 minutes between two times.

    Valid for any stays. Source: the sheet's range.
    """
    if range_c is None:
        return False
    for stay in stays:
        keep = good(stay)
        time_s, value_c = stay.readings.time_s[keep], stay.column_c[keep]
        inside = (time_s >= since_s) & (time_s <= until_s)
        beyond = np.maximum(range_c[0] - value_c, value_c - range_c[1])
        if spells(time_s[inside], beyond[inside]):
            return True
    return False
