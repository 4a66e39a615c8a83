"""Each rule: fires once for an event, stays quiet where nothing can be done, and clears.

Nights are replayed every five minutes through the real store, as the daemon would ask.
"""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from monitor.alerts.dispatch import settle
from monitor.alerts.rules import RULES, Telling, due_now
from monitor.overview import overview
from monitor.records import Alert, Channel, Nearness
from tests.scenarios import at, columns, from_unix, series, story
from tests.scenarios.shop import ShopAtHand

TELLING = Telling(ZoneInfo("UTC"), "c")
STEP = timedelta(minutes=5)


class Kept:
    """A channel that keeps what it was given."""

    name = "kept"

    def __init__(self) -> None:
        self.sent: list[Alert] = []
        self.withdrawn: list[Alert] = []

    def send(self, alert: Alert) -> None:
        self.sent.append(alert)

    def withdraw(self, alert: Alert) -> None:
        self.withdrawn.append(alert)


def replayed(shop: ShopAtHand, start: str, end: str) -> Kept:
    """What would have been sent and withdrawn between two moments."""
    kept, now = Kept(), at(start)
    while now <= at(end):
        seen = overview(shop.store, now)
        settle(shop.store, due_now(seen, TELLING), [kept], now)
        now += STEP
    return kept


def begin(shop: ShopAtHand, name: str, sheet: str, *names: str) -> None:
    shop.hear("shed", series(*names))
    mixed = at(story(name)["mixed_at"])
    shop.lay_up(1, sheet, mixed)
    shop.put("1", "shed", mixed)


def rules_sent(kept: Kept) -> list[tuple[str, str]]:
    return [(alert.rule, f"{alert.raised_at:%H:%M}") for alert in kept.sent]


def test_a_good_day_says_nothing(shop: ShopAtHand) -> None:
    """The rudder's day and night stay inside the sheet: no alert."""
    begin(shop, "A1", "P1", "A1")
    assert rules_sent(replayed(shop, "2026-05-02T10:20:00Z", "2026-05-03T12:00:00Z")) == []


def test_a_cold_night_is_said_once(shop: ShopAtHand) -> None:
    """Under 15 °C from 17:20, said 20 minutes later, over once it is 1 °C inside again."""
    begin(shop, "A2", "P1", "A2")
    kept = replayed(shop, "2026-05-02T16:00:00Z", "2026-05-03T13:00:00Z")
    assert rules_sent(kept) == [("out-of-range", "17:45")]
    (alert,) = kept.sent
    assert alert.parts == (1,)
    assert alert.fact == "14.4 °C at shed, under 15.0 °C since 17:21 Sat 2 May."
    assert "warm it" in alert.action
    assert "heater outside the tent" in alert.action
    (over,) = kept.withdrawn
    assert over.cleared_at is not None
    assert at("2026-05-03T12:05:00Z") <= over.cleared_at <= at("2026-05-03T12:15:00Z")


def test_two_parts_on_one_sensor_are_one_message(shop: ShopAtHand) -> None:
    """One message an event, with both parts in it."""
    begin(shop, "A2", "P1", "A2")
    shop.lay_up(2, "P1", at("2026-05-02T16:30:00Z"))
    shop.put("2", "shed", at("2026-05-02T16:30:00Z"))
    kept = replayed(shop, "2026-05-02T16:30:00Z", "2026-05-02T19:00:00Z")
    assert [alert.parts for alert in kept.sent] == [(1, 2)]


def test_a_restart_sends_nothing_twice(shop: ShopAtHand) -> None:
    """What was sent is in the store: another process asking the same finds it there."""
    begin(shop, "A2", "P1", "A2")
    assert len(replayed(shop, "2026-05-02T17:30:00Z", "2026-05-02T18:00:00Z").sent) == 1
    assert replayed(shop, "2026-05-02T18:05:00Z", "2026-05-02T20:00:00Z").sent == []


def test_a_hard_part_is_left_in_peace(shop: ShopAtHand) -> None:
    """Once past sand by the careful edge the weather can't hurt it: a later cold says nothing."""
    warm = series("A14")
    cold_s = warm.time_s[-1] + 60.0
    night = columns([cold_s + 60.0 * i for i in range(120)], [8.0] * 120)
    shop.hear("shed", warm)
    shop.hear("shed", night)
    mixed = at(story("A14")["mixed_at"])
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    end = from_unix(night.time_s[-1]).isoformat()
    assert rules_sent(replayed(shop, from_unix(cold_s).isoformat(), end)) == []


def test_dew_on_a_soft_coat(shop: ShopAtHand) -> None:
    """Spread under 3 °C from 22:57, said about 23:17, over when it is 4 °C again."""
    begin(shop, "A4", "G1", "A4")
    shop.mix("1/plain-coat", "G1", at("2026-05-02T20:00:00Z"))
    kept = replayed(shop, "2026-05-02T20:00:00Z", "2026-05-03T09:30:00Z")
    dew = [alert for alert in kept.sent if alert.rule == "dew-near"]
    assert [f"{alert.raised_at:%H:%M}" for alert in dew] == ["23:20"]
    assert "above the dew point at shed; the sheet wants 3.0 °C." in dew[0].fact
    over = [alert for alert in kept.withdrawn if alert.rule == "dew-near"]
    assert len(over) == 1


def test_a_silent_sensor(shop: ShopAtHand) -> None:
    """Nothing after 21:10: said after 15 minutes, and over when it speaks again."""
    shop.hear("shed", series("A3a"))
    mixed = at(story("A3")["mixed_at"])
    shop.lay_up(1, "P1", mixed)
    shop.put("1", "shed", mixed)
    kept = replayed(shop, "2026-05-02T21:00:00Z", "2026-05-02T23:00:00Z")
    assert rules_sent(kept) == [("silent-sensor", "21:30")]
    assert kept.sent[0].fact == "No reading from shed for 20 min."
    shop.hear("shed", series("A3b"))
    kept = replayed(shop, "2026-05-03T04:45:00Z", "2026-05-03T04:50:00Z")
    assert [alert.rule for alert in kept.withdrawn] == ["silent-sensor"]


def test_a_loggers_own_step_is_no_silence(shop: ShopAtHand) -> None:
    """A sensor that speaks every 30 minutes is silent after 75, not after 15."""
    steps = series("A1", step_s=1800.0)
    shop.hear("shed", steps.between(0.0, at("2026-05-02T14:20:00Z").timestamp()))
    shop.lay_up(1, "P1", at("2026-05-02T10:20:00Z"))
    shop.put("1", "shed", at("2026-05-02T10:20:00Z"))
    kept = replayed(shop, "2026-05-02T14:20:00Z", "2026-05-02T16:00:00Z")
    assert rules_sent(kept) == [("silent-sensor", "15:40")]


@pytest.fixture
def fillet(shop: ShopAtHand) -> ShopAtHand:
    """A thick fillet with a probe in it, running hot."""
    shop.hear("bead", series("A10"))
    mixed = at(story("A10")["mixed_at"])
    shop.lay_up(5, "B1", mixed, role="fillet")
    shop.put("5/fillet", "bead", mixed, nearness=Nearness.PROBE, channel=Channel.AIR)
    return shop


def test_a_fillet_running_hot(fillet: ShopAtHand) -> None:
    """Over 80 °C for a minute: clear what burns, the cup only while it can be held."""
    kept = replayed(fillet, "2026-05-02T14:30:00Z", "2026-05-02T15:30:00Z")
    hot = [alert for alert in kept.sent if alert.rule == "hot-part"]
    assert [f"{alert.raised_at:%H:%M}" for alert in hot] == ["14:40"]
    assert "over the sheet's 80.0 °C" in hot[0].fact
    assert "only while it can still be held; otherwise keep clear" in hot[0].action
    assert [alert.rule for alert in kept.withdrawn if alert.rule == "hot-part"] == ["hot-part"]


def test_every_alert_has_an_action(fillet: ShopAtHand) -> None:
    """Where there is nothing to do there is no alert."""
    for moment in ("2026-05-02T14:40:00Z", "2026-05-02T20:00:00Z"):
        for due in due_now(overview(fillet.store, at(moment)), TELLING):
            assert due.fact.endswith(".")
            assert due.action.endswith(".")
            assert due.parts


def test_the_rules_are_all_asked() -> None:
    """The tuple holds each rule of the module."""
    names = {rule.__name__ for rule in RULES}
    assert names == {"hot_part", "dew_near", "out_of_range", "silent_sensor"}
