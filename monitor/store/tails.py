"""What sensors said lately, for whoever looks again and again: fetched once, and gone on from."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.columns import room
from monitor.records import Reading, Readings
from monitor.store.readings import ReadingTable
from monitor.times import from_unix

_DTYPES = (np.float64, np.float64, np.float64, np.float64, np.int64)
"""Of the columns of `Readings`."""


class _Tail:
    """A sensor's readings from `begun_s` on, as far as they have been fetched.

    More are written behind them, into room left for it, so that a reading costs no new columns;
    what was handed out before stays as it is.
    """

    def __init__(self, begun_s: float, readings: Readings) -> None:
        self.begun_s, self.readings = begun_s, readings
        self._room = _columns(readings)

    def add(self, more: Readings) -> None:
        held, length = len(self.readings), len(self.readings) + len(more)
        if length > len(self._room[0]):
            self._room = room(2 * length, *_DTYPES)
            self._write(0, self.readings)
        self._write(held, more)
        self.readings = Readings(*(column[:length] for column in self._room))

    def _write(self, first: int, readings: Readings) -> None:
        for column, values in zip(self._room, _columns(readings), strict=True):
            # Room is zeros, and takes no memory while nothing else is written: most flags are.
            if values.any():
                column[first : first + len(values)] = values


class Tails:
    """One tail for each sensor asked for. `as_read`: not put right by the sensors' checks."""

    def __init__(self, readings: ReadingTable, *, as_read: bool = False) -> None:
        self._table, self._as_read = readings, as_read
        self._tails: dict[int, _Tail] = {}
        self._asked_s: dict[int, float] = {}

    def __len__(self) -> int:
        """Of how many sensors."""
        return len(self._tails)

    @property
    def held(self) -> int:
        """How many readings."""
        return sum(len(tail.readings) for tail in self._tails.values())

    def since(self, sensor_id: int, since_s: float) -> Readings:
        """A sensor's readings from that moment on (Unix seconds), and perhaps some before it."""
        self._asked_s[sensor_id] = min(since_s, self._asked_s.get(sensor_id, math.inf))
        tail = self._tails.get(sensor_id)
        if tail is None or since_s < tail.begun_s:
            tail = self._tails[sensor_id] = _Tail(since_s, self._fetched(sensor_id, since_s))
        return tail.readings

    def go_on(self, newest: Mapping[int, Reading]) -> None:
        """A new look begins: fetch what came since, where a newest reading is newer than held."""
        self._asked_s.clear()
        for sensor_id, tail in self._tails.items():
            last_s = float(tail.readings.time_s[-1]) if len(tail.readings) else -math.inf
            latest = newest.get(sensor_id)
            if latest is not None and latest.at.timestamp() > last_s:
                new = self._fetched(sensor_id, max(last_s, tail.begun_s))
                tail.add(new.between(np.nextafter(last_s, math.inf), math.inf))

    def forget(self, sensor_id: int) -> None:
        """Something behind its newest reading has changed."""
        self._tails.pop(sensor_id, None)

    def let_go(self, before_s: float, *, asked_for: bool = False) -> None:
        """Let go of what is older than that moment; of what this look asked for too, if told so."""
        for sensor_id, tail in list(self._tails.items()):
            asked_s = math.inf if asked_for else self._asked_s.get(sensor_id, math.inf)
            keep_s = min(before_s, asked_s)
            kept = tail.readings.between(keep_s, math.inf)
            if len(tail.readings) - len(kept) > len(kept) // 4:
                left = self._tails[sensor_id] = _Tail(max(keep_s, tail.begun_s), Readings.empty())
                left.add(kept)

    def _fetched(self, sensor_id: int, since_s: float) -> Readings:
        return self._table.between(sensor_id, from_unix(since_s), None, as_read=self._as_read)


def _columns(readings: Readings) -> tuple[NDArray[Any], ...]:
    return (
        readings.time_s,
        readings.temperature_c,
        readings.humidity_pct,
        readings.surface_c,
        readings.flags,
    )
