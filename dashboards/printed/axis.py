"""Ticks of a printed plot: whole hours and days of the shop's own clock, and round values."""

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo

from monitor.times import from_unix

_MOST = 9
_MINUTES = (15, 30, 60, 120, 180, 360, 720)
_DAYS = (1, 2, 7, 14, 28, 56, 112)


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on the time axis; `day` is written under the first tick of each day."""

    time_s: float
    clock: str
    day: str | None


def time_ticks(start_s: float, end_s: float, zone: tzinfo) -> tuple[Tick, ...]:
    """At most nine ticks between two times (Unix seconds), on whole steps of the shop's clock.

    Each stands where that clock really showed it, also after the clocks were changed.
    """
    minutes = (end_s - start_s) / 60.0
    step = next((m for m in _MINUTES if minutes / m <= _MOST), None)
    moments = _clock_times(start_s, end_s, step, zone) if step else _days(start_s, end_s, zone)
    ticks: list[Tick] = []
    seen: date | None = None
    for moment in moments:
        local = moment.astimezone(zone)
        new_day = local.date() != seen
        seen = local.date()
        day = f"{local:%a} {local.day} {local:%b}" if new_day else None
        ticks.append(Tick(moment.timestamp(), f"{local:%H:%M}" if step else "", day))
    return tuple(ticks)


def _local_days(start_s: float, end_s: float, zone: tzinfo) -> list[date]:
    first, last = (from_unix(time_s).astimezone(zone).date() for time_s in (start_s, end_s))
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _clock_times(start_s: float, end_s: float, step_min: int, zone: tzinfo) -> list[datetime]:
    found = set()
    for day in _local_days(start_s, end_s, zone):
        for minute in range(0, 24 * 60, step_min):
            wall = datetime(day.year, day.month, day.day, minute // 60, minute % 60)  # noqa: DTZ001
            moment = wall.replace(tzinfo=zone).astimezone(UTC)
            # A time that the clocks leapt over was never shown.
            if moment.astimezone(zone).replace(tzinfo=None) == wall:
                found.add(moment)
    return sorted(m for m in found if start_s <= m.timestamp() <= end_s)


def _days(start_s: float, end_s: float, zone: tzinfo) -> list[datetime]:
    days = _local_days(start_s, end_s, zone)
    step = next((d for d in _DAYS if len(days) / d <= _MOST), _DAYS[-1])
    midnights = (datetime(d.year, d.month, d.day, tzinfo=zone).astimezone(UTC) for d in days)
    inside = [m for m in midnights if start_s <= m.timestamp() <= end_s]
    return inside[::step]


def round_ticks(low: float, high: float, most: int) -> tuple[float, ...]:
    """At most `most` values between low and high on steps of 1, 2 or 5 times a power of ten."""
    if high <= low:
        return (low,)
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return tuple(n * step for n in range(first, last + 1))
