"""What the sensors beside a layup said in a stretch of time: near to, each reading; far off, sums.

From far off a point is the mean of a bucket, and the band about it holds the bucket's lowest and
highest, so that no spike is lost. Sums come from the store's minutes and hours, never from a year
of readings.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c, spread_c
from monitor.answers.views import Band, StaySeries
from monitor.cure.beside import StayRead, good
from monitor.records import HUMIDITY_FLAGS, Channel, FloatArray, Readings, Stay
from monitor.store import Store
from monitor.store.rollups import Rolled, Rollups
from monitor.times import from_unix
from monitor.units import SECONDS_PER_HOUR

SILENT_S = 15 * 60.0
SILENT_STEPS = 2.5

_MINUTE_STEPS_S = tuple(60.0 * minutes for minutes in (1, 2, 5, 10, 15, 20))
_HOUR_STEPS_S = tuple(SECONDS_PER_HOUR * hours for hours in (1, 2, 3, 6, 24, 48, 168))
_RAW_PER_POINT = 2
_AN_HOUR = timedelta(hours=1) - timedelta(microseconds=1)
"""The moment an hour ends belongs to the next."""

_SUSPECT_ROWS = 4_000
_SUSPECT_HOURS = 40


@dataclass(frozen=True, slots=True)
class Stretch:
    """From–to in Unix seconds, and into about how many points at most."""

    start_s: float
    end_s: float
    points: int

    @property
    def length_s(self) -> float:
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True)
class Traced:
    """A stay's series, and when somebody measured: starts and ends in Unix seconds, in order."""

    series: StaySeries
    heard_from_s: FloatArray
    heard_to_s: FloatArray


def trace(store: Store, sensor: str, stay: Stay, stretch: Stretch) -> Traced | None:
    """One stay in a stretch; None where it was over before, or begins after."""
    start_s = max(stretch.start_s, stay.since.timestamp())
    end_s = stretch.end_s if stay.until is None else min(stretch.end_s, stay.until.timestamp())
    if end_s < start_s:
        return None
    hours = store.readings.rollups(stay.sensor_id, from_unix(start_s), from_unix(end_s), "hour")
    inside = Stretch(start_s, end_s, stretch.points)
    if _near_enough(hours, inside):
        readings = store.readings.between(stay.sensor_id, from_unix(start_s), from_unix(end_s))
        return _near(sensor, stay, readings)
    step_s = bucket_s(stretch)
    base = hours
    if step_s < SECONDS_PER_HOUR:
        base = store.readings.rollups(
            stay.sensor_id, from_unix(start_s), from_unix(end_s), "minute"
        )
    suspect = _suspect(store, stay, hours, inside)
    return _far(sensor, stay, base, step_s, suspect)


def bucket_s(stretch: Stretch) -> float:
    """How long a bucket is: the shortest of which the stretch has no more than its points."""
    steps = (*_MINUTE_STEPS_S, *_HOUR_STEPS_S)
    return next((s for s in steps if stretch.length_s <= s * stretch.points), steps[-1])


def _near_enough(hours: Rollups, stretch: Stretch) -> bool:
    """Whether each reading can be drawn. Hours at both ends count by the share that is inside."""
    begin = np.clip(hours.time_s, stretch.start_s, stretch.end_s)
    end = np.clip(hours.time_s + hours.step_s, stretch.start_s, stretch.end_s)
    expected = float(hours.n_all @ ((end - begin) / hours.step_s))
    return expected <= _RAW_PER_POINT * stretch.points


def _near(sensor: str, stay: Stay, readings: Readings) -> Traced:
    read = StayRead(readings, stay.channel, stay.nearness)
    column, keep = read.column_c, good(read)
    shown = np.flatnonzero(keep)
    dry = (readings.flags[shown] & HUMIDITY_FLAGS) == 0
    humidity = np.where(dry, readings.humidity_pct[shown], np.nan)
    dew = dew_point_c(readings.temperature_c[shown], humidity)
    suspect = ~keep & np.isfinite(column)
    time_s = readings.time_s[shown]
    series = StaySeries(
        sensor,
        stay.channel,
        stay.nearness,
        time_s,
        column[shown],
        humidity,
        dew,
        spread_c(column[shown], dew),
        readings.time_s[suspect],
        column[suspect],
    )
    return Traced(series, time_s, time_s)


def _far(
    sensor: str, stay: Stay, base: Rollups, step_s: float, suspect: tuple[FloatArray, FloatArray]
) -> Traced:
    rolled = base.surface_c if stay.channel is Channel.SURFACE else base.temperature_c
    some = rolled.n > 0
    buckets = _Buckets(base.time_s[some], step_s)
    air, humid = _of(base.temperature_c, some), _of(base.humidity_pct, some)
    rolled = _of(rolled, some)
    dew = dew_point_c(air.mean, humid.mean)
    spread = spread_c(rolled.mean, dew)
    spread_low, spread_high = _spread_edges(stay.channel, rolled, humid, dew)
    series = StaySeries(
        sensor,
        stay.channel,
        stay.nearness,
        buckets.middle_s,
        buckets.mean(rolled.mean, rolled.n),
        buckets.mean(humid.mean, humid.n),
        buckets.mean(dew, humid.n),
        buckets.mean(spread, humid.n),
        *suspect,
        step_s,
        Band(buckets.least(rolled.min), buckets.most(rolled.max)),
        Band(buckets.least(humid.min), buckets.most(humid.max)),
        Band(buckets.least(spread_low), buckets.most(spread_high)),
    )
    return Traced(series, base.time_s[some], base.time_s[some] + base.step_s)


def _of(rolled: Rolled, some: NDArray[np.bool_]) -> Rolled:
    return Rolled(rolled.n[some], rolled.mean[some], rolled.min[some], rolled.max[some])


def _spread_edges(
    channel: Channel, rolled: Rolled, humid: Rolled, dew_c: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The least and the most the spread can have been in each row.

    Air's own spread falls with humidity and grows a little with warmth, so the corners hold it.
    A surface is held against the row's mean dew point: the air beside it changes slowly.
    """
    if channel is Channel.SURFACE:
        return rolled.min - dew_c, rolled.max - dew_c
    return (
        spread_c(rolled.min, dew_point_c(rolled.min, humid.max)),
        spread_c(rolled.max, dew_point_c(rolled.max, humid.min)),
    )


class _Buckets:
    """Rows of the store's sums, joined into longer ones."""

    def __init__(self, time_s: FloatArray, step_s: float) -> None:
        number = np.floor(time_s / step_s)
        self._first = np.flatnonzero(np.diff(number, prepend=-np.inf))
        self.middle_s: FloatArray = (number[self._first] + 0.5) * step_s

    def mean(self, value: FloatArray, n: NDArray[np.int64]) -> FloatArray:
        weight = np.where(np.isfinite(value), n, 0)
        total = self._added(np.where(weight > 0, value, 0.0) * weight)
        count = self._added(weight.astype(np.float64))
        mean: FloatArray = np.full(count.size, np.nan)
        np.divide(total, count, out=mean, where=count > 0)
        return mean

    def least(self, value: FloatArray) -> FloatArray:
        return -self.most(-value)

    def most(self, value: FloatArray) -> FloatArray:
        known = np.where(np.isfinite(value), value, -np.inf)
        top = np.maximum.reduceat(known, self._first) if known.size else known
        return np.where(np.isfinite(top), top, np.nan)

    def _added(self, value: FloatArray) -> FloatArray:
        return np.add.reduceat(value, self._first) if value.size else value


def _suspect(
    store: Store, stay: Stay, hours: Rollups, stretch: Stretch
) -> tuple[FloatArray, FloatArray]:
    """Suspect readings; of very many, those of some hours spread over the stretch."""
    rolled = hours.surface_c if stay.channel is Channel.SURFACE else hours.temperature_c
    found = np.flatnonzero(hours.n_all > rolled.n)
    if hours.n_all[found].sum() > _SUSPECT_ROWS:
        found = found[np.unique(np.linspace(0, found.size - 1, _SUSPECT_HOURS).astype(np.int64))]
        if hours.n_all[found].sum() > 10 * _SUSPECT_ROWS:
            found = found[:1]
    times, values = [np.empty(0)], [np.empty(0)]
    for first_s in hours.time_s[found].tolist():
        since = max(from_unix(first_s), from_unix(stretch.start_s))
        until = min(from_unix(first_s) + _AN_HOUR, from_unix(stretch.end_s))
        readings = store.readings.between(stay.sensor_id, since, until)
        read = StayRead(readings, stay.channel, stay.nearness)
        bad = ~good(read) & np.isfinite(read.column_c)
        times.append(readings.time_s[bad])
        values.append(read.column_c[bad])
    return np.concatenate(times), np.concatenate(values)


def silences_of(
    traced: tuple[Traced, ...], since: datetime, until: datetime
) -> tuple[tuple[float, float], ...]:
    """From–to in Unix seconds: nobody measured, and longer than the sensors' own steps explain."""
    ends = [(since.timestamp(),), (until.timestamp(),)]
    begin_s = np.concatenate([*(one.heard_from_s for one in traced), *ends])
    end_s = np.concatenate([*(one.heard_to_s for one in traced), *ends])
    order = np.argsort(begin_s, kind="stable")
    begin_s, reached_s = begin_s[order][1:], np.maximum.accumulate(end_s[order])[:-1]
    longest = max([SILENT_S, *(_longest_s(one) for one in traced)])
    silent = begin_s - reached_s > longest
    return tuple(zip(reached_s[silent].tolist(), begin_s[silent].tolist(), strict=True))


def _longest_s(one: Traced) -> float:
    """How long a silence is still a step of this sensor."""
    steps = one.heard_from_s[1:] - one.heard_to_s[:-1]
    return SILENT_STEPS * float(np.median(steps)) if steps.size else 0.0
