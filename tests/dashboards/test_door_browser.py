"""A real browser on another machine, as far as it can tell: plain http, a name of the network."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, sync_playwright

from dashboards.app import build_app
from dashboards.guard import LOOPBACK_NAMES
from dashboards.serve import WebServer
from monitor.records import Leave
from monitor.store import doorbook
from tests.dashboards.conftest import NOW, Clock
from tests.dashboards.screens import ARGUMENTS
from tests.scenarios.shop import ShopAtHand

WRITE, LOOK = "tide table nine", "looking only 77"


@pytest.fixture
def address(filled: ShopAtHand, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    monkeypatch.setattr(doorbook, "COST", 16)
    filled.store.door.set_passcode(Leave.WRITE, WRITE, NOW)
    filled.store.door.set_passcode(Leave.LOOK, LOOK, NOW)
    names = LOOPBACK_NAMES | {"shed.local"}
    app = build_app(filled.store, filled.shop, clock=clock, names=names, door=True)
    server = WebServer(app, 0)
    yield server.start().replace("127.0.0.1", "shed.local").rstrip("/")
    server.stop()


@pytest.fixture
def phone(address: str) -> Iterator[Page]:
    """Plain http by such a name is trusted by no browser: it won't say where a form came from."""
    rules = "--host-resolver-rules=MAP shed.local 127.0.0.1"
    with sync_playwright() as player:
        browser = player.chromium.launch(
            executable_path="/usr/bin/chromium", args=[*ARGUMENTS, rules]
        )
        page = browser.new_page(viewport={"width": 390, "height": 844})
        yield page
        browser.close()


def sign_in(page: Page, passcode: str) -> None:
    page.fill("#passcode", passcode)
    page.get_by_role("button", name="Sign in").click()


def test_a_phone_signs_in_presses_and_signs_out(phone: Page, address: str) -> None:
    """A wrong passcode, the right one, back to the part it came for; a mark; out again."""
    phone.goto(f"{address}/layups/3")
    assert "/sign-in?next=/layups/3" in phone.url
    sign_in(phone, "wrong one")
    phone.get_by_text("That is not the passcode.").wait_for()
    sign_in(phone, WRITE)
    phone.wait_for_url(f"{address}/layups/3")
    phone.goto(f"{address}/")
    phone.locator("form").filter(has_text=re.compile("Flipped|Sanded|Trimmed")).first.locator(
        "button"
    ).first.click()
    phone.get_by_text(re.compile("[Tt]ake it back")).first.wait_for()
    phone.goto(f"{address}/phones")
    phone.get_by_role("button", name="Sign this one out").click()
    phone.wait_for_url(f"{address}/sign-in")
    phone.goto(f"{address}/")
    assert "/sign-in" in phone.url


def test_a_phone_that_may_look(phone: Page, address: str, filled: ShopAtHand) -> None:
    """Sees the pages; what it presses is refused in words, and nothing is written."""
    before = filled.store.book.open_layups()
    phone.goto(f"{address}/sign-in")
    sign_in(phone, LOOK)
    phone.wait_for_url(f"{address}/")
    refused = phone.evaluate(
        """async () => {
          const seal = document.querySelector("input[name=seal]").value;
          const sent = new URLSearchParams({ seal, kind: "flipped" });
          const answer = await fetch("/layups/1/marks", { method: "POST", body: sent });
          return [answer.status, await answer.text()];
        }"""
    )
    assert refused[0] == 403
    assert "leave to look, not to write" in refused[1]
    assert filled.store.book.open_layups() == before
