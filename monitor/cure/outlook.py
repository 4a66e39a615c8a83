"""How warm it will be here, guessed from this place's own recent days. Never a measurement.

A day here has a shape; the last days have a level; now is some way off both. The guess is shape
and level, and what is off fades: the spell of weather over two days, the whim of the hour over
half a day. Time is laid out in days that end now, so no zone and no change of the clocks matters:
the sun keeps Unix time.

The band is for what adds up. A guess of one hour errs with its neighbours, so the error of a count
grows faster than if hours erred each for itself: `low_c` and `high_c` are the slopes of the count's
own 80 % band, and say little of any single hour.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.records import FloatArray
from monitor.units import SECONDS_PER_HOUR

STEP_S = 15 * 60.0
DAY_S = 24 * SECONDS_PER_HOUR
DAYS_BACK = 14
"""Two weeks: enough days for a steady shape, few enough that the season stays the same."""

DAYS_AHEAD = 14
"""Past a few days the guess is only "as the last days were", and its band says so."""

LEAST_H = 12.0
"""Less trace than half a day has not seen both a warm and a cold end of it."""

SILENT_S = DAY_S
JOINED_S = 2 * SECONDS_PER_HOUR
"""Across longer silences nothing is drawn: the count gives up its careful edge there too."""

RECENT = 0.8
"""Weight of a day's level against the next younger one: a memory of about five days."""

SPELL_H = 48.0
"""How long a spell of weather takes to fade to 1/e. Two days: a front comes by every few."""

WHIM_H = 12.0
"""How long the rest takes (a cloud, a breeze, a door): gone by the other half of the day."""

SEEN_H = 6.0
"""The spell is what the last hours have in common, their weights fading to 1/e over this."""

PRIOR_C, PRIOR_DAYS = 3.0, 1.0
"""How far off the usual day a place is until its own days say: outdoor spring, worth one day."""

WIDTH = 1.75
"""Half an 80 % band in standard deviations of an ideal fading spell. 1.28 would do for such a
spell about a level that stays; the level of the days ahead is unknown too. Set on one airport's
half year (Newark 2013), and only there."""


@dataclass(frozen=True, eq=False)
class Outlook:
    """Temperatures to come at one channel, every 15 minutes from now on, guessed.

    `time_s` in Unix seconds, the first is now; the lines in °C; `basis`: in words, from what.
    """

    time_s: FloatArray
    low_c: FloatArray
    middle_c: FloatArray
    high_c: FloatArray
    basis: str

    def since(self, now_s: float) -> "Outlook":
        """The same guess, its beginning cut off: it starts at `now_s` (Unix seconds).

        Valid from its own start on, within its days. Source: straight lines between its times.
        """
        time_s, (low_c, middle_c, high_c) = _cut(
            self.time_s, now_s, self.low_c, self.middle_c, self.high_c
        )
        return Outlook(time_s, low_c, middle_c, high_c, self.basis)


@dataclass(frozen=True)
class NoOutlook:
    """Nothing can be guessed here, and why, as a sentence."""

    why: str


@dataclass(frozen=True, eq=False)
class Course:
    """One quantity's days to come: its value at `time_s` (Unix seconds), and what it rests on.

    `usual_off` is how far the recent days were from their own usual, as a standard deviation in
    the quantity's unit; `age_h`: hours since the last reading.
    """

    time_s: FloatArray
    value: FloatArray
    usual_off: float
    age_h: float
    basis: str

    def since(self, now_s: float) -> "Course":
        """As `Outlook.since`, in Unix seconds.

        Valid from its own start on, within its days. Source: straight lines between its times.
        """
        time_s, (value,) = _cut(self.time_s, now_s, self.value)
        age_h = self.age_h + (now_s - float(self.time_s[0])) / SECONDS_PER_HOUR
        return Course(time_s, value, self.usual_off, age_h, self.basis)


def _cut(
    time_s: FloatArray, now_s: float, *lines: FloatArray
) -> tuple[FloatArray, tuple[FloatArray, ...]]:
    after = int(np.searchsorted(time_s, now_s, side="right"))
    return (
        np.concatenate(([now_s], time_s[after:])),
        tuple(np.concatenate(([np.interp(now_s, time_s, line)], line[after:])) for line in lines),
    )


def outlook(time_s: FloatArray, temperature_c: FloatArray, now_s: float) -> Outlook | NoOutlook:
    """The temperatures to come (°C), from the good readings of one channel until `now_s`.

    Any steps, in time order; the last two weeks count, rows after now and nan don't. Valid from
    12 hours of readings, the last of them within a day: otherwise it says why not. Source: this
    project's model, measured by tests/benchmarks/bench_forecast.py.
    """
    ahead = course(time_s, temperature_c, now_s)
    if isinstance(ahead, NoOutlook):
        return ahead
    lead_h = ahead.age_h + (ahead.time_s - now_s) / SECONDS_PER_HOUR
    band_c = WIDTH * ahead.usual_off * _slope(lead_h)
    return Outlook(
        ahead.time_s, ahead.value - band_c, ahead.value, ahead.value + band_c, ahead.basis
    )


def course(time_s: FloatArray, value: FloatArray, now_s: float) -> Course | NoOutlook:
    """A quantity's days to come from its last days; `time_s`, `now_s` in Unix seconds.

    Valid as `outlook`. Source: a mean day, a level, and two fading differences (first-order
    autoregression in continuous time, which fades exponentially).
    """
    days = _days(time_s, value, now_s)
    known = np.isfinite(days)
    trace_h = float(known.sum()) * STEP_S / SECONDS_PER_HOUR
    if trace_h < LEAST_H:
        return NoOutlook(f"Under {LEAST_H:.0f} hours of readings here: too few to look ahead.")
    age = int(np.argmax(known[:, ::-1].ravel()))
    if age * STEP_S > SILENT_S:
        return NoOutlook("No reading here for a day: nothing to look ahead from.")
    shape, level = _shape(days)
    seen = np.isfinite(shape)
    slots = np.arange(shape.size)
    usual = np.interp(slots, slots[seen], shape[seen], period=shape.size)
    off = _newest_first(days - np.average(level, weights=known.sum(1)) - usual)
    young = level @ (weight := RECENT ** np.arange(len(days)) * known.sum(1)) / weight.sum()
    lead = np.arange(round(DAYS_AHEAD * DAY_S / STEP_S) + 1)
    ahead_s: FloatArray = lead.astype(np.float64) * STEP_S
    ahead_h: FloatArray = (ahead_s + age * STEP_S) / SECONDS_PER_HOUR
    fading = _fading(_newest_first(days - young - usual), ahead_h)
    return Course(
        now_s + ahead_s,
        young + usual[(lead - 1) % usual.size] + fading,
        _usual_off(off) * _for_few_days(trace_h if seen.all() else 24.0),
        age * STEP_S / SECONDS_PER_HOUR,
        _basis(known),
    )


def _days(time_s: FloatArray, value: FloatArray, now_s: float) -> FloatArray:
    """The last days, the youngest in row 0, each ending at now's time of day; nan: not known."""
    shape = DAYS_BACK, round(DAY_S / STEP_S)
    slots = np.arange(1 - shape[0] * shape[1], 1)
    knot, height = _means(time_s, value, now_s)
    if knot.size == 0:
        return np.full(shape, np.nan)
    after = np.searchsorted(knot, slots)
    before_s = (slots - knot[np.maximum(np.searchsorted(knot, slots, "right") - 1, 0)]) * STEP_S
    after_s = (knot[np.minimum(after, knot.size - 1)] - slots) * STEP_S
    inside = (before_s >= 0.0) & (after_s >= 0.0)
    near = np.minimum(np.abs(before_s), np.abs(after_s)) <= STEP_S / 2.0
    known = np.where(inside, before_s + after_s <= JOINED_S, near)
    return np.where(known, np.interp(slots, knot, height), np.nan).reshape(shape)[::-1]


def _means(time_s: FloatArray, value: FloatArray, now_s: float) -> tuple[FloatArray, FloatArray]:
    """Readings of the last days averaged 15 minutes at a time: steps before now, value."""
    first, stop = np.searchsorted(time_s, (now_s - DAYS_BACK * DAY_S - JOINED_S, now_s), "right")
    good = np.isfinite(value[first:stop])
    step = (time_s[first:stop][good] - now_s) / STEP_S
    if step.size == 0:
        return step, step
    bins = np.rint(step)
    starts = np.flatnonzero(np.concatenate(([True], bins[1:] != bins[:-1])))
    count = np.diff(np.append(starts, step.size))
    return (
        np.add.reduceat(step, starts) / count,
        np.add.reduceat(value[first:stop][good], starts) / count,
    )


def _shape(days: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The usual day (nan: a time of day nobody saw), and each day's level above it.

    Taken in turns, so that a day with a hole in it lends neither its night nor its cold to the
    others; the first turn is exact where no reading is missing.
    """
    known = np.isfinite(days)
    value = np.where(known, days, 0.0)
    seen, length = known.sum(0), np.maximum(known.sum(1), 1)
    level = np.zeros(len(days))
    for _ in range(4):
        total = np.where(known, value - level[:, None], 0.0).sum(0)
        shape = total / np.maximum(seen, 1)
        level = np.where(known, value - shape, 0.0).sum(1) / length
    return np.where(seen > 0, shape, np.nan), level


def _newest_first(days: FloatArray) -> FloatArray:
    return days[:, ::-1].ravel()


def _fading(off: FloatArray, lead_h: FloatArray) -> FloatArray:
    """What now differs by, the youngest first in `off`, still felt after so many hours."""
    known = np.flatnonzero(np.isfinite(off))
    weight = np.exp(-(known - known[0]) * STEP_S / SECONDS_PER_HOUR / SEEN_H)
    spell = float(weight @ off[known] / weight.sum())
    whim = float(off[known[0]]) - spell
    return spell * np.exp(-lead_h / SPELL_H) + whim * np.exp(-lead_h / WHIM_H)


def _usual_off(off: FloatArray) -> float:
    """How far the days were from their own usual, leaning on the prior while they are few."""
    known = off[np.isfinite(off)]
    day = DAY_S / STEP_S
    squares = float(known @ known) / day + PRIOR_DAYS * PRIOR_C**2
    return math.sqrt(squares / max(known.size / day - 1.0 + PRIOR_DAYS, 1.0))


def _for_few_days(trace_h: float) -> float:
    """How much wider for a usual day that is itself a mean of few: √(1 + 1/n).

    Days within one spell of weather are alike and count as one, so n is the trace in spells. A day
    of which part was never seen is no better known than one single day.
    """
    return math.sqrt(1.0 + SPELL_H / max(trace_h, 24.0))


def _slope(lead_h: FloatArray) -> FloatArray:
    """How fast a standard deviation of the sum grows with lead, in standard deviations.

    The sum of a first-order autoregression known at lead 0 has the variance
    T²(2q - 3 + 4e^-q - e^-2q), q = lead/T (Ornstein and Uhlenbeck, Phys. Rev. 36, 1930).
    """
    q = np.maximum(lead_h, 1e-3) / SPELL_H
    variance = 2.0 * q - 3.0 + 4.0 * np.exp(-q) - np.exp(-2.0 * q)
    growth: FloatArray = (1.0 - 2.0 * np.exp(-q) + np.exp(-2.0 * q)) / np.sqrt(variance)
    return growth


def _basis(known: NDArray[np.bool_]) -> str:
    day = DAY_S / STEP_S
    hours = known.sum() * STEP_S / SECONDS_PER_HOUR
    if hours < 23.0:
        return f"from the last {hours:.0f} hours here, the rest of the day unseen"
    if hours < 47.0:
        return "tonight like last night"
    seen = round(known.sum() / day)
    span = round((known.size - np.argmax(known[::-1].ravel())) / day)
    if seen >= span:
        return f"from the last {seen} days here"
    return f"from {seen} of the last {span} days here"
