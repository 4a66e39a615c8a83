"""A logger's dates and times: the order of day and month, 12 hours or 24, and its zone."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise
from typing import Literal

from monitor.errors import BadInput

Order = Literal["dmy", "mdy"]

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DATE = r"(\d{1,4})[./\- ](\d{1,2}|[A-Za-z]{3,9})[./\- ,]{1,2}(\d{1,4})"
_TIME = r"(\d{1,2}):(\d\d)(?::(\d\d)(?:[.,]\d+)?)?\s*([AaPp]\.?\s?[Mm]\.?)?"
_OFFSET = r"(Z|[+-]\d\d:?\d\d)?"
_DATE_ALONE = re.compile(_DATE)
_TIME_ALONE = re.compile(_TIME)
_WHOLE = re.compile(rf"{_DATE}(?:[ T,]\s*){_TIME}\s*{_OFFSET}")
_STEP_AT_MOST = timedelta(days=2)
_HALF_OF_TWELVE = timedelta(hours=6)
"""A leap back from 12:55 to 1:00 is longer; one line's step in a newest-first file is not."""


def is_date(text: str) -> bool:
    return _DATE_ALONE.fullmatch(text) is not None


def is_time(text: str) -> bool:
    return _TIME_ALONE.fullmatch(text) is not None


def is_whole(text: str) -> bool:
    return _WHOLE.fullmatch(text) is not None


@dataclass(frozen=True, slots=True)
class Written:
    """One time as it stands in the file. `first`, `second`: day and month, in some order."""

    year: int
    first: int
    second: int
    at: time
    half: bool
    """Whether it says am or pm."""
    offset: timedelta | None
    fixed: bool
    """Whether the order of day and month is plain: year first, or the month by name."""


def written(text: str) -> Written | None:
    """The parts of a date and time; None where it is none."""
    found = _WHOLE.fullmatch(text.strip())
    if found is None:
        return None
    one, two, three = found[1], found[2], found[3]
    at = _time(found[4], found[5], found[6], found[7])
    if at is None:
        return None
    month = None if two.isdigit() else _month(two)
    if not two.isdigit() and month is None:
        return None
    fixed = True
    if len(one) == 4:
        year, second, first = int(one), month or int(two), int(three)
    else:
        year, first, second = int(three), int(one), month or int(two)
        fixed = month is not None
    year += 2000 if year < 100 else 0
    return Written(year, first, second, at, bool(found[7]), _offset(found[8]), fixed)


def _month(text: str) -> int | None:
    short = text[:3].lower()
    return _MONTHS.index(short) + 1 if short in _MONTHS else None


def _time(hour: str, minute: str, second: str | None, half: str | None) -> time | None:
    h = int(hour)
    if half:
        if not 1 <= h <= 12:
            return None
        h = h % 12 + (12 if half[0] in "pP" else 0)
    try:
        return time(h, int(minute), int(second or 0))
    except ValueError:
        return None


def _offset(text: str | None) -> timedelta | None:
    if not text:
        return None
    if text == "Z":
        return timedelta(0)
    sign = -1 if text[0] == "-" else 1
    return sign * timedelta(hours=int(text[1:3]), minutes=int(text[-2:]))


def day_order(times: Sequence[Written], told: Order | None, name: str) -> Order:
    """Day or month first: told, or plain from the file; never guessed. Raises BadInput.

    It is plain where one of the two gives no dates, or leaps of weeks where the other goes on.
    """
    if told is not None or all(t.fixed or t.first == t.second for t in times):
        return told or "dmy"
    days = {order: found for order in _ORDERS if (found := _days(times, order)) is not None}
    if not days:
        raise BadInput(
            f"{name}: its dates fit neither day/month nor month/day.",
            "Export it with dates such as 2026-05-02.",
        )
    if len(days) == 2:
        steady = [order for order in _ORDERS if _goes_on(days[order])]
        if len(steady) != 1:
            day = next(t for t in times if not t.fixed and t.first != t.second)
            raise BadInput(
                f"{name}: {day.first}/{day.second}/{day.year} may be day and month, or month and "
                "day.",
                "Say which comes first: --dates dmy or --dates mdy.",
            )
        return steady[0]
    return next(iter(days))


_ORDERS: tuple[Order, ...] = ("dmy", "mdy")


def _days(times: Sequence[Written], order: Order) -> list[date] | None:
    try:
        return [_day(t, order) for t in times]
    except ValueError:
        return None


def _goes_on(days: list[date]) -> bool:
    return all(abs(after - before) <= _STEP_AT_MOST for before, after in pairwise(days))


def _day(t: Written, order: Order) -> date:
    if t.fixed or order == "dmy":
        return date(t.year, t.second, t.first)
    return date(t.year, t.first, t.second)


def moments(times: Sequence[Written], order: Order, zone: tzinfo, name: str) -> list[datetime]:
    """The times in UTC, in the file's order. Raises BadInput.

    A logger without zones keeps the offset it was started with, unless the file itself goes back
    an hour where the zone does: so a clock change neither makes nor loses an hour.
    """
    try:
        naive = [datetime.combine(_day(t, order), t.at) for t in times]
    except ValueError:
        raise BadInput(
            f"{name}: a date in it does not exist.", "Try --dates dmy or --dates mdy."
        ) from None
    offsets = [t.offset for t in times if t.offset is not None]
    if len(offsets) == len(naive):
        return [(n - o).replace(tzinfo=UTC) for n, o in zip(naive, offsets, strict=True)]
    if offsets:
        raise BadInput(
            f"{name}: some of its times have an offset from UTC, and some have none.",
            "Write them all with one, or all without.",
        )
    _whole_day(times, naive, name)
    if naive[-1] < naive[0]:
        return _placed(naive[::-1], zone)[::-1]
    return _placed(naive, zone)


def _placed(naive: list[datetime], zone: tzinfo) -> list[datetime]:
    if _follows(naive, zone):
        return _by_the_zone(naive, zone)
    started = _offset_at(naive[0], zone)
    return [(n - started).replace(tzinfo=UTC) for n in naive]


def _whole_day(times: Sequence[Written], naive: list[datetime], name: str) -> None:
    """A clock of twelve hours that doesn't say which half is no use."""
    if any(t.half for t in times) or any(t.at.hour > 12 for t in times):
        return
    for before, after in (*pairwise(naive), *pairwise(naive[::-1])):
        same_day = after.date() == before.date()
        if before.hour == 12 and same_day and before - after > _HALF_OF_TWELVE:
            raise BadInput(
                f"{name}: its clock has twelve hours and doesn't say am or pm.",
                "Set the logger, or its export, to 24 hours.",
            )


def _follows(naive: list[datetime], zone: tzinfo) -> bool:
    """Whether the file's own times jump where the zone's clocks are changed."""
    for before, after in pairwise(naive):
        was, then = _offset_at(before, zone), _offset_at(after, zone)
        if after < before and _is_repeated(before, zone) and _is_repeated(after, zone):
            return True
        if then > was and after - before >= then - was and not _any_missing(naive, zone):
            return True
    return False


def _offset_at(naive: datetime, zone: tzinfo) -> timedelta:
    return naive.replace(tzinfo=zone).utcoffset() or timedelta(0)


def _is_repeated(naive: datetime, zone: tzinfo) -> bool:
    twice = naive.replace(tzinfo=zone, fold=0), naive.replace(tzinfo=zone, fold=1)
    first, second = (t.utcoffset() or timedelta(0) for t in twice)
    return first > second


def _any_missing(naive: list[datetime], zone: tzinfo) -> bool:
    """Whether a time stands in the file that the zone leaves out: then it doesn't follow it."""
    for n in naive:
        there = n.replace(tzinfo=zone).astimezone(UTC).astimezone(zone).replace(tzinfo=None)
        if there != n:
            return True
    return False


def _by_the_zone(naive: list[datetime], zone: tzinfo) -> list[datetime]:
    """Of an hour that happens twice the second is meant once the times have gone back."""
    found: list[datetime] = []
    second = False
    for place, n in enumerate(naive):
        gone_back = place > 0 and n < naive[place - 1]
        second = _is_repeated(n, zone) and (second or gone_back)
        found.append(n.replace(tzinfo=zone, fold=int(second)).astimezone(UTC))
    return found
