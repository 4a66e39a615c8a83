"""What the next batch goes over: fresh epoxy, a sanded face, a face spoilt since, a bad mix."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from monitor.answers.here import here_of
from monitor.answers.under import Under, under
from monitor.logbook import parse_address
from monitor.records import Doubt, Flags, MarkKind, Reading, Role
from tests.scenarios import at, columns, sheet
from tests.scenarios.shop import ShopAtHand

UTC_ZONE = ZoneInfo("UTC")
MIXED = at("2026-05-02T08:00:00Z")
COAT = sheet("G1")


def stand(shop: ShopAtHand, judged_by: str, role: str = "skin-a", hours: int = 200) -> None:
    """A part that stood at 20 °C and 55 % all the time."""
    times = [MIXED.timestamp() + 300.0 * i for i in range(hours * 12)]
    shop.hear("shed", columns(times, [20.0] * len(times), [55.0] * len(times)))
    shop.lay_up(1, judged_by, MIXED, role=role)
    shop.put("1", "shed", MIXED)


def asked(shop: ShopAtHand, after_h: float, **coat: object) -> Under:
    seen = shop.look(1, MIXED + timedelta(hours=after_h))
    told = under(seen, Role.PLAIN_COAT, replace(COAT, **coat), UTC_ZONE, "c")
    assert told is not None
    return told


def mark(shop: ShopAtHand, kind: MarkKind, after_h: float) -> None:
    moment = MIXED + timedelta(hours=after_h)
    shop.book.add_mark(parse_address("1"), kind, at=moment, note=None, now=moment)


def test_nothing_lies_under_the_first(shop: ShopAtHand) -> None:
    """A part with nothing mixed yet has nothing to say."""
    shop.book.add_layup(1, "new", "demo-gel-coat", on=None, safety=False, now=MIXED)
    assert under(shop.look(1, MIXED), Role.PLAIN_COAT, COAT, UTC_ZONE, "c") is None


@pytest.mark.parametrize(
    ("after_h", "state"), [(0.5, "not-yet"), (2.0, "open"), (23.0, "sand-first")]
)
def test_a_laminate_by_its_window(shop: ShopAtHand, after_h: float, state: str) -> None:
    """Soft, open, shut: by the window of what lies there."""
    stand(shop, "P1")
    assert asked(shop, after_h).state == state


@pytest.mark.parametrize(
    ("over_epoxy", "after_h", "state"),
    [(None, 190, "cant-tell"), (False, 190, "no-go"), (True, 30, "not-yet"), (True, 190, "open")],
)
def test_over_epoxy_only_where_the_sheet_allows_it(
    shop: ShopAtHand, over_epoxy: bool | None, after_h: float, state: str
) -> None:
    """And then only at its full cure, washed and sanded: fresh epoxy stops polyester."""
    stand(shop, "E1")
    mark(shop, MarkKind.SANDED_DUST, after_h - 1)
    assert asked(shop, after_h, over_epoxy=over_epoxy).state == state


def test_a_sanded_face_until_something_spoils_it(shop: ShopAtHand) -> None:
    """Sanded it is bonded to; rained on since, it is dried and keyed again."""
    stand(shop, "P1")
    mark(shop, MarkKind.SANDED_DUST, 24)
    clean = asked(shop, 26)
    assert clean == Under(
        "open",
        "the skin A under it was sanded 2 h ago: wipe it, and let that flash off first",
    )
    mark(shop, MarkKind.RAINED, 27)
    spoilt = asked(shop, 28)
    assert spoilt.state == "sand-first"
    assert "rained on since" in spoilt.said


def test_sanding_before_the_coat_says_nothing_of_the_coat(shop: ShopAtHand) -> None:
    """The laminate was sanded, then coated: the coat's own face wasn't, and isn't dusty."""
    stand(shop, "P1")
    mark(shop, MarkKind.SANDED_DUST, 24)
    shop.mix("1/plain-coat", "G1", MIXED + timedelta(hours=25))
    assert asked(shop, 25.5).state == "not-yet"
    assert asked(shop, 28).state == "open"
    coat = shop.look(1, MIXED + timedelta(hours=28)).batches[1].worked.assessment
    assert coat.bond_line.sanded_at is None
    assert coat.bond_line.voided_by == ()


def test_over_a_bad_mix_nothing_goes(shop: ShopAtHand) -> None:
    """What won't cure right is taken off first, whatever the count."""
    stand(shop, "E1")
    shop.book.correct("batch-1", "hardener_g", 80.0, MIXED)
    told = asked(shop, 48, over_epoxy=True)
    assert told.state == "no-go"
    assert "20.0 % short" in told.said


def test_what_is_measured_now_is_fresh_and_good(shop: ShopAtHand) -> None:
    """A value older than a quarter of an hour is none; a suspect one gives way to the last good."""
    stand(shop, "P1", hours=2)
    last = MIXED + timedelta(minutes=115)
    assert here_of(shop.look(1, last), last).air_c == 20.0
    late = last + timedelta(minutes=16)
    assert here_of(shop.look(1, late), late).air_c is None
    beside = shop.store.book.sensor("shed")
    hot = Flags(temperature=Doubt.SUNNED, humidity=Doubt.SUNNED)
    shop.store.readings.add(
        beside.id, [Reading(last + timedelta(minutes=5), 38.0, 21.0, None, hot)]
    )
    soon = last + timedelta(minutes=6)
    here = here_of(shop.look(1, soon), soon)
    assert (here.air_c, here.humidity_pct) == (20.0, 55.0)
