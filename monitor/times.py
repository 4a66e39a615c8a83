"""Moments as people write and read them. UTC inside; the zone and now are always arguments."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo
from typing import Literal
from zoneinfo import ZoneInfo

from monitor.errors import BadInput

_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
_AGO = re.compile(r"-(\d+(?:\.\d+)?)(m|h|d)")
_LENGTH = re.compile(r"(-?\d+(?:\.\d+)?)\s*(s|m|min|h|d)")
_SECONDS = {"s": 1.0, "m": 60.0, "min": 60.0, "h": 3600.0, "d": 86400.0}

EARLIEST, LATEST = datetime(1970, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
"""Nobody types a moment outside of these and means it; near the calendar's ends sums run over."""
_LONGEST_S = (LATEST - EARLIEST).total_seconds()

EXAMPLES = "Write 14:05, -25m, -2h or 2026-05-02T14:05+02:00."


def zone_named(name: str) -> ZoneInfo:
    """The time zone of that name in the IANA database."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise BadInput(
            f"No time zone is called {name!r}.", "Use a name such as Europe/Lisbon or UTC."
        ) from None


def parse_length(text: str) -> timedelta:
    """A length of time such as `10m`, `2h` or `90s`."""
    found = _LENGTH.fullmatch(text.strip())
    if found is None:
        raise BadInput(f"{text!r} is not a length of time.", "Write it as 10m, 2h or 90s.")
    seconds = float(found[1]) * _SECONDS[found[2]]
    if not abs(seconds) <= _LONGEST_S:
        raise BadInput("That length of time is beyond everything.", "Write it as 10m, 2h or 90s.")
    return timedelta(seconds=seconds)


def parse_instant(
    text: str,
    *,
    now: datetime,
    zone: tzinfo | None,
    clock: Literal["past", "next"] = "past",
) -> datetime:
    """A moment in UTC from what a person typed.

    `14:05` is the latest past one in the zone (`clock="next"`: the coming one); `-25m` and `-2h`
    count back from now; ISO 8601 is taken as it stands. Without an offset the zone decides; with
    neither an offset nor a zone, for an hour that a clock change repeats or leaves out, and outside
    of EARLIEST to LATEST it is refused.
    """
    try:
        moment = _instant(text.strip(), now, zone, clock)
    except OverflowError:
        moment = None
    if moment is None or not EARLIEST <= moment <= LATEST:
        raise BadInput("That is no time that anybody has seen, or will see.", EXAMPLES)
    return moment


def _instant(
    text: str, now: datetime, zone: tzinfo | None, clock: Literal["past", "next"]
) -> datetime:
    if found := _AGO.fullmatch(text):
        return now - timedelta(seconds=float(found[1]) * _SECONDS[found[2]])
    if found := _CLOCK.fullmatch(text):
        if zone is None:
            raise BadInput(f"{text} has no date and no time zone.", EXAMPLES)
        return _nearest_clock(int(found[1]), int(found[2]), now=now, zone=zone, clock=clock)
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(f"{text!r} is not a time.", EXAMPLES) from None
    if moment.tzinfo is not None:
        return moment.astimezone(UTC)
    if zone is None:
        raise BadInput(
            f"{text} has no offset from UTC.",
            "Add one (…+02:00 or …Z), or give the zone with --zone.",
        )
    return _in_zone(moment, zone)


def _nearest_clock(
    hour: int, minute: int, *, now: datetime, zone: tzinfo, clock: Literal["past", "next"]
) -> datetime:
    today = now.astimezone(zone).replace(
        hour=hour, minute=minute, second=0, microsecond=0, tzinfo=None
    )
    days = (0, -1) if clock == "past" else (0, 1)
    for day in days:
        moment = _in_zone(today + timedelta(days=day), zone)
        if (moment <= now) if clock == "past" else (moment >= now):
            return moment
    return moment


def _in_zone(naive: datetime, zone: tzinfo) -> datetime:
    """A wall-clock time in a zone as UTC, refused where the clocks make it two moments or none."""
    first = naive.replace(tzinfo=zone, fold=0)
    second = naive.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(UTC)
    back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    if back != naive:
        raise BadInput(
            f"{naive:%Y-%m-%d %H:%M} does not exist: the clocks go forward over it.",
            f"Give the time with its offset, such as {first.astimezone(UTC):%Y-%m-%dT%H:%M}Z.",
        )
    choices = " or ".join(m.isoformat(timespec="minutes") for m in (first, second))
    raise BadInput(
        f"{naive:%Y-%m-%d %H:%M} happens twice that night: the clocks go back.",
        f"Say which: {choices}.",
    )


def iso_utc(moment: datetime) -> str:
    """ISO 8601 in UTC with a Z, to the second (rounded to the nearest)."""
    whole = (moment + timedelta(milliseconds=500)).astimezone(UTC).replace(microsecond=0)
    return whole.replace(tzinfo=None).isoformat() + "Z"


def from_unix(time_s: float) -> datetime:
    """A moment from Unix seconds."""
    return datetime.fromtimestamp(float(time_s), UTC)


def said(moment: datetime, zone: tzinfo, now: datetime) -> str:
    """A moment as people say it, with its day: `04:54 Thu`, `10:20 today`."""
    local, today = moment.astimezone(zone), now.astimezone(zone).date()
    if local.date() == today:
        return f"{local:%H:%M} today"
    if abs((local.date() - today).days) < 7:
        return f"{local:%H:%M %a}"
    return f"{local:%H:%M} on {local.day} {local:%b %Y}"


def said_lasting(moment: datetime, zone: tzinfo) -> str:
    """A moment for words that are kept: its own day, never today (`04:54 Thu 7 May`)."""
    local = moment.astimezone(zone)
    return f"{local:%H:%M %a} {local.day} {local:%b}"


def length_said(seconds: float) -> str:
    """A length of time in hours and minutes (`7 h 30 min`)."""
    if seconds < 60:
        return "less than a minute"
    minutes = round(seconds / 60)
    hours, rest = divmod(minutes, 60)
    if hours == 0:
        return f"{rest} min"
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


@dataclass(frozen=True, slots=True)
class NightHours:
    """From one clock time to another, usually past midnight. Alike: there is no night."""

    begin: time = time(22)
    end: time = time(6)

    def hold(self, moment: datetime, zone: tzinfo) -> bool:
        clock = moment.astimezone(zone).time()
        if self.begin <= self.end:
            return self.begin <= clock < self.end
        return clock >= self.begin or clock < self.end

    def day_from(self, moment: datetime, zone: tzinfo) -> datetime:
        """The moment itself by day, else when the night ends."""
        if not self.hold(moment, zone):
            return moment
        local = moment.astimezone(zone)
        day = local.date() if local.time() < self.end else local.date() + timedelta(days=1)
        return datetime.combine(day, self.end, zone).astimezone(UTC)

    def said(self) -> str:
        """`22:00 to 06:00`"""
        return f"{self.begin:%H:%M} to {self.end:%H:%M}"


NIGHT = NightHours()
"""Unless the shop says otherwise. Common practice, no source."""
