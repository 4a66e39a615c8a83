"""If tonight is like last night: the latest time to mix, and what a cup mixed now would reach.

The nights to come are the last day's trace laid end to end; each edge of the band is that line
shifted. Everything here is a guess, and says so.
"""

from dataclasses import dataclass

import numpy as np

from monitor.cure.law import Law
from monitor.records import FloatArray
from monitor.units import SECONDS_PER_HOUR

DAY_S = 24 * SECONDS_PER_HOUR
LEAST_TRACE_S = 12 * SECONDS_PER_HOUR
"""Less of a trace than this says nothing about a night. This project's rule."""

DAYS_AHEAD = 3
STEP_S = 60.0


@dataclass(frozen=True)
class Heat:
    """A heater that holds a temperature (°C) between two times (Unix seconds)."""

    held_c: float
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Nights:
    """The days ahead as a line: `time_s` (Unix seconds, a minute apart) and `temperature_c`."""

    time_s: FloatArray
    temperature_c: FloatArray

    def shifted(self, shift_c: float) -> "Nights":
        """The same line warmer or colder by `shift_c` °C. Valid for any shift. Source: the band."""
        return Nights(self.time_s, self.temperature_c + shift_c)

    def heated(self, heat: Heat) -> "Nights":
        """The same line with a heater on: never colder than what it holds, in °C, meanwhile.

        Valid for any times. Source: a thermostat's own promise.
        """
        on = (self.time_s >= heat.start_s) & (self.time_s <= heat.end_s)
        held = np.where(on, np.maximum(self.temperature_c, heat.held_c), self.temperature_c)
        return Nights(self.time_s, held)


def nights_like_last(time_s: FloatArray, temperature_c: FloatArray, now_s: float) -> Nights | None:
    """The next three days as the last one was, from `now_s` (Unix seconds) on, in °C.

    `time_s` ascends. None: less than 12 hours of trace in the last day, or its newest reading is
    more than an hour old. A hole in the day is joined by a straight line. Valid for any
    trace. Source: common practice ("tonight like last night").
    """
    recent = (time_s > now_s - DAY_S) & (time_s <= now_s)
    time_s, temperature_c = time_s[recent], temperature_c[recent]
    if time_s.size < 2 or time_s[-1] - time_s[0] < LEAST_TRACE_S:
        return None
    if now_s - time_s[-1] > SECONDS_PER_HOUR:
        return None
    ahead = now_s + np.arange(0.0, DAYS_AHEAD * DAY_S + STEP_S, STEP_S)
    ago = now_s - DAY_S + np.mod(ahead - now_s, DAY_S)
    line = np.interp(ago, time_s, temperature_c, period=DAY_S)
    return Nights(ahead, line)


@dataclass(frozen=True)
class Reach:
    """What one edge of a cup comes to, in Unix seconds and the law's count.

    `reached_s`: when it has what it needs; None: not within the days ahead. `stops_s`: when it
    first goes below the floor after mixing; None: it doesn't. `by_stop`: the count by then.
    """

    reached_s: float | None
    stops_s: float | None
    by_stop: float | None


def reach(nights: Nights, law: Law, floor_c: float | None, mix_s: float, need: float) -> Reach:
    """What a cup mixed at `mix_s` (Unix seconds) reaches on a line of days ahead.

    Valid for mix_s within the line. Source: the law, integrated on the line.
    """
    count = _count(nights, law)
    since = count - float(np.interp(mix_s, nights.time_s, count))
    reached = _first_at(nights.time_s, since, need, mix_s)
    stops = _first_below(nights, floor_c, mix_s)
    by_stop = None if stops is None else float(np.interp(stops, nights.time_s, since))
    return Reach(reached, stops, by_stop)


def latest_mix(
    nights: Nights, law: Law, floor_c: float | None, need: float, after_s: float
) -> tuple[float, float] | None:
    """The latest time to mix, and when it then gets too cold, both Unix seconds.

    For the first fall below the floor after `after_s`: mixed at the first time given, the count
    has what it needs just as it stops. The first time may lie before the line begins to be known
    (`nights.time_s[0]`): then it is that much too late. None: no cold is ahead. Valid for
    after_s within the line. Source: the law, integrated on the line.
    """
    stops = _first_below(nights, floor_c, after_s)
    if stops is None:
        return None
    count = _count(nights, law)
    wanted = float(np.interp(stops, nights.time_s, count)) - need
    if wanted >= 0.0:
        return float(_first_at(nights.time_s, count, wanted, nights.time_s[0]) or stops), stops
    # Before the line: the same day once more, backwards.
    day = nights.time_s <= nights.time_s[0] + DAY_S
    daily = float(count[day][-1])
    if daily <= 0.0:
        return nights.time_s[0] - DAYS_AHEAD * DAY_S, stops
    days = int(np.ceil(-wanted / daily))
    wanted += days * daily
    start = _first_at(nights.time_s, count, wanted, nights.time_s[0])
    return float(start or nights.time_s[0]) - days * DAY_S, stops


def _count(nights: Nights, law: Law) -> FloatArray:
    hours = np.diff(nights.time_s) / SECONDS_PER_HOUR
    earned = law.earned(hours, nights.temperature_c[:-1], nights.temperature_c[1:])
    return np.concatenate(([0.0], np.cumsum(earned)))


def _first_at(time_s: FloatArray, count: FloatArray, need: float, after_s: float) -> float | None:
    """When a rising count first reaches `need`, not before `after_s`."""
    at = int(np.searchsorted(count, need - 1e-9, side="left"))
    if at == count.size:
        return None
    if at == 0:
        return max(float(time_s[0]), after_s)
    step = count[at] - count[at - 1]
    share = (need - count[at - 1]) / step if step > 0.0 else 1.0
    return max(float(time_s[at - 1] + share * (time_s[at] - time_s[at - 1])), after_s)


def _first_below(nights: Nights, floor_c: float | None, after_s: float) -> float | None:
    """When the line next falls below the floor: at once, where it is below already."""
    if floor_c is None:
        return None
    ahead = nights.time_s >= after_s
    time_s, line_c = nights.time_s[ahead], nights.temperature_c[ahead]
    cold = np.flatnonzero(line_c < floor_c)
    if cold.size == 0:
        return None
    at = int(cold[0])
    if at == 0:
        return float(time_s[0])
    share = (line_c[at - 1] - floor_c) / (line_c[at - 1] - line_c[at])
    return float(time_s[at - 1] + share * (time_s[at] - time_s[at - 1]))
