"""Why it isn't ready, and what would change that, in words."""

import re
from datetime import datetime

from monitor.answers.change import Change, changes_of
from monitor.answers.ready import now_of
from monitor.cure.mixing import Weighed
from monitor.logbook import parse_address
from monitor.overview import Overview
from tests.scenarios import at, columns, series
from tests.scenarios.shop import ShopAtHand

BEGUN = at("2026-05-02T10:20:00Z")


def asked(shop: ShopAtHand, number: int, now: datetime, unit: str = "c") -> tuple[Change, ...]:
    view = shop.look(number, now)
    told = now_of(Overview(now, (view,), ()), (), zone=shop.shop.zone, unit=unit, demo=True).parts[
        0
    ]
    return changes_of(view, told, unit)


def steady(shop: ShopAtHand, temperature_c: float, hours: float) -> datetime:
    minutes = range(int(60 * hours) + 1)
    times = [BEGUN.timestamp() + 60.0 * m for m in minutes]
    shop.hear("shed", columns(times, [temperature_c] * len(times), [55.0] * len(times)))
    shop.lay_up(1, "P1", BEGUN)
    shop.put("1", "shed", BEGUN)
    return at(f"{datetime.fromtimestamp(times[-1], BEGUN.tzinfo):%Y-%m-%dT%H:%M:%SZ}")


def test_not_yet_says_how_much_warmth_is_missing(shop: ShopAtHand) -> None:
    """At 20 °C over a base of 5 °C the careful edge (1 °C colder) earns 14 °C-hours an hour.

    After 4 h that is 56 of the 75 for a flip: 19 are missing, 2 h 07 min at 15 °C (9 an hour) and
    48 min at 30 °C (24 an hour). Worked by hand.
    """
    now = steady(shop, 20.0, 4.0)
    (told,) = asked(shop, 1, now)
    assert (told.address, told.stage) == ("1/skin-a", "flip")
    assert told.why.startswith("60 (56 to 64) of 75.")
    assert told.change == (
        "19 °C·h more at the careful edge: 2 h 07 min at 15.0 °C, or 48 min at 30.0 °C."
    )


def test_degrees_are_the_shops(shop: ShopAtHand) -> None:
    """19 °C-hours are 34.2 °F-hours, 15 °C are 59 °F. Source: NIST SP 811, B.8."""
    now = steady(shop, 20.0, 4.0)
    (told,) = asked(shop, 1, now, "f")
    assert told.change.startswith("34 °F·h more at the careful edge: 2 h 07 min at 59.0 °F")


def test_once_ready_it_tells_of_the_next_stage(shop: ShopAtHand) -> None:
    """A part that can be flipped isn't ready to sand."""
    now = steady(shop, 20.0, 6.0)
    (told,) = asked(shop, 1, now)
    assert told.stage == "sand"
    assert re.search(r"of 240\.", told.why)


def test_a_test_is_asked_of_the_hand(shop: ShopAtHand) -> None:
    """Between the edges the hand decides, with the words of the stage's own touch test."""
    now = steady(shop, 20.0, 5.0)
    (told,) = asked(shop, 1, now)
    assert told.stage == "flip"
    assert told.change.startswith("Your hand: press a corner")


def test_a_gap_says_what_could_fill_it(shop: ShopAtHand) -> None:
    """Readings from a file, or somebody's word."""
    shop.hear("bow", series("A3a", "A3b"))
    shop.lay_up(3, "P1", at("2026-05-02T15:00:00Z"), "patch")
    shop.put("3", "bow", at("2026-05-02T15:00:00Z"))
    for hour in range(9, 18):
        (told,) = asked(shop, 3, at(f"2026-05-03T{hour:02d}:00:00Z"))
        if told.change.startswith("Your hand"):
            assert "mark seen-warm" in told.change
            return
    raise AssertionError("it never came to a test")


def test_no_mix_logged_says_so(shop: ShopAtHand) -> None:
    """Logging the cup lets the count speak."""
    now = steady(shop, 20.0, 6.0)
    shop.book.add_batch(
        parse_address("1/skin-b"),
        mixed_at=BEGUN,
        now=BEGUN,
        sheet="demo-laminating",
        weighed=Weighed(),
    )
    told = {change.address: change for change in asked(shop, 1, now)}
    assert "log what you weighed" in told["1/skin-b"].change


def test_a_part_without_a_sensor_wants_one(shop: ShopAtHand) -> None:
    """Nothing can be told, and what is missing is named."""
    shop.lay_up(1, "P1", BEGUN)
    (told,) = asked(shop, 1, at("2026-05-02T20:00:00Z"))
    assert "sensor" in told.change


def test_a_wrong_mix_is_not_waited_for(shop: ShopAtHand) -> None:
    """No warmth is offered where warmth doesn't help."""
    now = steady(shop, 20.0, 4.0)
    shop.book.add_batch(
        parse_address("1/skin-b"),
        mixed_at=BEGUN,
        now=BEGUN,
        sheet="demo-laminating",
        weighed=Weighed(200.0, catalyst_g=20.0),
    )
    told = {change.address: change for change in asked(shop, 1, now)}
    assert told["1/skin-b"].change.startswith("No waiting and no warmth")
    assert "°C" not in told["1/skin-b"].change
