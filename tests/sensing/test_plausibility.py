"""What is doubted and, as important, what isn't."""

import math
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.records import NO_DOUBT, Doubt, Flags, Reading
from monitor.sensing.plausibility import Plausibility
from monitor.units import Unit, c_from_f

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
NAN = float("nan")


def one(
    air: float | None,
    humidity: float | None = None,
    surface: float | None = None,
    unit: Unit | None = "c",
) -> Flags:
    """The flags of a sensor's first reading."""
    return Plausibility(unit).check(Reading(AT, air, humidity, surface)).flags


def air_doubts(points: list[tuple[float, float]], unit: Unit | None = "c") -> list[Doubt]:
    """Doubts of air temperatures given as (minutes, °C); humidity wanders a little."""
    checker = Plausibility(unit)
    return [
        checker.check(
            Reading(AT + timedelta(minutes=minutes), air, 60.0 + place % 7 / 10)
        ).flags.temperature
        for place, (minutes, air) in enumerate(points)
    ]


def surface_doubts(points: list[tuple[float, float]]) -> list[Doubt]:
    checker = Plausibility("c")
    return [
        checker.check(
            Reading(AT + timedelta(minutes=minutes), 24.0, 50.0 + place % 7, c)
        ).flags.surface
        for place, (minutes, c) in enumerate(points)
    ]


@pytest.mark.parametrize("code", [-127.0, -999.0, 999.0, 6553.5, 3276.7, NAN])
def test_fault_codes_are_known_in_every_column(code: float) -> None:
    """What probes and their libraries send for "no value"; not out of range besides."""
    assert one(code, 56.0).temperature is Doubt.FAULT_CODE
    assert one(21.4, code).humidity is Doubt.FAULT_CODE
    assert one(21.4, 56.0, code).surface is Doubt.FAULT_CODE
    assert one(21.4, code).temperature is NO_DOUBT


@pytest.mark.parametrize("code", [-127.0, -999.0, 999.0, 6553.5, 3276.7])
def test_fault_codes_are_known_from_a_fahrenheit_sensor(code: float) -> None:
    """Some libraries convert them like any value, some send them as they are."""
    assert one(c_from_f(code), 56.0, unit="f").temperature is Doubt.FAULT_CODE
    assert one(code, 56.0, unit="f").temperature is Doubt.FAULT_CODE


def test_85_is_a_fault_in_the_air_and_an_ordinary_day_in_fahrenheit() -> None:
    """85.0 °C is a probe's power-up value; 85.0 °F is 29.4 °C."""
    assert one(85.0, 56.0).temperature is Doubt.FAULT_CODE
    assert not one(c_from_f(85.0), 56.0, unit="f")


def test_zero_and_zero_is_a_dead_sensor_and_zero_alone_is_frost() -> None:
    """Both at once, in the unit of the wire."""
    assert one(0.0, 0.0) == Flags(Doubt.FAULT_CODE, Doubt.FAULT_CODE)
    assert one(c_from_f(0.0), 0.0, unit="f") == Flags(Doubt.FAULT_CODE, Doubt.FAULT_CODE)
    assert not one(0.0, 80.0)


def test_85_on_a_part_in_a_smooth_climb_is_real() -> None:
    """A thick fillet that runs hot passes 85.0 on its way; the alarm hangs on it."""
    climb = [(0, 62.0), (1, 69.5), (2, 77.0), (3, 85.0), (4, 92.0), (5, 98.0)]
    assert surface_doubts(climb)[2:] == [NO_DOUBT] * 4


@pytest.mark.parametrize("before", [[], [(0, 22.0), (1, 22.1)], [(0, 60.0), (1, 61.0)]])
def test_85_on_a_part_out_of_the_blue_is_a_probe_that_woke_up(before) -> None:
    """From nothing, or from workshop warmth."""
    assert surface_doubts([*before, (2, 85.0)])[-1] is Doubt.FAULT_CODE


def test_85_on_a_part_after_a_long_silence_is_a_probe_that_woke_up() -> None:
    """However warm it was an hour ago."""
    assert surface_doubts([(0, 80.0), (60, 85.0)])[-1] is Doubt.FAULT_CODE


@pytest.mark.parametrize(
    ("air", "humidity", "surface", "flags"),
    [
        (-40.0, 0.5, -40.0, Flags()),
        (45.0, 100.0, 200.0, Flags()),
        (-40.1, 50.0, None, Flags(temperature=Doubt.OUT_OF_RANGE)),
        (20.0, 100.1, None, Flags(humidity=Doubt.OUT_OF_RANGE)),
        (20.0, -0.1, None, Flags(humidity=Doubt.OUT_OF_RANGE)),
        (20.0, 50.0, 200.1, Flags(surface=Doubt.OUT_OF_RANGE)),
        (20.0, 50.0, -40.1, Flags(surface=Doubt.OUT_OF_RANGE)),
        (60.1, 50.0, None, Flags(temperature=Doubt.OUT_OF_RANGE)),
        (None, 50.0, None, Flags()),
        (20.0, None, None, Flags()),
    ],
)
def test_ranges(air, humidity, surface, flags: Flags) -> None:
    """Air −40 to 60 °C, a part to 200 °C, humidity 0 to 100 %: kept and flagged, never clipped."""
    assert one(air, humidity, surface) == flags


def test_a_doubted_value_stays_as_it_was() -> None:
    """Flagged, never erased or repaired."""
    reading = Reading(AT, -127.0, 101.3, 250.0, raw="as it came")
    checked = Plausibility("c").check(reading)
    assert (checked.temperature_c, checked.humidity_pct, checked.surface_c, checked.raw) == (
        -127.0,
        101.3,
        250.0,
        "as it came",
    )


def test_flags_that_were_there_stay() -> None:
    """The check adds, it doesn't judge what others knew."""
    reading = Reading(AT, 20.0, 101.0, flags=Flags(temperature=Doubt.BY_HAND))
    assert Plausibility("c").check(reading).flags == Flags(Doubt.BY_HAND, Doubt.OUT_OF_RANGE)


def test_a_single_jump_is_a_spike_and_its_neighbours_are_not() -> None:
    """Up or down, as a sander makes them."""
    points = [(0, 20.0), (1, 20.1), (2, 31.0), (3, 20.2), (4, 9.0), (5, 20.2)]
    wanted = [NO_DOUBT, NO_DOUBT, Doubt.SPIKE, NO_DOUBT, Doubt.SPIKE, NO_DOUBT]
    assert air_doubts(points) == wanted


def test_of_a_step_that_stays_only_the_first_is_doubted() -> None:
    """The sensor was carried to another place: the second reading bears the first out."""
    points = [(0, 20.0), (1, 20.0), (2, 12.0), (3, 12.4), (4, 12.5)]
    assert air_doubts(points) == [NO_DOUBT, NO_DOUBT, Doubt.SPIKE, NO_DOUBT, NO_DOUBT]


def test_two_spikes_that_disagree_are_two_spikes() -> None:
    """Nothing bears either out."""
    points = [(0, 20.0), (1, 35.0), (2, 11.0), (3, 20.1)]
    assert air_doubts(points) == [NO_DOUBT, Doubt.SPIKE, Doubt.SPIKE, NO_DOUBT]


@pytest.mark.parametrize("step_min", [0.1, 0.5, 1.0, 2.0, 5.0])
def test_a_fast_morning_warm_up_is_no_spike(step_min: float) -> None:
    """3 °C a minute beside a heater, whatever the sensor's own step."""
    count = round(10 / step_min)
    warm_up = [(place * step_min, 5.0 + 3.0 * place * step_min) for place in range(count + 1)]
    assert set(air_doubts(warm_up)) == {NO_DOUBT}


def test_a_loggers_half_hour_steps_are_no_spikes() -> None:
    """6 °C from one to the next is a morning, not noise."""
    points = [(30.0 * place, 12.0 + 6.0 * (place % 3)) for place in range(20)]
    assert set(air_doubts(points)) == {NO_DOUBT}


def test_a_part_that_runs_hot_is_doubted_once_at_most() -> None:
    """41 to 96 °C in eight minutes (cleat pad): the loudest alarm must hear it before 80 °C."""
    rise = [(float(m), 41.0 + 55.0 * m / 8.0) for m in range(9)]
    doubts = surface_doubts([(-2.0, 38.0), (-1.0, 39.5), *rise])
    assert doubts.count(Doubt.SPIKE) <= 1
    assert doubts[5:] == [NO_DOUBT] * len(doubts[5:])


def test_a_spike_within_a_fast_climb_is_still_one() -> None:
    """And the climb goes on undoubted after it."""
    points = [(0, 41.0), (1, 48.0), (2, 55.0), (3, 62.0), (4, 99.0), (5, 76.0), (6, 83.0)]
    doubts = surface_doubts(points)
    assert doubts[4] is Doubt.SPIKE
    assert doubts[5:] == [NO_DOUBT, NO_DOUBT]


def test_lines_of_one_burst_are_neighbours() -> None:
    """A microsecond apart, an ordinary difference is no spike and sets no slope."""
    tiny = 1e-6 / 60
    points = [(0, 20.0), (tiny, 20.3), (1, 20.4), (2, 40.0)]
    assert air_doubts(points) == [NO_DOUBT, NO_DOUBT, NO_DOUBT, Doubt.SPIKE]


def frozen_flags(readings: list[tuple[float, float, float | None]], step_min: float) -> list[Flags]:
    checker = Plausibility("c")
    return [
        checker.check(Reading(AT + timedelta(minutes=step_min * place), *values)).flags
        for place, values in enumerate(readings)
    ]


def test_the_same_to_the_last_digit_for_two_hours_is_frozen() -> None:
    """From then on, in all that is given, until anything moves."""
    flags = frozen_flags([(18.4, 65.2, None)] * 125 + [(18.5, 65.2, None)], 1.0)
    assert not any(flags[:121])
    assert flags[121:125] == [Flags(Doubt.FROZEN, Doubt.FROZEN)] * 4
    assert not flags[125]


@pytest.mark.parametrize(
    "readings",
    [
        pytest.param([(18.0, 65.0, None)] * 300, id="whole degrees can stay"),
        pytest.param([(18.4, None, None)] * 300, id="no humidity to go by"),
        pytest.param([(18.4, 65.0 + n % 2, None) for n in range(300)], id="humidity moves"),
        pytest.param([(18.4 + n % 2 / 10, 65.0, None) for n in range(300)], id="air moves"),
        pytest.param([(18.4, 65.2, 16.0 + n % 2) for n in range(300)], id="surface moves"),
        pytest.param([(18.4, NAN, None)] * 300, id="no number"),
    ],
)
def test_what_is_not_frozen(readings) -> None:
    """It takes both, and a sensor that shows fractions."""
    assert not any(flags.temperature & Doubt.FROZEN for flags in frozen_flags(readings, 1.0))


def test_a_loggers_four_hours_of_the_same_are_frozen_and_a_silence_is_not() -> None:
    """Five readings at least, and nobody knows what it did while it was silent."""
    assert frozen_flags([(18.4, 65.2, None)] * 6, 30.0)[-1].temperature is Doubt.FROZEN
    assert not any(frozen_flags([(18.4, 65.2, None)] * 6, 90.0))


def test_a_sensor_that_stood_still_before_is_given_longer() -> None:
    """Twice as long as it once stood before it went on by a step; one that hung leaps instead."""
    steady = [(18.4, 65.0, None)] * 100 + [(18.5, 65.0, None)] * 190 + [(18.6, 65.0, None)]
    assert not any(frozen_flags(steady, 1.0))
    hung = [(18.4, 65.0, None)] * 100 + [(21.5, 58.0, None)] * 190
    assert sum(bool(flags) for flags in frozen_flags(hung, 1.0)) == 69


def test_a_fahrenheit_sensor_of_whole_degrees_is_not_frozen() -> None:
    """67 °F is 19.44 °C, but it shows no fractions."""
    checker = Plausibility("f")
    for minute in range(300):
        at = AT + timedelta(minutes=minute)
        assert not checker.check(Reading(at, c_from_f(67.0), 54.0)).flags


@pytest.mark.parametrize("first", [45.0, 68.0, 110.0])
def test_values_of_no_workplace_without_a_unit_look_like_fahrenheit(first: float) -> None:
    """Until the unit is set, also when the night brings them below."""
    assert air_doubts([(0, first), (1, 44.0), (2, 40.0)], None) == [Doubt.LOOKS_FAHRENHEIT] * 3
    assert Doubt.LOOKS_FAHRENHEIT not in air_doubts([(0, first), (1, 44.0)], "c")


def test_a_surface_column_shares_the_unit() -> None:
    """Both temperatures are doubted, the humidity isn't."""
    doubt = Doubt.LOOKS_FAHRENHEIT
    assert one(68.0, 54.0, 64.0, None) == Flags(temperature=doubt, surface=doubt)


def test_a_sensor_that_was_right_does_not_become_fahrenheit_in_the_sun() -> None:
    """21 °C first, then 48 beside a heat gun."""
    points = [(0.0, 21.0), (30.0, 35.0), (60.0, 48.0)]
    assert air_doubts(points, None) == [NO_DOUBT] * 3


def test_a_fahrenheit_night_that_warms_up_is_noticed() -> None:
    """40 could be either; 46 can't."""
    assert air_doubts([(0, 40.0), (30, 43.0), (60, 46.0), (90, 44.0)], None) == [
        NO_DOUBT,
        NO_DOUBT,
        Doubt.LOOKS_FAHRENHEIT,
        Doubt.LOOKS_FAHRENHEIT,
    ]


def test_a_hot_part_alone_says_nothing_about_the_unit() -> None:
    """A program started in the middle of runaway heat must not doubt the probe."""
    assert one(None, None, 96.0, None) == Flags()


def test_humidity_in_the_temperatures_place_is_noticed() -> None:
    """63 °C and 20.4 %: columns the wrong way round; until they are turned."""
    checker = Plausibility("c")
    swapped = Flags(Doubt.SWAPPED, Doubt.SWAPPED)
    flags = [
        checker.check(Reading(AT + timedelta(minutes=minute), air, humidity)).flags
        for minute, (air, humidity) in enumerate([(63.0, 20.4), (44.0, 21.0), (20.4, 63.0)])
    ]
    assert flags == [swapped, swapped, Flags()]


def test_a_dry_heat_wave_on_a_sensor_that_was_right_is_not_swapped() -> None:
    """46 °C and 20 % in the sun after an ordinary morning."""
    checker = Plausibility("c")
    checker.check(Reading(AT, 30.0, 40.0))
    assert not checker.check(Reading(AT + timedelta(hours=2), 46.0, 20.0)).flags


@given(
    st.lists(
        st.tuples(
            st.floats(0, 1000),
            st.none() | st.floats(),
            st.none() | st.floats(),
            st.none() | st.floats(),
        ),
        max_size=40,
    ),
    st.sampled_from(["c", "f", None]),
)
def test_any_values_at_any_pace_are_kept_and_flagged(rows, unit: Unit | None) -> None:
    """Nothing makes it fail, and what isn't given is never doubted."""
    checker = Plausibility(unit)
    for minutes, air, humidity, surface in rows:
        reading = Reading(AT + timedelta(minutes=minutes), air, humidity, surface)
        checked = checker.check(reading)
        assert (checked.temperature_c, checked.surface_c) == (air, surface)
        for value, doubt in (
            (air, checked.flags.temperature),
            (humidity, checked.flags.humidity),
            (surface, checked.flags.surface),
        ):
            assert bool(doubt) <= (value is not None)
            if value is not None and not math.isfinite(value):
                assert doubt


@given(st.lists(st.floats(-3.0, 3.0), min_size=2, max_size=60), st.floats(0.0, 25.0))
def test_no_walk_of_up_to_three_degrees_a_minute_is_a_spike(
    steps: list[float], start: float
) -> None:
    """Whatever way it goes."""
    values = [start]
    for step in steps:
        values.append(min(55.0, max(-35.0, values[-1] + step)))
    assert all(abs(b - a) <= 3.0 + 1e-9 for a, b in pairwise(values))
    doubts = air_doubts([(float(minute), value) for minute, value in enumerate(values)])
    assert not any(doubt & Doubt.SPIKE for doubt in doubts)
