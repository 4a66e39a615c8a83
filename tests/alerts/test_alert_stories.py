"""Whole days and nights replayed: exactly what would be heard, in time order.

The figures are those of our own invented stories; that these messages, at these times, are what a
person at the bench wants to hear is common practice, no source.
"""

from datetime import timedelta

import pytest

from monitor.logbook import parse_address
from monitor.records import Channel, Nearness
from tests.alerts.replay import Replay, begin
from tests.scenarios import at, series
from tests.scenarios.shop import AT_THE_AIM, SHEETS, ShopAtHand

MINUTE = timedelta(minutes=1)
Heard = list[tuple[str, str, str]]


def said(*entries: tuple[str, str]) -> Heard:
    return [(when, rule, "said") for when, rule in entries]


def test_a_good_day(shop: ShopAtHand) -> None:
    """The rudder: the cup, the knife, the flip; nothing at night; sand and recoat next morning."""
    begin(shop, "A1", "P1", "A1")
    replay = Replay(shop).run("2026-05-02T10:20:00Z", "2026-05-03T12:00:00Z", 2 * MINUTE)
    assert replay.heard() == said(
        ("Sat 10:30", "pot-life"),
        ("Sat 11:40", "knife-opens"),
        ("Sat 12:40", "knife-last"),
        ("Sat 15:24", "ready"),
        ("Sun 06:00", "ready"),
        ("Sun 10:02", "recoat-last"),
    )
    assert replay.woke() == []


def test_a_cold_night(shop: ShopAtHand) -> None:
    """The hatch lid: a heads-up at about 20:15, the floor at 21:32, and nothing more that night."""
    begin(shop, "A2", "P1", "A2")
    replay = Replay(shop).run("2026-05-02T16:00:00Z", "2026-05-04T08:00:00Z", 2 * MINUTE)
    assert replay.heard() == [
        *said(
            ("Sat 16:12", "pot-life"),
            ("Sat 17:54", "knife-opens"),
            ("Sat 19:50", "knife-last"),
            ("Sat 20:16", "floor-ahead"),
            ("Sat 21:34", "below-floor"),
        ),
        ("Sun 10:40", "below-floor", "over"),
        *said(("Sun 14:26", "ready"), ("Mon 06:00", "ready")),
    ]
    ahead, below = replay.of("floor-ahead")[0], replay.of("below-floor")[0]
    assert "under the floor of 10.0 °C about 20:55" in ahead.fact
    assert "43 short of flip at the careful edge" in ahead.fact
    assert "rubbery by morning" in below.fact
    assert "keep it at 15.0 °C or more" in below.action


def test_the_same_night_after_one_like_it(shop: ShopAtHand) -> None:
    """With the place's own nights to go by, the slope and the forecast agree on it: within half an
    hour of 21:12, said when there is still an hour."""
    for day in (3, 2, 1):
        night = series("A2").between(0.0, at("2026-05-03T12:00:00Z").timestamp())
        shop.hear(
            "shed",
            type(night)(
                night.time_s - day * 86400.0,
                night.temperature_c,
                night.humidity_pct,
                night.surface_c,
                night.flags,
            ),
        )
    begin(shop, "A2", "P1", "A2")
    replay = Replay(shop).run("2026-05-02T16:00:00Z", "2026-05-02T21:30:00Z", 2 * MINUTE)
    (ahead,) = replay.of("floor-ahead")
    assert at("2026-05-02T20:00:00Z") <= ahead.raised_at <= at("2026-05-02T20:20:00Z")
    clock = ahead.fact.partition("about ")[2][:5]
    assert "20:42" <= clock <= "21:42"


def test_a_power_cut(shop: ShopAtHand) -> None:
    """The canoe bow past flip: its silence waits for the day, and by then it is over."""
    begin(shop, "A3", "P1", "A3a", "A3b")
    replay = Replay(shop).run("2026-05-02T15:00:00Z", "2026-05-03T21:00:00Z", 2 * MINUTE)
    assert replay.heard() == said(
        ("Sat 15:08", "pot-life"),
        ("Sat 16:20", "knife-opens"),
        ("Sat 17:28", "knife-last"),
        ("Sat 21:06", "ready"),
        ("Sun 18:00", "recoat-last"),
        ("Sun 20:02", "ready"),
    )


@pytest.fixture
def bow(shop: ShopAtHand) -> ShopAtHand:
    """A plain coat at 17:20, beside the bow's sensor."""
    begin(shop, "A4", "G1", "A4", role="plain-coat")
    return shop


def waxed(shop: ShopAtHand) -> None:
    shop.book.add_batch(
        parse_address("1/wax-coat"),
        mixed_at=at("2026-05-02T20:00:00Z"),
        now=at("2026-05-02T20:00:00Z"),
        sheet=SHEETS["G1"],
        weighed=AT_THE_AIM["G1"],
    )


def test_dew_at_dawn(bow: ShopAtHand) -> None:
    """One message wakes someone, at about 23:17; the cold that follows asks for the same."""
    replay = Replay(bow).run(
        "2026-05-02T17:20:00Z",
        "2026-05-03T09:30:00Z",
        2 * MINUTE,
        [("2026-05-02T20:00:00Z", lambda: waxed(bow))],
    )
    assert replay.heard() == [
        *said(
            ("Sat 17:28", "pot-life"),
            ("Sat 20:10", "pot-life"),
            ("Sat 23:18", "dew-near"),
        ),
        ("Sun 08:48", "dew-near", "over"),
    ]
    (dew,) = replay.woke()
    assert "Dew is near on soft gel coat" in dew.fact
    assert "About 3 h to sealed" in dew.fact
    assert dew.action.startswith("Tent it and warm it gently.")


def test_a_message_that_nobody_sees(bow: ShopAtHand) -> None:
    """Is asked again twice, every 20 minutes, and then left."""
    replay = Replay(bow, heeded=False).run(
        "2026-05-02T20:00:00Z",
        "2026-05-03T02:00:00Z",
        2 * MINUTE,
        [("2026-05-02T20:00:00Z", lambda: waxed(bow))],
    )
    dew = [(when, kind) for when, rule, kind in replay.heard() if rule == "dew-near"]
    assert dew == [("Sat 23:18", "said"), ("Sat 23:38", "again"), ("Sat 23:58", "again")]
    texts = [message.text for _, message, alert in replay.rung if alert.rule == "dew-near"]
    assert texts[1] == f"Again: {texts[0]}"


def test_a_sensor_in_the_sun(shop: ShopAtHand) -> None:
    """The rudder cheek: asked about once within half an hour, never an early flip."""
    begin(shop, "A5", "P1", "A5read")
    replay = Replay(shop).run("2026-05-02T09:00:00Z", "2026-05-02T19:00:00Z", 2 * MINUTE)
    assert replay.heard() == said(
        ("Sat 09:12", "pot-life"),
        ("Sat 10:26", "knife-opens"),
        ("Sat 10:50", "doubted-sensor"),
        ("Sat 17:26", "ready"),
    )


def test_two_parts_on_one_sensor(shop: ShopAtHand) -> None:
    """Each has its own windows; the night stays inside both sheets and says nothing."""
    begin(shop, "A8a", "P1", "A8")
    shop.lay_up(2, "E1", at("2026-05-02T13:30:00Z"))
    shop.put("2", "shed", at("2026-05-02T13:30:00Z"))
    replay = Replay(shop).run("2026-05-02T20:00:00Z", "2026-05-03T06:00:00Z", 3 * MINUTE)
    assert replay.heard() == said(
        ("Sat 20:00", "ready"), ("Sun 06:00", "ready"), ("Sun 06:00", "ready")
    )
    assert replay.woke() == []


def test_a_thick_fillet(shop: ShopAtHand) -> None:
    """By 14:37 the loudest; and not a word about the weather."""
    shop.hear("bead", series("A10"))
    mixed = at("2026-05-02T14:00:00Z")
    shop.lay_up(5, "B1", mixed, role="fillet")
    shop.put("5/fillet", "bead", mixed, nearness=Nearness.PROBE, channel=Channel.AIR)
    replay = Replay(shop).run("2026-05-02T14:00:00Z", "2026-05-02T18:00:00Z", MINUTE)
    assert [entry for entry in replay.heard() if entry[1] != "pot-life"] == [
        ("Sat 14:37", "hot-part", "said"),
        ("Sat 15:08", "hot-part", "over"),
    ]


def test_a_knife_window_missed(shop: ShopAtHand) -> None:
    """The skeg lid: 12:51 and 13:34, and the flip two hours later."""
    begin(shop, "A13", "P1", "A13")
    replay = Replay(shop).run("2026-05-02T12:00:00Z", "2026-05-02T15:30:00Z", MINUTE)
    assert replay.heard() == said(
        ("Sat 12:04", "pot-life"), ("Sat 12:52", "knife-opens"), ("Sat 13:35", "knife-last")
    )
