"""Pages of a machine whose clock is in doubt: said at the head of each, and pressed away."""

from pathlib import Path

import pytest

from monitor.host import Timekeeper
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW
from tests.dashboards.screens import SHOTS, Screens
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand

PRESS = "08:00 on Sunday 3 May 2026 is right"


@pytest.fixture
def doubted(filled: ShopAtHand) -> ShopAtHand:
    """As a watch would leave it whose clock was set back by ten minutes."""
    watch = Timekeeper(filled.shop.folder)
    watch.was_set(at("2026-05-03T07:50:00Z") - NOW, 60.0)
    doubt = watch.doubt(NOW, None, synced=False)
    assert doubt is not None
    filled.store.health.say("clock", doubt.lines())
    return filled


def test_every_answer_waits_for_one_press(doubted: ShopAtHand, client: Asking) -> None:
    """Said on each page; pressed, the verdicts are given again."""
    for path in ("/", "/layups/1", "/log", "/mix", "/plan"):
        page = client.get(path).text
        assert "This machine&#39;s clock was set back by 0 h 10 min." in page
        assert PRESS in page
    stages = client.get("/api/layups/1").json()["batches"][0]["stages"]
    assert {stage["verdict"] for stage in stages} == {"cant-tell"}
    assert client.post("/clock/right", sealed=False).status_code == 403
    assert client.post("/clock/right").status_code == 303
    assert PRESS not in client.get("/").text
    stages = client.get("/api/layups/1").json()["batches"][0]["stages"]
    assert "ready" in {stage["verdict"] for stage in stages}
    assert Timekeeper(doubted.shop.folder).written_down() is None


def test_a_lost_time_offers_no_press(filled: ShopAtHand, client: Asking) -> None:
    """Nothing but setting it helps."""
    doubt = Timekeeper(filled.shop.folder).doubt(at("1970-01-01T00:09:00Z"), None, synced=False)
    assert doubt is not None
    filled.store.health.say("clock", doubt.lines())
    assert "it has lost the time" in client.get("/").text
    assert PRESS not in client.get("/").text
    answer = client.post("/clock/right")
    assert answer.status_code == 400
    assert filled.store.health.stands("clock")


def test_a_disk_that_refuses_keeps_the_doubt(
    doubted: ShopAtHand, client: Asking, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Told as what it is, and asked again."""

    def full(_self: Path, *_given: object, **_named: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    answer = client.post("/clock/right")
    assert answer.status_code == 503
    assert "No space left on device" in answer.text
    assert doubted.store.health.stands("clock")


def test_it_is_pressed_on_a_phone(doubted: ShopAtHand, address: str, screens: Screens) -> None:
    """With the time to compare on the button itself."""
    page = screens.fresh().page
    page.goto(address)
    page.screenshot(path=SHOTS / "clock-in-doubt-phone.png")
    with page.expect_response("**/clock/right") as pressed:
        page.get_by_role("button", name=PRESS).tap()
    assert pressed.value.status == 303
    page.get_by_role("button", name=PRESS).wait_for(state="detached")
    page.get_by_text("READY BY THE COUNT").first.wait_for()
