"""What a sensor beside a batch said: which of it counts, how hot, how damp."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c, spread_c
from monitor.cure.damp import NO_SPELLS, Spell, SpellsSoFar, spells, spells_so_far
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

    @cached_property
    def good(self) -> NDArray[np.bool_]:
        """Which of its readings count: given, and without a doubt about its channel.

        Valid for any stay. Source: this project's rule.
        """
        clean: NDArray[np.bool_] = (self.readings.flags & self.mask) == 0
        return clean & np.isfinite(self.column_c)


def good(stay: StayRead) -> NDArray[np.bool_]:
    """Which of a stay's readings count: given, and without a doubt about its channel.

    Valid for any stay. Source: this project's rule.
    """
    return stay.good


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
    stays: tuple[StayRead, ...],
    limit_c: float | None,
    since_s: float,
    now_s: float,
    before: tuple[SpellsSoFar, ...] = (),
) -> tuple[Spell, ...]:
    """Damp spells between two times: spread below `limit_c` °C, or wet where the sheet is silent.

    Surface stays are asked alone where there are any: they know better than the air. `before`:
    the readings go on from there. Valid for any stays. Source: the sheet's least spread.
    """
    columns = _damp_columns(stays, limit_c, since_s, now_s)
    return tuple(sorted(spell for one in _each(columns, before) for spell in spells(*one)))


def damp_so_far(
    stays: tuple[StayRead, ...],
    limit_c: float | None,
    since_s: float,
    now_s: float,
    before: tuple[SpellsSoFar, ...] = (),
) -> tuple[SpellsSoFar, ...]:
    """As `damp_times`, to be gone on from.

    Valid for any stays. Source: the sheet's least spread.
    """
    columns = _damp_columns(stays, limit_c, since_s, now_s)
    return tuple(spells_so_far(*one) for one in _each(columns, before))


def outside_range(
    stays: tuple[StayRead, ...],
    range_c: tuple[float, float] | None,
    since_s: float,
    until_s: float,
    before: tuple[SpellsSoFar, ...] = (),
) -> bool:
    """Whether the channel was outside a range (°C) for 20 minutes between two times.

    `before`: the readings go on from there. Valid for any stays. Source: the sheet's range.
    """
    columns = _outside_columns(stays, range_c, since_s, until_s)
    return any(spells(*one) for one in _each(columns, before))


def outside_so_far(
    stays: tuple[StayRead, ...],
    range_c: tuple[float, float] | None,
    since_s: float,
    until_s: float,
    before: tuple[SpellsSoFar, ...] = (),
) -> tuple[SpellsSoFar, ...]:
    """As `outside_range`, to be gone on from.

    Valid for any stays. Source: the sheet's range.
    """
    columns = _outside_columns(stays, range_c, since_s, until_s)
    return tuple(spells_so_far(*one) for one in _each(columns, before))


Columns = tuple[FloatArray, FloatArray]


def _each(
    columns: list[Columns], before: tuple[SpellsSoFar, ...]
) -> list[tuple[FloatArray, FloatArray, SpellsSoFar]]:
    known = before or (NO_SPELLS,) * len(columns)
    return [(*column, so_far) for column, so_far in zip(columns, known, strict=True)]


def _damp_columns(
    stays: tuple[StayRead, ...], limit_c: float | None, since_s: float, now_s: float
) -> list[Columns]:
    surface = tuple(stay for stay in stays if stay.channel is Channel.SURFACE)
    limit = 0.0 if limit_c is None else limit_c
    found = []
    for stay in surface or stays:
        time_s, spread = spread_of(stay)
        inside = (time_s >= since_s) & (time_s <= now_s)
        found.append((time_s[inside], limit - spread[inside]))
    return found


def _outside_columns(
    stays: tuple[StayRead, ...],
    range_c: tuple[float, float] | None,
    since_s: float,
    until_s: float,
) -> list[Columns]:
    if range_c is None:
        return []
    found = []
    for stay in stays:
        keep = good(stay)
        time_s, value_c = stay.readings.time_s[keep], stay.column_c[keep]
        inside = (time_s >= since_s) & (time_s <= until_s)
        beyond = np.maximum(range_c[0] - value_c, value_c - range_c[1])
        found.append((time_s[inside], beyond[inside]))
    return found
