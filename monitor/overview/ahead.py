"""What is ahead at each channel, made once in a quarter of an hour from the place's last weeks."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c
from monitor.cure.dew import dew_course
from monitor.cure.outlook import DAYS_BACK, STEP_S, Course, NoOutlook, Outlook, outlook
from monitor.records import Channel, FloatArray
from monitor.store import Rollups, Store

Ahead = tuple[Outlook | NoOutlook | None, Course | NoOutlook | None]
"""The temperatures and the dew points to come at one channel."""

NOTHING_AHEAD: Ahead = (None, None)

_BIN_S = STEP_S / 2.0
"""Two to a step of the outlook, so that each lies in one step whole."""


@dataclass(frozen=True)
class _Line:
    """One quantity as means of half a step: the middle of what is known of each, and its mean."""

    time_s: FloatArray
    mean: FloatArray

    def then(self, later: "_Line", since_s: float) -> "_Line":
        keep = self.time_s >= since_s
        return _Line(
            np.concatenate((self.time_s[keep], later.time_s)),
            np.concatenate((self.mean[keep], later.mean)),
        )


@dataclass(frozen=True)
class _Weeks:
    """A sensor's last two weeks, until `until_s`."""

    until_s: float
    temperature_c: _Line
    surface_c: _Line
    dew_c: _Line


class Outlooks:
    """Outlooks of every channel asked for. Each starts at the last quarter of an hour."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._weeks: dict[int, _Weeks] = {}
        self._made: dict[tuple[int, Channel], tuple[float, Ahead]] = {}
        self._cut: dict[tuple[int, Channel], tuple[float, Ahead]] = {}

    def forget(self, sensor_id: int) -> None:
        self._weeks.pop(sensor_id, None)
        for known in (self._made, self._cut):
            for key in [key for key in known if key[0] == sensor_id]:
                del known[key]

    def at(self, sensor_id: int, channel: Channel, now: datetime) -> Ahead:
        """What is ahead from now on."""
        key, now_s = (sensor_id, channel), now.timestamp()
        cut_s, cut = self._cut.get(key, (None, NOTHING_AHEAD))
        if cut_s != now_s:
            warmth, dew = self._whole(key, now_s)
            cut = (
                warmth.since(now_s) if isinstance(warmth, Outlook) else warmth,
                dew.since(now_s) if isinstance(dew, Course) else dew,
            )
            self._cut[key] = now_s, cut
        return cut

    def _whole(self, key: tuple[int, Channel], now_s: float) -> Ahead:
        start_s = now_s // STEP_S * STEP_S
        made_s, made = self._made.get(key, (None, NOTHING_AHEAD))
        if made_s != start_s:
            sensor_id, channel = key
            weeks = self._until(sensor_id, start_s)
            line = weeks.surface_c if channel is Channel.SURFACE else weeks.temperature_c
            made = (
                outlook(line.time_s, line.mean, start_s),
                dew_course(weeks.dew_c.time_s, weeks.dew_c.mean, start_s),
            )
            self._made[key] = start_s, made
        return made

    def _until(self, sensor_id: int, until_s: float) -> _Weeks:
        """The last two weeks; what was fetched before is kept."""
        known = self._weeks.get(sensor_id)
        first_s = until_s - timedelta(days=DAYS_BACK, hours=3).total_seconds()
        if known is None or not first_s <= known.until_s <= until_s:
            known = _Weeks(first_s, *([_Line(np.empty(0), np.empty(0))] * 3))
        if known.until_s < until_s:
            minutes = self._store.readings.rollups(
                sensor_id, _moment(known.until_s), _moment(until_s), "minute"
            )
            inside = (minutes.time_s >= known.until_s) & (minutes.time_s < until_s)
            new = _lines(minutes, inside)
            old = known.temperature_c, known.surface_c, known.dew_c
            lines = (a.then(b, first_s) for a, b in zip(old, new, strict=True))
            known = _Weeks(until_s, *lines)
            self._weeks[sensor_id] = known
        return known


def _lines(minutes: Rollups, inside: NDArray[np.bool_]) -> tuple[_Line, _Line, _Line]:
    """Temperature, surface and dew point, from minutes' means, each at the middle of its minute."""
    middle_s = minutes.time_s + minutes.step_s / 2.0
    warm = inside & (minutes.temperature_c.n > 0)
    probed = inside & (minutes.surface_c.n > 0)
    humid = warm & (minutes.humidity_pct.n > 0)
    dew_c = dew_point_c(minutes.temperature_c.mean[humid], minutes.humidity_pct.mean[humid])
    return (
        _binned(middle_s[warm], minutes.temperature_c.mean[warm]),
        _binned(middle_s[probed], minutes.surface_c.mean[probed]),
        _binned(middle_s[humid], dew_c),
    )


def _binned(time_s: FloatArray, value: FloatArray) -> _Line:
    if time_s.size == 0:
        return _Line(time_s, value)
    bins = time_s // _BIN_S
    starts = np.flatnonzero(np.concatenate(([True], bins[1:] != bins[:-1])))
    count = np.diff(np.append(starts, bins.size))
    return _Line(np.add.reduceat(time_s, starts) / count, np.add.reduceat(value, starts) / count)


def _moment(time_s: float) -> datetime:
    return datetime.fromtimestamp(time_s, UTC)
