"""The alerts page: asked again, withdrawn in words, how far each message got, the shop's night."""

from dataclasses import replace
from datetime import time, timedelta

import pytest

from dashboards.alerted import alert_cards
from dashboards.office import Office
from dashboards.paper import Paper
from monitor.alerting import Alerting
from monitor.records import Aloud, MessageKind
from monitor.store import Outgoing
from monitor.times import NightHours
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock
from tests.scenarios.shop import ShopAtHand

MINUTE = timedelta(minutes=1)


def test_an_alert_is_asked_again(client: Asking, filled: ShopAtHand, clock: Clock) -> None:
    """In 20 minutes, from any page that shows it, until somebody has seen it."""
    assert "Again in 20 min" in client.get("/layups/3").text
    assert client.post("/alerts/1/again").status_code == 303
    assert filled.store.alerts.alert(1).again_at == NOW + 20 * MINUTE
    for page in ("/", "/layups/3", "/alerts"):
        assert "asked again at 08:20 today" in client.get(page).text
    client.post("/alerts/1/seen")
    assert filled.store.alerts.alert(1).again_at is None
    assert "Again in 20 min" not in client.get("/alerts").text


def test_one_that_is_over_is_not_asked_again(client: Asking, filled: ShopAtHand) -> None:
    """Two lines say so; nor is one that was never there."""
    filled.store.alerts.clear(1, NOW, withdrawn="It was carried off.")
    for number in (1, 99, 10**30):
        assert client.post(f"/alerts/{number}/again").status_code >= 400
    page = client.get("/alerts").text
    assert "withdrawn at 08:00 today. It was carried off." in page


def test_how_far_its_messages_got(client: Asking, filled: ShopAtHand) -> None:
    """Sent, or why not; one that nobody had to send any more is no news."""
    outgoing = [
        Outgoing(name, kind, "Part 3: cold.", NOW)
        for name, kind in (
            ("webhook", MessageKind.SAID),
            ("mailto", MessageKind.SAID),
            ("mailto", MessageKind.AGAIN),
        )
    ]
    raised = filled.store.alerts.raise_alert(
        "below-floor", "bow:air", NOW, NOW, (3,), "Cold.", "Warm it.",
        aloud=Aloud.ANY_HOUR, outgoing=outgoing,
    )  # fmt: skip
    assert raised is not None
    webhook, mailto, _ = filled.store.messages.of([raised.id])
    filled.store.messages.sent(webhook.id, NOW)
    filled.store.messages.failed(mailto.id, "mailto did not take it.", NOW + MINUTE, NOW)
    filled.store.alerts.mark_seen(raised.id, NOW)
    page = client.get("/alerts").text
    assert "By webhook: sent 08:00 today" in page
    assert "By mailto: not taken, next at 08:01 today. mailto did not take it." in page
    assert "mailto, again" not in page


@pytest.mark.parametrize(("begin", "at_night"), [(time(7), True), (time(7, 30), False)])
def test_the_night_is_the_shop_s_own(filled: ShopAtHand, begin: time, at_night: bool) -> None:
    """As shop.toml has it: the alert came at 07:20."""
    shop = replace(filled.shop, alerting=Alerting(NightHours(begin, time(12))))
    office = Office(filled.store, shop, Paper(shop, "word"), lambda: NOW)
    (card,) = alert_cards(office, NOW)
    assert card.at_night is at_night
