"""The headline, the one thing against it, and what shuts next."""

import re
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from monitor.answers.history import history_of, thinned
from monitor.answers.ready import now_of
from monitor.answers.views import BatchNow, Freshness
from monitor.answers.wording import (
    GAP_WORDS,
    NEARNESS_WORDS,
    ROLE_WORDS,
    STAGE_WORDS,
    VERDICT_SHAPES,
    VERDICT_WORDS,
    guess_said,
)
from monitor.logbook import parse_address
from monitor.overview import overview
from monitor.records import MarkKind, Nearness, Role, Stage, Verdict
from tests.scenarios import at, series, story
from tests.scenarios.shop import ShopAtHand

UTC_ZONE = ZoneInfo("UTC")


def begin(shop: ShopAtHand, name: str, *names: str) -> None:
    shop.hear("shed", series(*names))
    mixed = at(story(name)["mixed_at"])
    shop.lay_up(1, story(name)["sheet"], mixed)
    shop.put("1", "shed", mixed)


def batch(shop: ShopAtHand, now: str) -> BatchNow:
    seen = now_of(overview(shop.store, at(now)), (), zone=UTC_ZONE, unit="c", demo=True)
    return seen.parts[0].batches[0]


def fresh(shop: ShopAtHand, now: str) -> Freshness:
    seen = now_of(overview(shop.store, at(now)), (), zone=UTC_ZONE, unit="c", demo=True)
    return seen.parts[0].freshness


def test_the_morning_after_a_good_day(shop: ShopAtHand) -> None:
    """Sand, ready since the careful edge; recoat shuts last."""
    begin(shop, "A1", "A1")
    told = batch(shop, "2026-05-03T08:00:00Z")
    assert (told.stage, told.verdict) == (Stage.SAND, Verdict.READY)
    assert told.sentence == "sand: READY BY THE COUNT, since 04:54 today"
    assert told.against is None
    assert told.next_shuts is not None
    assert re.fullmatch(
        r"recoat without sanding is open until about \d\d:\d\d today, a guess \(.+\)",
        told.next_shuts,
    )
    assert told.what == "skin A, mixed 10:20 Sat"


def test_marks_put_stages_behind_a_part(shop: ShopAtHand) -> None:
    """Once sanded to dust the next thing to wait for is the props."""
    begin(shop, "A1", "A1")
    now = at("2026-05-03T07:00:00Z")
    shop.book.add_mark(parse_address("1"), MarkKind.SANDED_DUST, at=now, note=None, now=now)
    told = batch(shop, "2026-05-03T08:00:00Z")
    assert (told.stage, told.verdict) == (Stage.PROPS_OFF, Verdict.NOT_YET)
    assert re.fullmatch(
        r"props and clamps off: NOT YET, after about 1\d:\d\d today, a guess \(.+\)",
        told.sentence,
    )


def test_under_twelve_hours_it_only_says_if(shop: ShopAtHand) -> None:
    """Too little of this place to look ahead: what a steady warmth would do, and plain hours."""
    begin(shop, "A1", "A1")
    told = batch(shop, "2026-05-02T20:20:00Z")
    assert told.assessment.forecast.stages == ()
    assert told.assessment.forecast.basis.startswith("Under 12 hours of readings here")
    assert told.next_shuts == (
        "recoat without sanding is open, until 10:20 Mon at the very latest: it shuts at 360"
    )


def test_parked_is_the_thing_against_it(shop: ShopAtHand) -> None:
    """A cold night: no clock time can be given, warmth is the remedy."""
    begin(shop, "A2", "A2")
    told = batch(shop, "2026-05-03T08:00:00Z")
    assert told.sentence.startswith("flip: NOT YET, after about ")
    night = batch(shop, "2026-05-03T02:00:00Z")
    assert night.sentence == "flip: NOT YET, not while it stays 6.0 °C: make it warmer"
    assert told.against == (
        "parked since 21:12 Sat, below 10.0 °C: make it warmer, 2 h 36 min at 22.5 °C "
        "bring it to flip"
    )


def test_what_was_not_measured_speaks_against_it(shop: ShopAtHand) -> None:
    """The power cut is said as long as the careful edge suffers from it."""
    begin(shop, "A3", "A3a", "A3b")
    told = batch(shop, "2026-05-03T11:00:00Z")
    assert (told.stage, told.verdict) == (Stage.SAND, Verdict.TEST_IT)
    assert told.against == "7 h 30 min not measured"
    before = batch(shop, "2026-05-02T23:40:00Z")
    assert before.against == "no reading since 21:10 today"


def test_how_fresh_the_reading_is(shop: ShopAtHand) -> None:
    """Minutes old, silent, or not there."""
    begin(shop, "A3", "A3a")
    assert fresh(shop, "2026-05-02T21:12:00Z").said == "reading 2 min old · shed, beside the part"
    silent = fresh(shop, "2026-05-02T23:10:00Z")
    assert silent.silent
    assert silent.said == "no reading for 2 h · shed, beside the part"
    assert silent.temperature_c == pytest.approx(16.0)


def test_a_mark_of_the_part_is_not_of_a_cup_mixed_later(shop: ShopAtHand) -> None:
    """Skin A was sanded and the part flipped; skin B, mixed after, still waits for its flip."""
    begin(shop, "A1", "A1")
    later = at("2026-05-03T08:30:00Z")
    for kind, when in (
        (MarkKind.FLIPPED, "2026-05-03T08:10:00Z"),
        (MarkKind.SANDED_DUST, "2026-05-03T08:15:00Z"),
    ):
        shop.book.add_mark(parse_address("1"), kind, at=at(when), note=None, now=later)
    shop.mix("1/skin-b", "P1", later)
    seen = now_of(
        overview(shop.store, at("2026-05-03T11:00:00Z")), (), zone=UTC_ZONE, unit="c", demo=True
    )
    skin_a, skin_b = seen.parts[0].batches
    assert (skin_a.stage, skin_b.stage) == (Stage.PROPS_OFF, Stage.FLIP)


def test_a_part_without_a_sensor(shop: ShopAtHand) -> None:
    """It says so, and gives no verdict it can't."""
    shop.lay_up(1, "P1", at("2026-05-02T10:00:00Z"))
    told = batch(shop, "2026-05-02T20:00:00Z")
    assert told.verdict is Verdict.CANT_TELL
    assert told.against == "no sensor beside it"
    assert fresh(shop, "2026-05-02T20:00:00Z").said == "no sensor beside it"


def test_the_history_draws_what_is_stored(shop: ShopAtHand) -> None:
    """Each point drawn is a stored reading, and the count's last point is the count."""
    begin(shop, "A3", "A3a", "A3b")
    now = at("2026-05-03T18:00:00Z")
    seen = shop.look(1, now)
    told = history_of(seen, (), now, zone=UTC_ZONE, unit="c")
    (stay,) = told.stays
    stored = shop.store.readings.between(1, None, now)
    at_index = np.searchsorted(stored.time_s, stay.time_s)
    np.testing.assert_array_equal(stored.time_s[at_index], stay.time_s)
    np.testing.assert_array_equal(stored.temperature_c[at_index], stay.temperature_c)
    (count,) = told.counts
    total = seen.batches[0].worked.assessment.count
    assert count.low[-1] == pytest.approx(total.low)
    assert count.middle[-1] == pytest.approx(total.middle)
    assert count.high[-1] == pytest.approx(total.high)
    assert (np.diff(count.low) >= 0).all()
    assert count.middle[0] == 0.0


def test_thinning_keeps_the_extremes() -> None:
    """The hottest, the coldest, both ends, and both sides of a silence are among what is left."""
    rng = np.random.default_rng(4)
    values = rng.normal(20.0, 1.0, 50_000)
    values[[123, 40_000]] = [60.0, -20.0]
    time_s = np.arange(values.size) * 10.0
    time_s[25_000:] += 7200.0
    kept = thinned(values, time_s)
    assert kept.size <= 1600
    assert {0, values.size - 1, 123, 40_000, 24_999, 25_000} <= set(kept.tolist())
    assert (np.diff(kept) > 0).all()


def test_every_word_has_its_words() -> None:
    """No verdict, stage, role or nearness is left without words or shape."""
    assert set(VERDICT_WORDS) == set(VERDICT_SHAPES) == set(Verdict)
    assert len(set(VERDICT_SHAPES.values())) == len(Verdict)
    assert set(STAGE_WORDS) == set(Stage)
    assert set(ROLE_WORDS) == set(Role)
    assert set(NEARNESS_WORDS) == set(Nearness)
    assert set(GAP_WORDS) == {"silent", "suspect", "carried", "before-first", "after-last"}


def test_a_guess_is_said_to_five_minutes_to_the_careful_side() -> None:
    """What opens is said later, what shuts sooner; on the mark it stays."""
    now = at("2026-05-03T08:00:00Z")
    moment = at("2026-05-03T14:43:10Z")
    assert guess_said(moment, UTC_ZONE, now, later=True) == "about 14:45 today"
    assert guess_said(moment, UTC_ZONE, now, later=False) == "about 14:40 today"
    assert guess_said(at("2026-05-03T14:45:00Z"), UTC_ZONE, now, later=True) == "about 14:45 today"


def test_a_dewed_part_is_not_said_to_be_open(shop: ShopAtHand) -> None:
    """The headline and the bond line agree: no window is open on a surface that saw dew."""
    begin(shop, "A4", "A4")
    told = batch(shop, "2026-05-03T07:00:00Z")
    assert told.assessment.bond_line.state == "mechanical"
    assert told.next_shuts is None
