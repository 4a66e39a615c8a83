"""A shop with parts in it, a clock that the test sets, and a client that asks by loopback."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import Browser, sync_playwright
from starlette.applications import Starlette

from dashboards.app import build_app
from dashboards.serve import WebServer
from monitor.answers.review import keep, review_of
from monitor.answers.review_asked import parse_answers
from monitor.logbook import parse_address
from monitor.records import Doubt, Flags, Leave, MarkKind, Reading, Readings
from tests.dashboards.asking import Asking
from tests.dashboards.screens import ARGUMENTS, Screens
from tests.scenarios import at, series
from tests.scenarios.shop import ShopAtHand, open_demo_shop

NOW = at("2026-05-03T08:00:00Z")


@dataclass
class Clock:
    """Stands still until it is set."""

    now: datetime = NOW
    asked: list[datetime] = field(default_factory=list)

    def __call__(self) -> datetime:
        self.asked.append(self.now)
        return self.now


def damp(readings: Readings) -> Readings:
    """With a humidity that rises as it cools."""
    return replace(readings, humidity_pct=95.0 - 1.5 * readings.temperature_c)


def fill(shop: ShopAtHand) -> None:
    """A rudder with two skins in a warm shed; a bow with a silent night and a sunned sensor."""
    shop.hear("shed", damp(series("A1").between(0, NOW.timestamp())))
    shop.hear("bow", damp(series("A3a", "A3b").between(0, NOW.timestamp())))
    shop.lay_up(1, "P1", at("2026-05-02T10:20:00Z"))
    shop.mix("1/skin-b", "P1", at("2026-05-02T16:20:00Z"))
    shop.put("1", "shed", at("2026-05-02T10:20:00Z"), now=NOW)
    shop.lay_up(3, "P1", at("2026-05-02T15:00:00Z"), "patch")
    shop.put("3", "bow", at("2026-05-02T15:00:00Z"), now=NOW)
    shop.book.add_mark(
        parse_address("3"), MarkKind.KICKED, at=at("2026-05-02T15:47:00Z"), note=None, now=NOW
    )
    shop.book.add_mark(
        parse_address("3/patch"),
        MarkKind.TRIMMED_CLEAN,
        at=at("2026-05-02T16:30:00Z"),
        note="witness tab",
        now=NOW,
    )
    bow = shop.store.book.sensor("bow")
    shop.store.readings.add_flags(
        bow.id,
        at("2026-05-02T18:00:00Z"),
        at("2026-05-02T18:30:00Z"),
        Flags(temperature=Doubt.SUNNED),
    )
    shop.store.alerts.raise_alert(
        "dew", "bow", NOW, NOW - timedelta(minutes=40), (3,), "Dew in about 20 min.", "Tent it."
    )


def say(shop: ShopAtHand, sensor: str, moment: datetime, temperature_c: float) -> None:
    """One more reading, as the daemon would store it."""
    beside = shop.store.book.sensor(sensor)
    shop.store.readings.add(beside.id, [Reading(moment, temperature_c, 60.0)])


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def filled(shop: ShopAtHand) -> ShopAtHand:
    fill(shop)
    return shop


@pytest.fixture
def app(filled: ShopAtHand, clock: Clock) -> Starlette:
    return build_app(filled.store, filled.shop, clock=clock, address_note="Only on this machine.")


@pytest.fixture
def client(app: Starlette) -> Asking:
    return Asking(app)


@pytest.fixture
def shop_in(tmp_path) -> Iterator[Callable[..., ShopAtHand]]:
    """Makes shops with another unit or zone, and closes them."""
    made: list[ShopAtHand] = []

    def make(unit: str = "c", zone: str = "UTC") -> ShopAtHand:
        made.append(open_demo_shop(tmp_path / f"shop-{len(made)}", unit, zone))
        return made[-1]

    yield make
    for at_hand in made:
        at_hand.store.close()


@pytest.fixture
def address(app: Starlette) -> Iterator[str]:
    server = WebServer(app, 0)
    yield server.start()
    server.stop()


@pytest.fixture(scope="session")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a shop that is only looked at, with a door, a phone and a review in it."""
    at_hand = open_demo_shop(tmp_path_factory.mktemp("standing") / "shop")
    fill(at_hand)
    at_hand.store.door.sign_in(Leave.WRITE, "Mozilla/5.0 (a phone)", NOW - timedelta(days=2))
    answers = parse_answers({"where": "all-over", "thumbnail": "none", "grit": "dust-after"})
    told = review_of(at_hand.store, at_hand.look(3, NOW), answers, None, NOW, "c")
    keep(at_hand.store, told, at_hand.shop.zone)
    server = WebServer(build_app(at_hand.store, at_hand.shop, clock=Clock(), door=True), 0)
    yield server.start()
    server.stop()
    at_hand.store.close()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One for a module: while it runs, nothing else can run a loop in this thread."""
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def every_screen(chromium: Browser) -> Screens:
    return Screens(chromium)


@pytest.fixture
def screens(every_screen: Screens) -> Iterator[Screens]:
    yield every_screen
    every_screen.close_own()
