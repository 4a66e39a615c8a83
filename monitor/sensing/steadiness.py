"""A sensor's values against its own last few: a single jump, or no change at all."""

import math
from datetime import datetime, timedelta

from monitor.records import Reading
from monitor.units import f_from_c

SPIKE_C = 5.0
SPIKE_NEIGHBOUR = timedelta(minutes=5)
HEATING_C_PER_MIN = 3.5
"""Faster than a heater warms a shed's air, so steps within it are never a spike."""
AGREEMENT_C = 1.0
CLIMB_ROOM = 2.0

FROZEN_AFTER = timedelta(hours=2)
FROZEN_READINGS = 5
STEADY_C, STEADY_PCT = 0.6, 2.0
"""A steady sensor goes on by a step or two of what it shows; one that hung leaps back to life."""
STEADY_ROOM = 2.0
STEADY_AT_MOST = timedelta(hours=3)
NO_NUMBER = 1e6
FROZEN_REST = timedelta(hours=1)
"""A silence longer than this ends the run: nobody knows what the sensor did meanwhile."""


class SpikeWatch:
    """The rule for single jumps, for one quantity.

    A value departs if it differs from the last good one, at most five minutes old, by more than
    5 °C; by more than 3.5 °C for each minute between, where that is more; and, in a climb under
    way, by more than twice what the last two good values' slope makes of the time. The first to
    depart is a spike. The next is good if it bears the first out: it agrees within 1 °C (a
    step), or goes on the same way (a climb). Otherwise it is judged as the first was.
    """

    def __init__(self) -> None:
        self._good: tuple[datetime, float] | None = None
        self._slope_c_per_min = 0.0
        self._doubted: tuple[datetime, float] | None = None

    def departs(self, at: datetime, value_c: float) -> bool:
        if self._departs(at, value_c) and not self._borne_out(at, value_c):
            self._doubted = (at, value_c)
            return True
        self._accept(at, value_c)
        return False

    def _departs(self, at: datetime, value_c: float) -> bool:
        if self._good is None or at - self._good[0] > SPIKE_NEIGHBOUR:
            return False
        minutes = max(0.0, (at - self._good[0]).total_seconds() / 60.0)
        pace = max(HEATING_C_PER_MIN, CLIMB_ROOM * abs(self._slope_c_per_min))
        return abs(value_c - self._good[1]) > max(SPIKE_C, pace * minutes)

    def _borne_out(self, at: datetime, value_c: float) -> bool:
        if self._good is None or self._doubted is None:
            return False
        if at - self._doubted[0] > SPIKE_NEIGHBOUR:
            return False
        way = math.copysign(1.0, self._doubted[1] - self._good[1])
        return way * (value_c - self._doubted[1]) >= -AGREEMENT_C

    def _accept(self, at: datetime, value_c: float) -> None:
        self._slope_c_per_min = 0.0
        if self._good is not None:
            minutes = (at - self._good[0]).total_seconds() / 60.0
            if 0.0 < minutes <= SPIKE_NEIGHBOUR.total_seconds() / 60.0:
                # Two lines of one burst say nothing about a slope.
                self._slope_c_per_min = (value_c - self._good[1]) / max(minutes, 1.0)
        self._good, self._doubted = (at, value_c), None


class FrozenWatch:
    """The same temperature and humidity, to the last digit, for over two hours.

    It takes both: one of them may well stand still. It takes a sensor that shows fractions of a
    degree: whole degrees can stay for a night. And it takes more than twice as long as this
    sensor stood still before and then went on by a small step, up to six hours.
    """

    def __init__(self) -> None:
        self._values: tuple[float | None, ...] | None = None
        self._since: datetime | None = None
        self._last: datetime | None = None
        self._count = 0
        self._shows_fractions = False
        self._stood = timedelta(0)

    def holds(self, reading: Reading, *, fahrenheit: bool) -> bool:
        """Whether this reading goes on a run that is too long to be true."""
        air, humidity = reading.temperature_c, reading.humidity_pct
        if air is None or humidity is None or not abs(air) + abs(humidity) < NO_NUMBER:
            self._values = None
            return False
        shown = f_from_c(air) if fahrenheit else air
        self._shows_fractions |= abs(shown - round(shown)) > 1e-6
        values = (air, humidity, reading.surface_c)
        rested = self._last is not None and reading.at - self._last > FROZEN_REST
        if values != self._values or rested or self._since is None:
            if not rested:
                self._learn(air, humidity)
            self._values, self._since, self._count = values, reading.at, 0
        self._last = reading.at
        self._count += 1
        long_enough = reading.at - self._since > max(FROZEN_AFTER, STEADY_ROOM * self._stood)
        return long_enough and self._count >= FROZEN_READINGS and self._shows_fractions

    def _learn(self, air: float, humidity: float) -> None:
        """How long it stood still, where it goes on as a steady one does."""
        if self._values is None or self._since is None or self._last is None:
            return
        before_c, before_pct = self._values[:2]
        if before_c is None or before_pct is None:
            return
        if abs(air - before_c) <= STEADY_C and abs(humidity - before_pct) <= STEADY_PCT:
            self._stood = max(self._stood, min(self._last - self._since, STEADY_AT_MOST))
