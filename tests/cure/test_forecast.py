"""Looking ahead from a place's own days: what must hold of any guess."""

import numpy as np
import pytest

from monitor.cure.forecast import Missing, look_ahead
from monitor.cure.law import Law, opening_law
from monitor.cure.outlook import DAY_S, NoOutlook, Outlook, outlook
from monitor.records import Sheet

HOUR_S = 3600.0
NOW_S = 1_777_800_000.0


def plain(base_c: float = 5.0) -> Law:
    law = opening_law(Sheet("plain", "polyester", base_c=base_c))
    assert law is not None
    return law


def days(count: float, step_s: float = 600.0) -> np.ndarray:
    return NOW_S - np.arange(count * DAY_S, -1.0, -step_s)


def sine(time_s: np.ndarray) -> np.ndarray:
    return 18.0 + 5.0 * np.sin(2.0 * np.pi * time_s / DAY_S)


def parton_logan(time_s: np.ndarray) -> np.ndarray:
    """A day from 10 to 30 °C, sunrise 06:00 and sunset 18:00: a sine by day, a decay by night.

    Parton and Logan 1981 (Agricultural Meteorology 23, 205-216), with Wann's coefficients of 1985
    (2.59, 1.55, 2.2). Checked below at three hours worked in a public package's tests.
    """
    hour = np.mod(time_s / HOUR_S, 24.0)
    alpha, beta, gamma = 2.59, 1.55, 2.2
    low, high, rise, sets = 10.0, 30.0, 6.0, 18.0
    light = sets - rise
    dawn = rise + beta

    def by_day(at: np.ndarray) -> np.ndarray:
        return (high - low) * np.sin(np.pi * (at - dawn) / (light + 2.0 * (alpha - beta))) + low

    dusk = float(by_day(np.array(sets)))
    since = np.where(hour > sets, hour - sets, hour + 24.0 - sets)
    by_night = low + (dusk - low) * np.exp(-gamma * since / (24.0 - light + beta))
    return np.where((hour >= dawn) & (hour <= sets), by_day(hour), by_night)


@pytest.mark.parametrize(("hour", "expected_c"), [(11, 23.91954), (20, 20.46866), (3, 13.35971)])
def test_the_published_day_is_as_published(hour: int, expected_c: float) -> None:
    """The shape used below is Parton and Logan's, at the hours a public package works out."""
    assert float(parton_logan(np.array([hour * HOUR_S]))[0]) == pytest.approx(expected_c, abs=1e-4)


def campbell_norman(time_s: np.ndarray) -> np.ndarray:
    """A day from 10 to 30 °C by two harmonics.

    Campbell and Norman 1998 (An Introduction to Environmental Biophysics, 2nd ed.), eq. 2.2-2.3.
    """
    turn = 2.0 * np.pi * np.mod(time_s / HOUR_S, 24.0) / 24.0
    share = 0.44 - 0.46 * np.sin(turn + 0.9) + 0.11 * np.sin(2.0 * turn + 0.9)
    return 30.0 * share + 10.0 * (1.0 - share)


def test_the_two_harmonics_are_as_published() -> None:
    """Campbell and Norman's day at 11:00, as a public package's tests work it out."""
    assert float(campbell_norman(np.array([11 * HOUR_S]))[0]) == pytest.approx(25.08958, abs=1e-4)


def seen(time_s: np.ndarray, temperature_c: np.ndarray) -> Outlook:
    ahead = outlook(time_s, temperature_c, NOW_S)
    assert isinstance(ahead, Outlook)
    return ahead


@pytest.mark.parametrize(
    "shape",
    [sine, parton_logan, campbell_norman],
    ids=["sine", "Parton-Logan", "Campbell-Norman"],
)
@pytest.mark.parametrize("step_s", [60.0, 600.0, 1800.0])
def test_days_that_repeat_are_forecast_as_they_are(shape, step_s: float) -> None:
    """A week of the same day: the next two days are that day, to a fifth of a degree."""
    time_s = days(7, step_s)
    ahead = seen(time_s, shape(time_s))
    two_days = ahead.time_s <= NOW_S + 2 * DAY_S
    expected = shape(ahead.time_s[two_days])
    assert np.abs(ahead.middle_c[two_days] - expected).mean() < 0.1
    assert ahead.basis == "from the last 7 days here"


@pytest.mark.parametrize("shape", [sine, parton_logan, campbell_norman])
@pytest.mark.parametrize("hole_h", [0.0, 9.0, 30.0])
def test_an_exact_repeat_is_forecast_exactly(shape, hole_h: float) -> None:
    """Read every 15 minutes, days that repeat come back to the rounding, with a silence in them."""
    time_s = days(6, 900.0)
    since_h = (NOW_S - time_s) / HOUR_S
    time_s = time_s[(since_h <= 20.0) | (since_h > 20.0 + hole_h)]
    ahead = seen(time_s, shape(time_s))
    np.testing.assert_allclose(ahead.middle_c, shape(ahead.time_s), rtol=0.0, atol=1e-6)


def test_few_days_are_less_sure_than_many() -> None:
    """The same day twice, four times, twelve times: the band narrows as it is better known."""
    widths = []
    for count in (1, 2, 4, 12):
        time_s = days(count)
        ahead = seen(time_s, sine(time_s))
        widths.append(float(ahead.high_c[96] - ahead.low_c[96]))
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 2.0 * widths[-1]


def test_one_night_is_said_to_be_one() -> None:
    """The basis names what the guess rests on, hour by hour and day by day."""
    told = {}
    for hours in (14, 30, 72):
        time_s = days(hours / 24.0)
        told[hours] = seen(time_s, sine(time_s)).basis
    assert told == {
        14: "from the last 14 hours here, the rest of the day unseen",
        30: "tonight like last night",
        72: "from the last 3 days here",
    }


def test_a_part_may_be_warmer_or_colder_than_its_sensor() -> None:
    """How far the part may be from the sensor widens both edges and leaves the middle."""
    time_s = days(6)
    ahead = seen(time_s, sine(time_s))
    missing = Missing(240.0, 240.0, 240.0)
    near, far = (look_ahead(ahead, plain(), band_c).reached(missing) for band_c in (0.0, 2.0))
    assert far.middle_s == near.middle_s
    assert far.early_s is not None
    assert near.early_s is not None
    assert far.late_s is not None
    assert near.late_s is not None
    assert far.early_s < near.early_s < near.late_s < far.late_s


def test_a_constant_stays_constant() -> None:
    """Nothing to fade, nothing to swing: and the band still admits that the weather may turn."""
    time_s = days(5)
    ahead = seen(time_s, np.full(time_s.size, 15.0))
    assert np.allclose(ahead.middle_c, 15.0)
    assert (ahead.low_c[1:] < 15.0).all()
    assert (ahead.high_c[1:] > 15.0).all()


def test_a_warm_spell_fades() -> None:
    """Five degrees over the usual since yesterday: still felt tonight, less every day after."""
    time_s = days(10)
    temperature_c = sine(time_s) + np.where(time_s > NOW_S - DAY_S, 5.0, 0.0)
    ahead = seen(time_s, temperature_c)
    over = ahead.middle_c - sine(ahead.time_s)
    at = [int(hours * HOUR_S / 900.0) for hours in (2, 24, 72, 240)]
    assert list(over[at]) == sorted(over[at], reverse=True)
    assert over[at[0]] > 3.5
    assert over[at[-1]] < 2.5


def test_the_band_holds_the_middle_and_widens_with_time() -> None:
    """Low, middle, high in order; a stage further off is less sure."""
    rng = np.random.default_rng(3)
    time_s = days(12)
    temperature_c = sine(time_s) + np.repeat(rng.normal(0.0, 2.0, 13), 144)[: time_s.size]
    ahead = look_ahead(seen(time_s, temperature_c), plain())
    widths = []
    for missing in (30.0, 120.0, 480.0, 1000.0):
        told = ahead.reached(Missing(missing, missing, missing))
        assert told.early_s is not None
        assert told.middle_s is not None
        assert told.late_s is not None
        assert NOW_S < told.early_s <= told.middle_s <= told.late_s
        widths.append(told.late_s - told.early_s)
    assert widths == sorted(widths)


def test_more_missing_is_never_sooner() -> None:
    """A stage that lacks more comes no earlier, at every edge."""
    time_s = days(4)
    ahead = look_ahead(seen(time_s, sine(time_s)), plain())
    told = [ahead.reached(Missing(m, m, m)) for m in np.arange(0.0, 900.0, 15.0)]
    for edge in ("early_s", "middle_s", "late_s"):
        times = [getattr(one, edge) for one in told]
        assert times == sorted(times)
    nothing = ahead.reached(Missing(0.0, None, -5.0))
    assert (nothing.late_s, nothing.middle_s, nothing.early_s) == (NOW_S, None, NOW_S)


def test_a_count_that_can_not_be_reached() -> None:
    """Too cold for good: no time is made up."""
    time_s = days(3)
    ahead = look_ahead(seen(time_s, np.full(time_s.size, -20.0)), plain())
    told = ahead.reached(Missing(50.0, 50.0, 50.0))
    assert (told.early_s, told.middle_s, told.late_s) == (None, None, None)


def test_a_stage_time_on_repeating_days_is_the_count_itself() -> None:
    """On days that repeat the guess is what the count then says: 240 over 5 °C at 18 ± 5 °C."""
    time_s = days(6)
    law = plain()
    told = look_ahead(seen(time_s, sine(time_s)), law).reached(Missing(None, 240.0, None))
    grid = NOW_S + np.arange(0.0, 3 * DAY_S, 60.0)
    count = np.cumsum(np.maximum(sine(grid) - 5.0, 0.0)) / 60.0
    exact_s = float(grid[np.searchsorted(count, 240.0)])
    assert told.middle_s == pytest.approx(exact_s, abs=600.0)


@pytest.mark.parametrize("hours", [0.0, 3.0, 11.0])
def test_too_little_says_so(hours: float) -> None:
    """Under twelve hours of readings there is no outlook, and a sentence why."""
    time_s = days(hours / 24.0) if hours else np.empty(0)
    ahead = outlook(time_s, sine(time_s), NOW_S)
    assert isinstance(ahead, NoOutlook)
    assert ahead.why.startswith("Under 12 hours of readings here")


def test_a_stale_trace_says_so() -> None:
    """A sensor silent for over a day says nothing of tonight."""
    time_s = days(9) - 1.5 * DAY_S
    ahead = outlook(time_s, sine(time_s), NOW_S)
    assert isinstance(ahead, NoOutlook)
    assert "No reading here for a day" in ahead.why


def test_holes_irregular_steps_and_rows_after_now() -> None:
    """Missing nights, nan, bursts and rows from after now change little on days that repeat."""
    rng = np.random.default_rng(8)
    time_s = np.sort(NOW_S - rng.uniform(0.0, 8 * DAY_S, 4000))
    time_s = time_s[(time_s < NOW_S - 3.5 * DAY_S) | (time_s > NOW_S - 3.1 * DAY_S)]
    temperature_c = sine(time_s)
    temperature_c[::50] = np.nan
    later = NOW_S + np.arange(60.0, DAY_S, 60.0)
    ahead = seen(
        np.concatenate((time_s, later)), np.concatenate((temperature_c, np.full(later.size, 90.0)))
    )
    two_days = ahead.time_s <= NOW_S + 2 * DAY_S
    assert np.abs(ahead.middle_c - sine(ahead.time_s))[two_days].max() < 0.6
