"""Round times of the shop's clock to write under an axis, right on both sides of a clock change."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo

from monitor.times import from_unix

_MINUTES = (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720)
_DAYS = (1, 2, 4, 7, 14)
_MONTHS = (1, 2, 3, 6, 12)
_DAY_S = 86_400.0
_MONTH_S = 31 * _DAY_S

Tick = tuple[float, str]
"""Unix seconds, and what is written there."""


@lru_cache(maxsize=64)
def ticks(start_s: float, end_s: float, zone: ZoneInfo, most: int) -> tuple[Tick, ...]:
    """At most about `most` of them, from minutes to months by how long the axis is."""
    wanted_s = (end_s - start_s) / most
    for minutes in _MINUTES:
        if minutes * 60.0 >= wanted_s:
            times = _clock_times(start_s, end_s, zone, minutes)
            return _clock_ticks((t for t in times if start_s <= t <= end_s), zone)
    first, last = (from_unix(t).astimezone(zone).date() for t in (start_s, end_s))
    for days in _DAYS:
        if days * _DAY_S >= wanted_s:
            return _day_ticks(_days(first, last, days), start_s, end_s, zone)
    months = next((m for m in _MONTHS if m * _MONTH_S >= wanted_s), _MONTHS[-1])
    return _month_ticks(_months(first, last, months), start_s, end_s, zone)


def _clock_times(start_s: float, end_s: float, zone: ZoneInfo, minutes: int) -> Iterator[float]:
    """Every so many minutes from each local midnight: an hour that comes twice is there twice."""
    day = from_unix(start_s).astimezone(zone).date()
    last = from_unix(end_s).astimezone(zone).date()
    while day <= last:
        for minute in range(0, 24 * 60, minutes):
            yield from _moments(datetime.combine(day, time(minute // 60, minute % 60)), zone)
        day += timedelta(days=1)


def _moments(wall: datetime, zone: ZoneInfo) -> Iterator[float]:
    """The moments at which the clock reads so: none, one, or two."""
    seen: set[float] = set()
    for fold in (0, 1):
        moment = wall.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        if moment.astimezone(zone).replace(tzinfo=None, fold=0) == wall:
            seen.add(moment.timestamp())
    yield from sorted(seen)


def _clock_ticks(times: Iterator[float], zone: ZoneInfo) -> tuple[Tick, ...]:
    """`14:00`, with its day below the first and below each that begins a new day."""
    told, day_before = [], None
    for time_s in times:
        local = from_unix(time_s).astimezone(zone)
        text = f"{local:%H:%M}"
        if local.date() != day_before:
            text += f"<br>{local:%a} {local.day} {local:%b}"
        day_before = local.date()
        told.append((time_s, text))
    return tuple(told)


def _days(first: date, last: date, step: int) -> Iterator[date]:
    """Every so many days; from a week on, on Mondays."""
    day = first
    if step >= 7:
        day -= timedelta(days=first.weekday())
    while day <= last:
        yield day
        day += timedelta(days=step)


def _months(first: date, last: date, step: int) -> Iterator[date]:
    month = first.year * 12 + (first.month - 1) // step * step
    while (day := date(month // 12, month % 12 + 1, 1)) <= last:
        yield day
        month += step


def _midnight_s(day: date, zone: ZoneInfo) -> float:
    return datetime.combine(day, time(0), zone).timestamp()


def _day_ticks(
    days: Iterator[date], start_s: float, end_s: float, zone: ZoneInfo
) -> tuple[Tick, ...]:
    """`Sat`, `2 May` below."""
    told = ((_midnight_s(day, zone), f"{day:%a}<br>{day.day} {day:%b}") for day in days)
    return tuple(tick for tick in told if start_s <= tick[0] <= end_s)


def _month_ticks(
    days: Iterator[date], start_s: float, end_s: float, zone: ZoneInfo
) -> tuple[Tick, ...]:
    """`May`, with the year below the first and below each January."""
    told: list[Tick] = []
    year_before = None
    for day in days:
        time_s = _midnight_s(day, zone)
        if start_s <= time_s <= end_s:
            text = f"{day:%b}" + (f"<br>{day.year}" if day.year != year_before else "")
            year_before = day.year
            told.append((time_s, text))
    return tuple(told)


@lru_cache(maxsize=64)
def clock_changes(
    start_s: float, end_s: float, zone: ZoneInfo
) -> tuple[tuple[float, float, float], ...]:
    """When the clocks were changed on the way: Unix seconds, offset before and after in seconds."""
    found = []
    days = [*_steps(start_s, end_s), end_s]
    for left, right in pairwise(days):
        before, after = offset_s(left, zone), offset_s(right, zone)
        if before != after:
            while right - left > 1.0:
                middle = (left + right) / 2.0
                left, right = (
                    (middle, right) if offset_s(middle, zone) == before else (left, middle)
                )
            found.append((round(right / 60.0) * 60.0, before, after))
    return tuple(found)


def _steps(start_s: float, end_s: float) -> Iterator[float]:
    while start_s < end_s:
        yield start_s
        start_s += _DAY_S


def offset_s(time_s: float, zone: ZoneInfo) -> float:
    """How far the clock is ahead of UTC."""
    return (from_unix(time_s).astimezone(zone).utcoffset() or timedelta(0)).total_seconds()
