"""Messages are carried out by a thread a channel: none lost, none delayed by another, none tried
for ever, and what didn't go out is shown."""

import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from monitor.alerts.channels import NotSent
from monitor.alerts.dispatch import Ways, look_at, settle
from monitor.alerts.due import Due
from monitor.alerts.postman import BACKOFF_S, Postman
from monitor.alerts.unsent import RULE, unsent
from monitor.overview import overview
from monitor.records import Alert, Aloud, Message
from monitor.store import Store
from tests.alerts.replay import TELLING
from tests.scenarios.shop import ShopAtHand

NOON = datetime(2026, 5, 2, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
PATIENCE_S = 30.0


class Clock:
    def __init__(self) -> None:
        self.now = NOON

    def __call__(self) -> datetime:
        return self.now


class Bell:
    """Takes what it is given, unless it is told to refuse or to hang."""

    def __init__(self, name: str, *, refuses: int = 0, hang: threading.Event | None = None) -> None:
        self.name, self._refuses, self._hang = name, refuses, hang
        self.asked, self.taken = 0, list[str]()

    def ready(self) -> None:
        pass

    def send(self, message: Message) -> None:
        self.asked += 1
        if self._hang is not None:
            self._hang.wait(PATIENCE_S)
        if self.asked <= self._refuses:
            raise NotSent(f"{self.name} is off.", "Turn it on.")
        self.taken.append(message.text)


def raised(store: Store, *names: str, key: str = "shed:air", now: datetime = NOON) -> None:
    """One alert that may wake someone, on its way to those channels."""
    due = Due("below-floor", key, now, (3,), "9 °C.", "Warm it.", "Soon.", Aloud.ANY_HOUR)
    look = look_at(store, overview(store, now), TELLING)
    settle(store, look, [due], Ways(outside=names))


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.01)


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_a_hanging_channel_keeps_nobody_waiting(shop: ShopAtHand, clock: Clock) -> None:
    """The other one is heard meanwhile, and stopping doesn't wait for it either."""
    hang = threading.Event()
    stuck, well = Bell("stuck", hang=hang), Bell("well")
    postman = Postman(shop.store, [stuck, well], clock)
    postman.start()
    raised(shop.store, "stuck", "well")
    postman.knock()
    wait_for(lambda: well.taken and stuck.asked)
    assert well.taken == ["Part 3: 9 °C. Soon. Warm it."]
    assert stuck.taken == []
    postman.stop()
    hang.set()


def test_what_is_refused_is_tried_later(shop: ShopAtHand, clock: Clock) -> None:
    """Not before its time, and then until it is taken."""
    bell = Bell("bell", refuses=2)
    postman = Postman(shop.store, [bell], clock, look_every_s=0.01)
    raised(shop.store, "bell")
    postman.start()
    for tries, wait_s in enumerate((0.0, *BACKOFF_S[:2]), start=1):
        clock.now += timedelta(seconds=wait_s)
        wait_for(lambda tries=tries: bell.asked == tries)
    wait_for(lambda: shop.store.messages.next_due("bell", NOON + 10 * MINUTE) is None)
    assert bell.taken == ["Part 3: 9 °C. Soon. Warm it."]
    postman.stop()


def test_a_dead_channel_is_given_up_and_shown(shop: ShopAtHand, clock: Clock) -> None:
    """Eight tries in forty minutes; the page says so from the first, and until one goes out."""
    bell = Bell("bell", refuses=len(BACKOFF_S) + 1)
    postman = Postman(shop.store, [bell], clock, look_every_s=0.01)
    raised(shop.store, "bell")
    shop.store.alerts.mark_seen(1, NOON)
    postman.start()
    wait_for(lambda: shop.store.messages.last_tried("bell"))
    (first,) = unsent(shop.store, ["bell"], clock.now, UTC)
    assert first.fact == (
        "The alert of 12:00 Sat 2 May has not gone out by bell after 1 try: bell is off. It is "
        "tried again."
    )
    assert first.aloud is Aloud.PAGE
    for tries, wait_s in enumerate(BACKOFF_S, start=2):
        clock.now += timedelta(seconds=wait_s)
        wait_for(lambda tries=tries: bell.asked == tries)
    wait_for(lambda: shop.store.messages.of([1])[0].dropped_at)
    clock.now += timedelta(hours=2)
    assert shop.store.messages.next_due("bell", clock.now) is None
    (given_up,) = unsent(shop.store, ["bell"], clock.now, UTC)
    assert given_up.fact.endswith("after 8 tries: bell is off. It is not tried any more.")
    assert unsent(shop.store, ["bell"], NOON + timedelta(hours=25), UTC) == ()
    raised(shop.store, "bell", key="boat:air", now=clock.now)
    wait_for(lambda: bell.taken)
    wait_for(lambda: unsent(shop.store, ["bell"], clock.now, UTC) == ())
    postman.stop()


def test_a_dead_channel_stands_on_the_page(shop: ShopAtHand) -> None:
    """As an alert of its own, which is over once the channel takes something."""
    raised(shop.store, "bell")
    message = shop.store.messages.next_due("bell", NOON)
    assert message is not None
    shop.store.messages.failed(message.id, "bell is off.", NOON + MINUTE, NOON)

    def look(now: datetime) -> tuple[Alert, ...]:
        seen = look_at(shop.store, overview(shop.store, now), TELLING)
        settle(shop.store, seen, unsent(shop.store, ["bell"], now, UTC), Ways(outside=("bell",)))
        return tuple(alert for alert in shop.store.alerts.open() if alert.rule == RULE)

    (dead,) = look(NOON)
    assert (dead.parts, dead.aloud) == ((), Aloud.PAGE)
    assert shop.store.messages.of([dead.id]) == ()
    shop.store.messages.sent(message.id, NOON + MINUTE)
    assert look(NOON + MINUTE) == ()


def test_nothing_is_lost_or_said_twice_over_a_restart(shop: ShopAtHand, clock: Clock) -> None:
    """What went out stays out; what did not goes out with the next start."""
    early, late = Bell("bell"), Bell("bell")
    first = Postman(shop.store, [early], clock)
    first.start()
    raised(shop.store, "bell")
    first.knock()
    wait_for(lambda: shop.store.messages.next_due("bell", NOON) is None)
    first.stop()
    raised(shop.store, "bell", key="boat:air")
    second = Postman(shop.store, [late], clock)
    second.start()
    wait_for(lambda: late.taken)
    second.stop()
    assert (len(early.taken), len(late.taken)) == (1, 1)


def test_a_store_that_refuses_for_a_while(
    shop: ShopAtHand, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The thread lives on, and sends it once it can note that it has."""
    from monitor.errors import StoreError
    from monitor.store.messages import MessageEntries

    begin, refused = MessageEntries.begin, list[int]()

    def refusing(self: MessageEntries, id: int, at: datetime) -> bool:
        if len(refused) < 2:
            refused.append(id)
            raise StoreError("The disk is full.", "Make room.")
        return begin(self, id, at)

    monkeypatch.setattr(MessageEntries, "begin", refusing)
    bell = Bell("bell")
    postman = Postman(shop.store, [bell], clock, look_every_s=0.01)
    raised(shop.store, "bell")
    postman.start()
    wait_for(lambda: bell.taken)
    postman.stop()
    assert (len(refused), len(bell.taken)) == (2, 1)
