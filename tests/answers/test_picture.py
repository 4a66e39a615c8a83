"""A window into a part's history: near to each reading, far off sums, and the count unchanged."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from monitor.air import dew_point_c, spread_c
from monitor.answers.counts import Standing, cut, some_of, standing_of
from monitor.answers.picture import Window, kept_of, picture
from monitor.answers.traces import Stretch, Traced, bucket_s, silences_of, trace
from monitor.answers.views import LayupHistory, StaySeries
from monitor.assess import settle
from monitor.records import Doubt, Flags, Readings
from monitor.times import from_unix
from tests.scenarios import columns
from tests.scenarios.shop import ShopAtHand

ZONE = ZoneInfo("Europe/Lisbon")
BEGUN = datetime(2026, 5, 2, 10, 0, tzinfo=UTC)
DAYS = 20
STEP_S = 300.0
NOW = BEGUN + timedelta(days=DAYS)
SILENT = (BEGUN + timedelta(days=6, hours=3), BEGUN + timedelta(days=6, hours=11))
SPIKE = BEGUN + timedelta(days=9, minutes=100)


def weather() -> Readings:
    """Twenty days of a shed every five minutes, a third of a day silent, one breath of hot air."""
    time_s = BEGUN.timestamp() + np.arange(0.0, DAYS * 86_400.0, STEP_S)
    hours = (time_s - time_s[0]) / 3600.0
    warm = 17.0 + 6.0 * np.cos(hours / 24.0 * 2.0 * np.pi) + 0.4 * np.sin(hours * 3.7)
    warm = np.where(time_s == SPIKE.timestamp(), 41.25, np.round(warm, 2))
    humid = np.round(95.0 - 1.5 * warm + 3.0 * np.sin(hours * 2.1), 1)
    heard = (time_s <= SILENT[0].timestamp()) | (time_s >= SILENT[1].timestamp())
    return columns(time_s[heard], warm[heard], humid[heard])


@pytest.fixture
def filled(shop: ShopAtHand) -> ShopAtHand:
    shop.hear("shed", weather())
    shop.lay_up(1, "P1", BEGUN)
    shop.put("1", "shed", BEGUN, now=NOW)
    return shop


def standing(shop: ShopAtHand, at: datetime = NOW, earlier: Standing | None = None) -> Standing:
    told = standing_of(shop.look(1, at), at, ZONE, earlier)
    assert told is not None
    return told


def seen(shop: ShopAtHand, window: Window, at: datetime = NOW) -> LayupHistory:
    kept = kept_of(shop.store, shop.store.book.layup(1))
    return picture(shop.store, kept, standing(shop, at), (), window, zone=ZONE, unit="c")


def drawn_of(shop: ShopAtHand, first: timedelta, last: timedelta) -> StaySeries:
    (series,) = seen(shop, Window(BEGUN + first, BEGUN + last)).stays
    return series


def stored(shop: ShopAtHand, begin_s: float, end_s: float) -> Readings:
    """Those of a bucket: its end belongs to the next."""
    return shop.store.readings.between(1, from_unix(begin_s), from_unix(end_s - 1e-3))


def test_near_to_each_point_is_a_stored_reading(filled: ShopAtHand) -> None:
    """Every one of them, to the bit, with dew point and spread of the same moment."""
    series = drawn_of(filled, timedelta(days=2), timedelta(days=3))
    known = filled.store.readings.between(1, from_unix(series.time_s[0]), BEGUN + timedelta(days=3))
    assert series.step_s == 0.0
    assert series.temperature_band_c is None
    np.testing.assert_array_equal(series.time_s, known.time_s)
    np.testing.assert_array_equal(series.temperature_c, known.temperature_c)
    np.testing.assert_array_equal(series.humidity_pct, known.humidity_pct)
    dew = dew_point_c(known.temperature_c, known.humidity_pct)
    np.testing.assert_array_equal(series.dew_point_c, dew)
    np.testing.assert_array_equal(series.spread_c, spread_c(known.temperature_c, dew))


@pytest.mark.parametrize("points", [700, 300])
def test_far_off_each_point_sums_up_stored_readings(filled: ShopAtHand, points: int) -> None:
    """Mean, lowest and highest of each bucket are those of its stored readings.

    The spread's band holds every spread that was: it is as wide as warmth and humidity allow.
    """
    (series,) = seen(filled, Window(width_px=points)).stays
    assert series.step_s >= 3600.0
    bands = (series.temperature_band_c, series.humidity_band_pct, series.spread_band_c)
    temperature, humidity, spread = bands
    assert temperature is not None
    assert humidity is not None
    assert spread is not None
    for i, middle_s in enumerate(series.time_s):
        inside = stored(filled, middle_s - series.step_s / 2, middle_s + series.step_s / 2)
        warm, humid = inside.temperature_c, inside.humidity_pct
        assert series.temperature_c[i] == pytest.approx(warm.mean())
        assert series.humidity_pct[i] == pytest.approx(humid.mean())
        assert (temperature.low[i], temperature.high[i]) == (warm.min(), warm.max())
        assert (humidity.low[i], humidity.high[i]) == (humid.min(), humid.max())
        each = spread_c(warm, dew_point_c(warm, humid))
        assert spread.low[i] <= each.min() + 1e-9
        assert spread.high[i] >= each.max() - 1e-9


def test_no_spike_is_lost_at_any_distance(filled: ShopAtHand) -> None:
    """One hot reading in twenty days is the band's top however far off one looks."""
    for points in (300, 700, 1200):
        (series,) = seen(filled, Window(width_px=points)).stays
        assert series.temperature_band_c is not None
        assert np.nanmax(series.temperature_band_c.high) == 41.25


def test_the_nearer_the_finer() -> None:
    """Buckets get shorter with the stretch; there are never more than points."""
    hours = (6, 24, 96, 400, 2000, 8760, 26_280)
    steps = [bucket_s(Stretch(0.0, 3600.0 * h, 700)) for h in hours]
    assert steps == sorted(steps)
    assert steps[-2] == 86_400.0
    assert all(3600.0 * h / step <= 700 for h, step in zip(hours, steps, strict=True))


def test_a_silence_is_told_to_the_sums_own_minute(filled: ShopAtHand) -> None:
    """Near to it is exact; far off it is as exact as the hours it is read from."""
    near = seen(filled, Window(SILENT[0] - timedelta(hours=2), SILENT[1] + timedelta(hours=2)))
    assert near.silences == ((SILENT[0].timestamp(), SILENT[1].timestamp()),)
    ((begin, end),) = seen(filled, Window()).silences
    assert 0.0 <= begin - SILENT[0].timestamp() <= 3600.0
    assert 0.0 <= SILENT[1].timestamp() - end <= 3600.0


def test_what_lasts_until_now_is_a_silence_and_what_is_to_come_is_none(filled: ShopAtHand) -> None:
    """Hatched from the last reading until now, and never past it."""
    later = NOW + timedelta(hours=5)
    last = NOW - timedelta(seconds=STEP_S)
    told = seen(filled, Window(NOW - timedelta(hours=4), later + timedelta(hours=3)), later)
    assert told.silences == ((last.timestamp(), later.timestamp()),)
    assert told.end_s == (later + timedelta(hours=3)).timestamp()


def test_two_sensors_are_silent_only_together(filled: ShopAtHand) -> None:
    """What one of them measured is measured."""
    heard = weather()
    part = heard.between(SILENT[0].timestamp() - 3600.0, SILENT[0].timestamp())
    other = replace(part, time_s=part.time_s + 3 * 3600.0)
    filled.hear("bow", other)
    filled.put("1/skin-a", "bow", BEGUN, now=NOW)
    told = seen(filled, Window(SILENT[0] - timedelta(hours=2), SILENT[1] + timedelta(hours=2)))
    assert [begin for begin, _ in told.silences] == [SILENT[0].timestamp(), other.time_s[-1]]


def test_a_logger_of_long_steps_is_not_silent_between_them() -> None:
    """Two and a half of its own steps are a silence, two are not."""
    at_s = np.array([0.0, 3600.0, 7200.0, 10_800.0, 18_000.0, 27_600.0])
    one = Traced(replace(_nothing(), time_s=at_s), at_s, at_s)
    told = silences_of((one,), from_unix(0.0), from_unix(27_600.0))
    assert told == ((18_000.0, 27_600.0),)


def _nothing() -> StaySeries:
    from monitor.records import Channel, Nearness

    none = np.empty(0)
    return StaySeries(
        "shed", Channel.AIR, Nearness.BESIDE, none, none, none, none, none, none, none
    )


def test_suspect_readings_are_apart_near_and_far(filled: ShopAtHand) -> None:
    """They are in no mean and no band, and stay to be drawn hollow."""
    since, until = BEGUN + timedelta(days=12), BEGUN + timedelta(days=12, hours=2)
    filled.store.readings.add_flags(1, since, until, Flags(temperature=Doubt.SUNNED))
    bad = filled.store.readings.between(1, since, until)
    for window in (Window(since - timedelta(hours=3), until + timedelta(hours=3)), Window()):
        (series,) = seen(filled, window).stays
        np.testing.assert_array_equal(series.suspect_time_s, bad.time_s)
        np.testing.assert_array_equal(series.suspect_temperature_c, bad.temperature_c)
    near = drawn_of(filled, timedelta(days=11, hours=20), timedelta(days=12, hours=6))
    assert not set(near.time_s.tolist()) & set(bad.time_s.tolist())


def test_a_frozen_fortnight_is_sampled_not_loaded(filled: ShopAtHand) -> None:
    """Of very many suspect readings some hours stand for all, over the whole stretch."""
    filled.store.readings.add_flags(1, BEGUN, NOW, Flags(temperature=Doubt.FROZEN))
    (series,) = seen(filled, Window()).stays
    assert series.time_s.size == 0
    assert 300 <= series.suspect_time_s.size <= 1000
    assert np.ptp(series.suspect_time_s) > 18 * 86_400.0


def test_the_count_drawn_is_the_count_at_its_times(filled: ShopAtHand) -> None:
    """Each point of each edge is what the assessment says as of that moment.

    Not in a silence: at that time nobody knew yet how warm it would turn out to have been.
    """
    history = seen(filled, Window())
    (count,) = history.counts
    quiet = [s.timestamp() for s in SILENT]
    for i in range(3, count.time_s.size, 37):
        at_s = float(count.time_s[i])
        if quiet[0] < at_s <= quiet[1]:
            continue
        told = filled.look(1, from_unix(at_s)).batches[0].worked.assessment.count
        assert count.low[i] == pytest.approx(told.low, abs=1e-6)
        assert count.middle[i] == pytest.approx(told.middle, abs=1e-6)
        assert count.high[i] == pytest.approx(told.high, abs=1e-6)
    assert count.time_s[0] == BEGUN.timestamp()
    assert count.time_s[-1] == NOW.timestamp()


def test_looking_closer_counts_the_same(filled: ShopAtHand) -> None:
    """The points of a near look lie on the curve of the far one."""
    whole = standing(filled).counts[0]
    near = cut(whole, (BEGUN + timedelta(days=3)).timestamp(), NOW.timestamp() - 14 * 86_400, 500)
    at = np.searchsorted(whole.time_s, near.time_s)
    np.testing.assert_array_equal(whole.time_s[at], near.time_s)
    np.testing.assert_array_equal(whole.middle[at], near.middle)
    assert near.time_s[0] <= (BEGUN + timedelta(days=3)).timestamp() < near.time_s[1]


def test_the_guess_begins_at_now_with_the_count_as_it_is(filled: ShopAtHand) -> None:
    """Count and temperature ahead start at now; the measured columns end there."""
    at = BEGUN + timedelta(hours=14)
    history = seen(filled, Window(), at)
    (count,) = history.counts
    assert count.ahead is not None
    assert count.ahead.time_s[0] == at.timestamp()
    assert count.ahead.middle[0] == pytest.approx(count.middle[-1])
    assert (np.diff(count.ahead.low) >= 0).all()
    assert count.ahead.basis == history.warmth[0].basis
    assert history.end_s > at.timestamp()
    assert count.time_s[-1] == at.timestamp()
    assert history.stays[0].time_s[-1] <= at.timestamp()
    assert history.warmth[0].time_s[0] == at.timestamp()


def test_the_first_look_reaches_the_next_opening_at_most_a_day_ahead(filled: ShopAtHand) -> None:
    """What was measured stays in sight; with nothing guessed it ends at now."""
    at = BEGUN + timedelta(hours=14)
    (count,) = standing(filled, at).counts
    late = next(t.opens.late for t in count.forecast.stages if t.opens.late is not None)
    end = from_unix(seen(filled, Window(), at).end_s)
    assert at < end <= at + timedelta(hours=24)
    assert end >= min(late, at + timedelta(hours=24))
    early = BEGUN + timedelta(hours=3)
    assert seen(filled, Window(), early).end_s == early.timestamp()


def settled_look(shop: ShopAtHand, at: datetime, knot: datetime) -> Callable[[Standing], object]:
    """As a kept desk answers: the record until a reading is settled, only the rest is there."""
    view = shop.look(1, at)
    (batch,) = view.batches
    before = settle(batch.case, knot.timestamp())
    after_s = float(np.nextafter(knot.timestamp(), np.inf))

    def rest(stays):
        return tuple(replace(s, readings=s.readings.between(after_s, np.inf)) for s in stays)

    case = replace(
        batch.case,
        before=before,
        counted=rest(batch.case.counted),
        watched=rest(batch.case.watched),
    )
    from monitor.assess import work

    part = replace(batch, case=case, worked=work(case, at))
    return lambda earlier: standing_of(replace(view, batches=(part,)), at, ZONE, earlier)


def test_a_settled_record_goes_on_from_the_earlier_curve(filled: ShopAtHand) -> None:
    """The curve is the same as that of the whole record; without an earlier one there is none."""
    earlier = standing(filled, NOW - timedelta(days=2))
    told = settled_look(filled, NOW, NOW - timedelta(days=3))
    assert told(None) is None
    joined = told(earlier)
    assert isinstance(joined, Standing)
    (mine,), (whole,) = joined.counts, standing(filled).counts
    for name in ("low", "middle", "high"):
        expected = np.interp(mine.time_s, whole.time_s, getattr(whole, name))
        np.testing.assert_allclose(getattr(mine, name), expected, atol=1e-6)
    assert mine.time_s[0] == whole.time_s[0]
    assert mine.time_s[-1] == whole.time_s[-1]
    assert (np.diff(mine.time_s) > 0).all()


def test_a_corrected_past_is_counted_anew(filled: ShopAtHand) -> None:
    """An earlier curve that doesn't come to what was settled is not gone on from."""
    earlier = standing(filled, NOW - timedelta(days=2))
    (count,) = earlier.counts
    other = replace(earlier, counts=(replace(count, middle=count.middle + 40.0),))
    assert settled_look(filled, NOW, NOW - timedelta(days=3))(other) is None


def test_thinning_keeps_ends_and_both_sides_of_a_gap() -> None:
    """About as many as wanted, evenly in time, however unevenly they came."""
    time_s = np.concatenate([np.arange(0.0, 5e5, 10.0), 6e5 + np.arange(0.0, 5e5, 10.0)])
    kept = some_of(time_s, 400)
    assert 350 <= kept.size <= 410
    assert {0, 49_999, 50_000, 99_999} <= set(kept.tolist())
    again = some_of(time_s[kept], 100)
    assert again.size <= 110


def test_a_stay_that_was_over_is_not_in_the_picture(filled: ShopAtHand) -> None:
    """Nor one that begins later; its readings are its own time's alone."""
    moved = BEGUN + timedelta(days=10)
    filled.hear("bow", columns([moved.timestamp() + 60.0 * i for i in range(60)], [9.0] * 60))
    filled.put("1", "bow", moved, now=NOW)
    before = seen(filled, Window(BEGUN, BEGUN + timedelta(days=5)))
    assert [stay.sensor for stay in before.stays] == ["shed"]
    after = seen(filled, Window(moved + timedelta(minutes=1), moved + timedelta(hours=1)))
    assert [stay.sensor for stay in after.stays] == ["shed", "bow"]
    assert after.stays[0].time_s.max() <= moved.timestamp()
    shed = filled.store.book.stays(1)[0]
    gone = Stretch(moved.timestamp() + 1.0, NOW.timestamp(), 500)
    assert trace(filled.store, "shed", shed, gone) is None
