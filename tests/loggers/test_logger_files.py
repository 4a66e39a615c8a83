"""What loggers export: read whatever it looks like, or refused in two lines; never guessed."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from monitor.errors import BadInput
from monitor.loggers.match import clock_off
from monitor.loggers.read import LoggerFile, is_ours, read_logger
from monitor.records import Doubt
from tests.scenarios import columns, series

ATHENS = ZoneInfo("Europe/Athens")
UTC_ZONE = ZoneInfo("UTC")


def read(tmp_path: Path, text: str | bytes, zone: ZoneInfo = UTC_ZONE, **told) -> LoggerFile:
    path = tmp_path / "logger.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_logger(path, zone, **told)


def values(file: LoggerFile) -> list[tuple[str, float | None, float | None]]:
    return [
        (reading.at.isoformat()[:16], reading.temperature_c, reading.humidity_pct)
        for reading in file.readings
    ]


WANTED = [("2026-05-22T14:05", 21.4, 56.0), ("2026-05-22T14:10", 21.6, 55.5)]
SHAPES = {
    "semicolons and decimal commas": (
        "Nr;Datum/Uhrzeit;Temperatur [°C];rel. Feuchte [%]\n"
        "1;22.05.2026 14:05:00;21,4;56,0\n2;22.05.2026 14:10:00;21,6;55,5\n"
    ),
    "header junk": (
        "Shed logger\nSerial number,12345\nStart,22/05/2026 13:00\n\n"
        "Date,Time,Temp (°C),RH (%)\n22/05/2026,14:05,21.4,56.0\n22/05/2026,14:10,21.6,55.5\n"
    ),
    "twelve hours": (
        "Date Time,Temperature C,Humidity\n"
        "05/22/2026 02:05 PM,21.4,56\n05/22/2026 02:10 PM,21.6,55.5\n"
    ),
    "am and pm with dots, tabs": (
        "time\ttemp_c\thumidity\n"
        "22-05-26 2:05:00 p.m.\t21.4\t56\n22-05-26 2:10:00 p.m.\t21.6\t55.5\n"
    ),
    "fahrenheit": (
        "Timestamp,Temperature (°F),Relative Humidity\n"
        "2026-05-22 14:05,70.52,56\n2026-05-22 14:10,70.88,55.5\n"
    ),
    "months by name": "when;T;RH\n22 May 2026 14:05;21.4;56\n22 May 2026 14:10;21.6;55.5\n",
    "units in the cells": (
        '"Date";"Time";"Air";"Moist %"\n'
        '"2026-05-22";"14:05";"21,4 °C";"56,0 %"\n"2026-05-22";"14:10";"21,6 °C";"55,5 %"\n'
    ),
    "newest first": (
        "Date,Temperature °C,Humidity %\n2026-05-22 14:10,21.6,55.5\n2026-05-22 14:05,21.4,56\n"
    ),
    "offsets": (
        "Date,Temperature °C,Humidity %,Dew point °C\n"
        "2026-05-22T16:05:00+02:00,21.4,56,12.3\n2026-05-22T14:10:00Z,21.6,55.5,12.4\n"
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes(tmp_path: Path, shape: str) -> None:
    """The same two readings, however they are written."""
    got = values(read(tmp_path, SHAPES[shape]))
    assert [(t, pytest.approx(a), h) for t, a, h in got] == WANTED


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_encodings(tmp_path: Path, encoding: str, ending: str) -> None:
    """With and without a mark at the front, and whatever ends its lines."""
    text = SHAPES["semicolons and decimal commas"].replace("\n", ending)
    assert values(read(tmp_path, text.encode(encoding))) == WANTED


@pytest.mark.parametrize("word", ["Lo", "Hi", "---", "", "n/a", "OL"])
def test_what_stands_for_no_value(tmp_path: Path, word: str) -> None:
    """The other value of that line is kept."""
    text = f"Date,Temp °C,RH %\n2026-05-22 14:05,21.4,{word}\n2026-05-22 14:10,{word},55.5\n"
    assert values(read(tmp_path, text)) == [
        ("2026-05-22T14:05", 21.4, None),
        ("2026-05-22T14:10", None, 55.5),
    ]


@pytest.mark.parametrize("long", ["x" * 300_000, '"' * 300_000, '"' + "1," * 200_000])
def test_a_line_longer_than_any_row_is_passed_over(tmp_path: Path, long: str) -> None:
    """Whatever is in it, the others are read."""
    text = f"Date,Temp °C,RH %\n2026-05-22 14:05,21.4,56\n{long}\n2026-05-22 14:10,21.6,55.5\n"
    file = read(tmp_path, text)
    assert (values(file), file.passed_over) == (WANTED, 1)


def test_a_line_without_any_value_is_kept_as_silence(tmp_path: Path) -> None:
    """And counted."""
    file = read(tmp_path, "Date,Temp °C,RH %\n2026-05-22 14:05,Lo,Lo\n2026-05-22 14:10,21,55\n")
    assert (file.rows, file.without_value) == (2, 1)


def test_days_and_months_that_could_be_either_are_asked_for(tmp_path: Path) -> None:
    """2 May or 5 February: refused, read either way when told."""
    text = "Date,Temp °C\n02/05/2026 14:05,21.4\n02/05/2026 14:10,21.6\n"
    with pytest.raises(BadInput) as refused:
        read(tmp_path, text)
    assert "2/5/2026" in refused.value.lines()[0]
    assert "--dates dmy" in refused.value.lines()[1]
    assert values(read(tmp_path, text, dates="dmy"))[0][0] == "2026-05-02T14:05"
    assert values(read(tmp_path, text, dates="mdy"))[0][0] == "2026-02-05T14:05"


def test_dotted_dates_are_asked_for_too(tmp_path: Path) -> None:
    """A habit is no proof."""
    with pytest.raises(BadInput, match="day and month"):
        read(tmp_path, "Date;Temp °C\n02.05.2026 14:05;21,4\n")


@pytest.mark.parametrize(
    ("first", "second", "wanted"),
    [
        ("02/05/2026 23:50", "03/05/2026 00:00", "2026-05-02"),
        ("05/02/2026 23:50", "05/03/2026 00:00", "2026-05-02"),
        ("03/03/2026 14:00", "03/03/2026 14:10", "2026-03-03"),
    ],
)
def test_a_midnight_says_which_is_the_day(
    tmp_path: Path, first: str, second: str, wanted: str
) -> None:
    """One order goes on by ten minutes, the other leaps a month."""
    file = read(tmp_path, f"Date,Temp °C\n{first},21.4\n{second},21.6\n")
    assert file.readings[0].at.isoformat()[:10] == wanted


def test_dates_that_fit_neither(tmp_path: Path) -> None:
    """13/05 and 05/13 in one file."""
    with pytest.raises(BadInput, match="neither"):
        read(tmp_path, "Date,Temp °C\n13/05/2026 14:05,21\n05/13/2026 14:10,21\n")


def test_twelve_hours_without_saying_which(tmp_path: Path) -> None:
    """12:55 and then 1:00 on the same day."""
    lines = ["2026-05-22 12:55,21", "2026-05-22 1:00,21", "2026-05-22 1:05,21"]
    for rows in (lines, lines[::-1]):
        with pytest.raises(BadInput, match="am or pm"):
            read(tmp_path, "\n".join(["Date,Temp °C", *rows]))


def test_a_morning_newest_first_has_no_twelve_hours(tmp_path: Path) -> None:
    """From 12:30 down to 6:00, a half hour each."""
    lines = [f"2026-05-22 {n // 2}:{n % 2 * 30:02d},21" for n in range(25, 11, -1)]
    file = read(tmp_path, "\n".join(["Date,Temp °C", *lines]))
    assert file.readings[0].at == datetime(2026, 5, 22, 6, 0, tzinfo=UTC)


@pytest.mark.parametrize("unit", ["c", "f"])
def test_degrees_that_could_be_either_are_asked_for(tmp_path: Path, unit) -> None:
    """68 without a unit; 18 can only be °C."""
    text = "Date,Temperature\n2026-05-22 14:05,68\n2026-05-22 14:10,68.5\n"
    with pytest.raises(BadInput, match="°C or °F"):
        read(tmp_path, text)
    first = read(tmp_path, text, unit=unit).readings[0].temperature_c
    assert first == pytest.approx(68.0 if unit == "c" else 20.0)
    assert read(tmp_path, text.replace("68", "18")).readings[0].temperature_c == 18.0


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nothing here\n",
        "2026-05-22 14:05,21.4,56\n",
        "Date,Pressure\n2026-05-22 14:05,1013\n",
        "Date,Temp °C\n2026-05-22 14:05,warm\n",
        "Date,Temp °C,Probe °F\n2026-05-22 14:05,21,70\n",
        "Date,Temp °C\n2026-05-42 14:05,21\n",
        "Date,Temp °C\n2026-05-22 14:05Z,21\n2026-05-22 14:10,21\n",
    ],
)
def test_what_can_not_be_made_out(tmp_path: Path, text: str) -> None:
    """Refused with what to do."""
    with pytest.raises(BadInput) as refused:
        read(tmp_path, text)
    assert all(refused.value.lines())


def test_a_probe_and_the_air(tmp_path: Path) -> None:
    """The second temperature is the surface; fault codes are flagged as a live sensor's are."""
    text = (
        "Date,Temp °C,External probe °C\n2026-05-22 14:05,21.4,19.5\n2026-05-22 14:10,21.4,-127\n"
    )
    first, second = read(tmp_path, text).readings
    assert (first.surface_c, first.flags.surface) == (19.5, Doubt(0))
    assert second.flags.surface & Doubt.FAULT_CODE
    assert second.raw == "2026-05-22 14:10,21.4,-127"


def every(minutes: int, first: datetime, count: int, zone: ZoneInfo | None) -> list[datetime]:
    """Wall-clock times of a logger: one that follows its zone, or one that keeps its offset."""
    start = first.astimezone(UTC)
    if zone is not None:
        return [
            (start + timedelta(minutes=minutes * n)).astimezone(zone).replace(tzinfo=None)
            for n in range(count)
        ]
    naive = first.replace(tzinfo=None)
    return [naive + timedelta(minutes=minutes * n) for n in range(count)]


@pytest.mark.parametrize("follows", [True, False])
@pytest.mark.parametrize("day", ["2026-03-28", "2026-10-24"])
@pytest.mark.parametrize("newest_first", [True, False])
def test_a_clock_change_neither_makes_nor_loses_an_hour(
    tmp_path: Path, follows: bool, day: str, newest_first: bool
) -> None:
    """A day over it every 30 minutes, by loggers that follow the zone and that don't."""
    first = datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=ATHENS)
    wall = every(30, first, 48, ATHENS if follows else None)
    lines = [f"{t:%Y-%m-%d %H:%M},{15 + n / 10}" for n, t in enumerate(wall)]
    text = "\n".join(["Date,Temp °C", *(lines[::-1] if newest_first else lines)])
    file = read(tmp_path, text, ATHENS)
    times = [reading.at for reading in file.readings]
    if follows or not newest_first:
        assert times[0] == first.astimezone(UTC)
    assert len(times) == 48
    assert {b - a for a, b in pairwise(times)} == {timedelta(minutes=30)}


def test_times_out_of_order_and_twice(tmp_path: Path) -> None:
    """Put in order; of two at one time the first stands."""
    text = (
        "Date,Temp °C\n2026-05-22 14:10,22\n2026-05-22 14:05,21\n"
        "2026-05-22 14:10,29\n2026-05-22 14:15,23\n"
    )
    file = read(tmp_path, text)
    assert [reading.temperature_c for reading in file.readings] == [21.0, 22.0, 23.0]
    assert file.repeated == 1


def test_our_own_files_are_known(tmp_path: Path) -> None:
    """By their header, mark at the front or not; everything else is a logger's."""
    path = tmp_path / "a.csv"
    for text, ours in (
        ("\ufefftime,temperature_c,humidity_pct\n", True),
        ("time,temperature_f\n", True),
        ("Time;Temperature\n", False),
    ):
        path.write_text(text, encoding="utf-8")
        assert is_ours(path) is ours


@pytest.mark.parametrize("minutes", [-75, 60, 179])
@pytest.mark.parametrize("step_s", [60.0, 300.0, 1800.0])
def test_the_same_step_at_another_time(minutes: int, step_s: float) -> None:
    """A6's heater at noon, felt by a live sensor that stands 1.5 °C warmer."""
    live = series("A6")
    kept = series("A6", step_s=step_s)
    late = columns(kept.time_s - 60.0 * minutes, kept.temperature_c - 1.5)
    found = clock_off(late, live)
    assert found is not None
    assert abs(found / timedelta(minutes=1) - minutes) <= step_s / 120.0 + 1.0


@pytest.mark.parametrize("case", ["right", "still", "another place", "no overlap"])
def test_where_nothing_speaks_for_a_wrong_clock(case: str) -> None:
    """Nothing is offered."""
    live = series("A6")
    if case == "right":
        file = live
    elif case == "still":
        file = columns(live.time_s - 3600.0, np.full(len(live), 18.0))
    elif case == "another place":
        file = columns(live.time_s, 15.0 + 4.0 * np.sin(live.time_s / 900.0))
    else:
        file = columns(live.time_s - 864000.0, live.temperature_c)
    assert clock_off(file, live) is None


def rounded(
    told: list[tuple[str, float | None, float | None]],
) -> list[tuple[str, float | None, float | None]]:
    """°F come out of the sum with a hair more or less."""
    return [(at, warm and round(warm, 6), damp and round(damp, 6)) for at, warm, damp in told]


@pytest.mark.parametrize("name", SHAPES)
def test_a_file_cut_anywhere(tmp_path: Path, name: str) -> None:
    """A pulled stick: refused in two lines, or its whole lines are read as they were."""
    whole = SHAPES[name].encode()
    for length in range(len(whole)):
        try:
            told = values(read(tmp_path, whole[:length], dates="dmy"))
        except BadInput:
            continue
        # Of the last line nobody can tell whether its end is missing.
        assert sum(one not in WANTED for one in rounded(told)) <= 1


@pytest.mark.parametrize("name", SHAPES)
def test_noise_in_any_place_is_no_reading(tmp_path: Path, name: str) -> None:
    """A byte that is no text, put in anywhere: refused, or no value that wasn't there."""
    whole = SHAPES[name].encode()
    known = {value for _, *pair in WANTED for value in pair}
    for place in range(0, len(whole), 3):
        spoilt = whole[:place] + b"\x00\xff" + whole[place:]
        try:
            told = values(read(tmp_path, spoilt, dates="dmy"))
        except BadInput:
            continue
        assert {value for _, *pair in rounded(told) for value in pair} <= known | {None}
