"""Moments as people write and read them."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from monitor.errors import BadInput
from monitor.times import (
    NightHours,
    iso_utc,
    length_said,
    parse_instant,
    parse_length,
    said,
    said_lasting,
    zone_named,
)

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 5, 3, 8, 0, tzinfo=UTC)  # 10:00 in Berlin


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("09:30", "2026-05-03T07:30:00Z"),
        ("10:00", "2026-05-03T08:00:00Z"),
        ("10:01", "2026-05-02T08:01:00Z"),
        ("-25m", "2026-05-03T07:35:00Z"),
        ("-2h", "2026-05-03T06:00:00Z"),
        ("2026-05-02T14:05", "2026-05-02T12:05:00Z"),
        ("2026-05-02 14:05", "2026-05-02T12:05:00Z"),
        ("2026-05-02T14:05Z", "2026-05-02T14:05:00Z"),
        ("2026-05-02T14:05+05:30", "2026-05-02T08:35:00Z"),
    ],
)
def test_a_typed_time(text: str, expected: str) -> None:
    """A clock is the latest past one in the shop's zone; an offset stands before the zone."""
    assert iso_utc(parse_instant(text, now=NOW, zone=BERLIN)) == expected


def test_the_next_clock() -> None:
    """For plans a clock time is the coming one."""
    assert iso_utc(parse_instant("09:30", now=NOW, zone=BERLIN, clock="next")) == (
        "2026-05-04T07:30:00Z"
    )


@pytest.mark.parametrize("zone", ["Europe/Berlin", "Pacific/Kiritimati", "Pacific/Pago_Pago"])
@pytest.mark.parametrize(
    "text",
    [
        *("-99999999999h", "-1e9d", "-999999d", "0001-01-01T00:00", "0001-01-01T00:00+14:00"),
        *("9999-12-31T23:59:59", "9999-12-31T23:59-14:00", "1969-12-30 12:00", "2200-01-03 12:00"),
        f"-{'9' * 400}m",
    ],
)
def test_a_time_beyond_every_calendar(text: str, zone: str) -> None:
    """Refused like any other that can't be meant."""
    with pytest.raises(BadInput):
        parse_instant(text, now=NOW, zone=ZoneInfo(zone))


@pytest.mark.parametrize("text", ["999999999999h", "-999999999999d", f"{'9' * 400}s"])
def test_a_length_beyond_everything(text: str) -> None:
    """The same."""
    with pytest.raises(BadInput):
        parse_length(text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2026-10-25T02:30", "happens twice"),
        ("2026-03-29T02:30", "does not exist"),
        ("noon", "is not a time"),
        ("25:00", "is not a time"),
    ],
)
def test_a_time_that_is_none_or_two(text: str, words: str) -> None:
    """The hour that a clock change repeats or leaves out is refused, with the choices named."""
    with pytest.raises(BadInput) as refusal:
        parse_instant(text, now=NOW, zone=BERLIN)
    assert words in refusal.value.what
    if words == "happens twice":
        assert "2026-10-25T02:30+02:00 or 2026-10-25T02:30+01:00" in refusal.value.remedy


@pytest.mark.parametrize("text", ["2026-05-02T14:05", "14:05"])
def test_without_a_zone_an_offset_is_needed(text: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(BadInput):
        parse_instant(text, now=NOW, zone=None)


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        (NOW - timedelta(minutes=30), "09:30 today"),
        (NOW - timedelta(hours=12), "22:00 Sat"),
        (NOW - timedelta(days=30), "10:00 on 3 Apr 2026"),
    ],
)
def test_a_moment_as_it_is_said(moment: datetime, expected: str) -> None:
    """Always with its day, and with the date where it isn't this week."""
    assert said(moment, BERLIN, NOW) == expected


def test_words_that_are_kept_name_their_day() -> None:
    """Today is another day tomorrow."""
    assert said_lasting(NOW, BERLIN) == "10:00 Sun 3 May"


def test_lengths() -> None:
    """Both ways, and refused where they are none."""
    assert parse_length("90s") == timedelta(seconds=90)
    assert parse_length("-60m") == timedelta(hours=-1)
    assert length_said(27000) == "7 h 30 min"
    assert length_said(7200) == "2 h"
    assert length_said(59) == "less than a minute"
    with pytest.raises(BadInput):
        parse_length("a while")


def test_an_unknown_zone() -> None:
    """Two lines, not a traceback."""
    with pytest.raises(BadInput):
        zone_named("Europe/Atlantis")


def test_night_hours() -> None:
    """Past midnight or not, in the zone's own clock; the day begins where the night ends."""
    night, berlin = NightHours(), ZoneInfo("Europe/Berlin")
    evening, small_hours = (
        datetime(2026, 5, 2, 20, 30, tzinfo=UTC),
        datetime(2026, 5, 3, 1, tzinfo=UTC),
    )
    morning = datetime(2026, 5, 3, 4, tzinfo=UTC)
    assert night.hold(evening, berlin)
    assert not night.hold(evening, UTC)
    assert not night.hold(morning, berlin)
    assert night.day_from(evening, berlin) == night.day_from(small_hours, berlin) == morning
    assert night.day_from(morning, berlin) == morning
    nap = NightHours(time(13), time(15))
    assert nap.hold(datetime(2026, 5, 2, 14, tzinfo=UTC), UTC)
    assert not nap.hold(evening, UTC)
    assert not NightHours(time(6), time(6)).hold(small_hours, UTC)
