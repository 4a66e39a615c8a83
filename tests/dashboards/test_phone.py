"""Every page in a real browser, on a phone and on a desk: seen, reached, pressed, and offline."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from starlette.applications import Starlette

from dashboards.app import build_app
from dashboards.serve import WebServer
from monitor.records import Mark, MarkKind
from tests.dashboards.conftest import NOW, Clock, fill
from tests.scenarios.shop import ShopAtHand, open_demo_shop

SHOTS = Path(__file__).parents[2] / ".shots"
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
SIZES = {"phone": (390, 844), "desk": (1440, 900)}
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
PAGES = {
    "now": "",
    "mark": "layups/1/mark",
    "just": "layups/3/mark?just=1&pressed=2026-05-02T15:57:00Z",
    "log": "log",
    "part": "log/part",
    "new-cup": "layups/1/cup",
    "cup": "layups/1/cups/skin-b",
    "move": "layups/1/move",
    "book": "layups/3/book",
    "correct": "layups/3/book/batch-3",
    "mix": "mix?sheet=demo-laminating&resin_g=100&temperature=20&scale_step_g=0.1",
    "plan": "plan?heater=yes",
    "sensors": "sensors",
    "sheets": "sheets",
    "sheet": "sheets/demo-laminating",
    "new-sheet": "sheets/new",
    "alerts": "alerts",
    "history": "history",
    "api": "api",
}

FAULTS = """async ([options]) => {
  const found = await axe.run(document, options);
  return found.violations
    .filter((fault) => ["serious", "critical"].includes(fault.impact))
    .map((fault) => [fault.id, fault.nodes.map((node) => node.html.slice(0, 160))]);
}"""
ALL = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
CONTRAST = {"runOnly": ["color-contrast"]}

CONTROLS = (
    "[...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, "
    'summary, [tabindex="0"]\')].filter((node) => node.checkVisibility() && !node.disabled)'
)
NAMED = "(node) => node && `${node.tagName} ${node.id} ${node.textContent.trim().slice(0, 60)}`"


@dataclass
class Watched:
    """A page, and what it complained of and asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)


Opened = Callable[..., Watched]


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def standing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a shop that is only looked at: one for every test that writes nothing."""
    at_hand = open_demo_shop(tmp_path_factory.mktemp("standing") / "shop")
    fill(at_hand)
    server = WebServer(build_app(at_hand.store, at_hand.shop, clock=Clock()), 0)
    yield server.start()
    server.stop()
    at_hand.store.close()


@pytest.fixture
def address(app: Starlette) -> Iterator[str]:
    server = WebServer(app, 0)
    yield server.start()
    server.stop()


@pytest.fixture
def opened(chromium: Browser) -> Iterator[Opened]:
    contexts = []

    def open_page(width: int = 390, height: int = 844, **given: object) -> Watched:
        phone = width < 600
        context = chromium.new_context(
            viewport={"width": width, "height": height},
            has_touch=phone,
            is_mobile=phone,
            reduced_motion="reduce",
            **given,
        )
        context.set_default_timeout(20_000)
        contexts.append(context)
        watched = Watched(context.new_page())
        watched.page.on("console", lambda said: watched.complaints.append(said.text))
        watched.page.on("pageerror", lambda fault: watched.complaints.append(str(fault)))
        watched.page.on("request", lambda request: watched.requests.append(request.url))
        return watched

    yield open_page
    for context in contexts:
        context.close()


def until(page: Page, expression: str) -> None:
    """Wait until it holds. The driver's own way to wait is refused by our policy on scripts."""
    for _ in range(400):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"It never came to hold: {expression}")


def marks_of(shop: ShopAtHand, number: int) -> tuple[Mark, ...]:
    return shop.store.book.marks(shop.store.book.layup(number).id)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_quiet_fits_and_can_be_used(
    opened: Opened, standing: str, name: str, size: str
) -> None:
    """By day and by night: no complaint, no other host, no sideways scroll, no grave fault."""
    width, height = SIZES[size]
    watched = opened(width, height)
    page = watched.page
    answer = page.goto(standing + PAGES[name])
    assert answer is not None
    assert answer.status == 200
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(AXE)
    assert page.evaluate(FAULTS, [ALL]) == []
    page.screenshot(path=SHOTS / f"{name}-{size}-light.png", full_page=True)
    page.emulate_media(color_scheme="dark")
    assert page.evaluate(FAULTS, [CONTRAST]) == []
    page.screenshot(path=SHOTS / f"{name}-{size}-dark.png", full_page=True)
    assert watched.complaints == []
    assert {url for url in watched.requests if not url.startswith((standing, "data:"))} == set()


@pytest.mark.parametrize("width", [320, 720])
def test_every_page_fits_small_screens_and_large_letters(
    opened: Opened, standing: str, width: int
) -> None:
    """320 px, a desk at 200 %, and letters twice as large: nothing to scroll sideways to.

    Source: WCAG 2.2, 1.4.10 (reflow) and 1.4.4 (resize text).
    """
    page = opened(width, 700).page
    for name, path in PAGES.items():
        page.goto(standing + path)
        wide = "document.documentElement.scrollWidth"
        assert (name, page.evaluate(wide)) == (name, width)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        if width == 720:
            assert (name, page.evaluate(wide)) == (name, width)


@pytest.mark.parametrize("name", ["now", "mark", "just", "new-cup", "mix", "plan", "alerts"])
def test_every_control_is_reached_by_keyboard(opened: Opened, standing: str, name: str) -> None:
    """Tab comes to each one, and each shows that it is there."""
    page = opened(1440, 900).page
    page.goto(standing + PAGES[name])
    wanted = page.evaluate(f"{CONTROLS}.map({NAMED})")
    assert wanted
    reached: list[str] = []
    for _ in range(3 * len(wanted)):
        page.keyboard.press("Tab")
        reached.append(page.evaluate(f"({NAMED})(document.activeElement)"))
        lit = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert lit != "none" or reached[-1].startswith("BODY")
        if set(wanted) <= set(reached):
            break
    assert set(wanted) - set(reached) == set()


@pytest.mark.parametrize("width", [320, 390])
def test_marks_can_be_hit_with_a_knuckle(opened: Opened, standing: str, width: int) -> None:
    """112 px each way at least, and no two of them touch."""
    page = opened(width, 844).page
    for name in ("now", "mark", "cup", "move"):
        page.goto(standing + PAGES[name])
        boxes = page.evaluate(
            "[...document.querySelectorAll('.press')].map((n) => n.getBoundingClientRect())"
            ".map((b) => [b.left, b.top, b.width, b.height])"
        )
        assert boxes
        assert min(min(box[2:]) for box in boxes) >= 112
        for one in boxes:
            for two in boxes:
                apart = two[0] - one[0] - one[2] >= 8 or two[1] - one[1] - one[3] >= 8
                assert one is two or apart or two[0] < one[0] or two[1] < one[1]


@pytest.mark.parametrize("width", [320, 390, 1440])
def test_grams_are_as_large_as_the_width_allows(opened: Opened, standing: str, width: int) -> None:
    """96 px at least, whatever the figure; never wider than the screen."""
    page = opened(width, 844).page
    for resin_g in (20, 100, 1000, 90000):
        page.goto(f"{standing}mix?sheet=demo-laminating&resin_g={resin_g}")
        grams = page.locator(".grams")
        size = float(grams.evaluate("(n) => getComputedStyle(n).fontSize").removesuffix("px"))
        assert size >= 96
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        drawn = grams.evaluate(
            "(n) => { const r = document.createRange(); r.selectNodeContents(n);"
            " return r.getBoundingClientRect().width; }"
        )
        assert drawn <= min(width, 736)
        if resin_g == 100 and width < 700:
            assert drawn > 0.6 * width


def test_a_whole_job_is_logged_by_pressing(
    address: str, opened: Opened, filled: ShopAtHand
) -> None:
    """Part, cup, catalyst in, kicked, trimmed, sanded: pressed, with one word typed."""
    watched = opened()
    page = watched.page
    page.goto(address)
    page.get_by_role("link", name="Log", exact=True).click()
    page.get_by_role("link", name="A new part").click()
    page.get_by_label("What it is").fill("hatch lid")
    page.get_by_role("button", name="Log the part").click()
    page.get_by_label("Resin weighed, g").fill("120")
    page.get_by_label("Catalyst or hardener weighed, g").fill("1.8")
    page.get_by_role("button", name="Log this cup").click()
    page.get_by_text("minutes since it was mixed").wait_for()
    page.get_by_role("button", name="It kicked").click()
    page.get_by_role("button", name="Trimmed: clean").click()
    page.get_by_role("button", name="5 minutes ago", exact=True).click()
    page.get_by_text("5 min before you pressed").wait_for()
    page.get_by_role("button", name="Sanded: dust").click()
    page.locator("#just").get_by_text("Sanded: dust").wait_for()
    kinds = [mark.kind for mark in marks_of(filled, 2)]
    assert sorted(kinds) == ["kicked", "sanded-dust", "trimmed-clean"]
    (batch,) = filled.store.book.batches(filled.store.book.layup(2).id)
    assert (batch.resin_g, batch.catalyst_g, batch.mixed_at) == (120.0, 1.8, NOW)
    assert watched.complaints == []


def test_why_is_two_presses_away(opened: Opened, standing: str) -> None:
    """From everything open to the part's own page, where the reasons stand."""
    page = opened().page
    page.goto(standing)
    page.get_by_role("link", name="Part 3: why, and everything about it").click()
    page.get_by_role("heading", name="part 3").wait_for()


def test_a_mark_is_taken_back(address: str, opened: Opened, filled: ShopAtHand) -> None:
    """Pressed from everything open, taken back in one press; the button counts its seconds."""
    page = opened().page
    page.goto(address)
    page.locator("#part-3").get_by_role("button", name="Flipped").click()
    button = page.get_by_role("button", name=re.compile(r"Take it back \(\d+ s\)"))
    button.wait_for()
    assert marks_of(filled, 3)[-1].kind is MarkKind.FLIPPED
    button.click()
    page.get_by_text("Taken back. It stays in the book").wait_for()
    assert marks_of(filled, 3)[-1].kind is MarkKind.NOTE


def test_the_ten_seconds_end(opened: Opened, standing: str) -> None:
    """Then the mark is put right on its own page instead."""
    page = opened().page
    page.clock.install()
    page.goto(standing + PAGES["just"])
    take_back = page.get_by_role("button", name="Take it back")
    assert take_back.is_visible()
    for _ in range(12):
        page.clock.run_for(1000)
    assert take_back.is_hidden()
    assert page.get_by_role("link", name="Put it right in another way").is_visible()


def test_a_knuckle_that_bounces_makes_one_mark(
    address: str, opened: Opened, filled: ShopAtHand
) -> None:
    """Two presses in a row are one."""
    page = opened().page
    page.goto(address)
    page.evaluate(
        "() => { const b = document.querySelector('#part-3 .press'); b.click(); b.click(); }"
    )
    page.locator("#just").wait_for()
    assert [mark.kind for mark in marks_of(filled, 3)].count(MarkKind.FLIPPED) == 1


def test_pages_work_without_scripts(chromium: Browser, address: str, filled: ShopAtHand) -> None:
    """Marks, taking back, and a plan with a heater are plain forms."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address + "layups/3/mark")
    page.get_by_role("button", name="Rained on").click()
    page.get_by_role("button", name="Take it back").click()
    page.get_by_text("Taken back.").wait_for()
    assert marks_of(filled, 3)[-1].note == "taken back: rained"
    page.goto(address + "plan")
    page.get_by_label("A heater with a thermostat").check()
    page.get_by_role("button", name="Ask").click()
    page.get_by_text("With a heater that holds 20.0 °C").wait_for()
    context.close()


def test_a_slider_is_followed_by_its_answer(opened: Opened, standing: str) -> None:
    """No button; the address can be kept."""
    watched = opened()
    page = watched.page
    page.goto(standing + "plan")
    slider = page.get_by_label("It holds")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.get_by_text("With a heater that holds 23.0 °C").wait_for()
    assert "heat_held=23" in page.url
    assert watched.complaints == []


def test_by_day_and_by_night_by_hand(opened: Opened, standing: str) -> None:
    """Chosen on one page, worn on every page, until chosen otherwise."""
    page = opened(color_scheme="light").page
    ground = "getComputedStyle(document.body).backgroundColor"
    page.goto(standing)
    day = page.evaluate(ground)
    page.get_by_role("button", name="By night").click()
    night = page.evaluate(ground)
    assert night != day
    page.goto(standing + "mix")
    assert page.evaluate(ground) == night
    page.evaluate(AXE)
    assert page.evaluate(FAULTS, [CONTRAST]) == []
    page.emulate_media(color_scheme="dark")
    page.get_by_role("button", name="By day").click()
    assert page.evaluate(ground) == day
    assert page.evaluate(FAULTS, [CONTRAST]) == []
    page.get_by_role("button", name="As the phone").click()
    assert page.evaluate(ground) == night


def test_without_a_line_nothing_is_lost_unseen(
    opened: Opened, app: Starlette, filled: ShopAtHand, clock: Clock
) -> None:
    """A press says that it wasn't logged; a page loaded again is the kept one, with its age."""
    server = WebServer(app, 0)
    address = server.start()
    port = int(address.rstrip("/").rpartition(":")[2])
    page = opened().page
    page.goto(address)
    until(page, "navigator.serviceWorker.controller !== null")
    page.reload()
    page.get_by_text("part 1", exact=True).wait_for()
    page.wait_for_timeout(300)
    server.stop()
    banner = page.locator("#link-down")
    page.locator("#part-3").get_by_role("button", name="Flipped").click()
    banner.get_by_text("that was not logged").wait_for()
    assert MarkKind.FLIPPED not in {mark.kind for mark in marks_of(filled, 3)}
    page.reload()
    assert "No link. What you see is" in banner.inner_text()
    assert page.get_by_text("part 1", exact=True).is_visible()
    page.screenshot(path=SHOTS / "kept-phone-light.png")
    again = WebServer(build_app(filled.store, filled.shop, clock=clock), port)
    again.start()
    banner.wait_for(state="hidden")
    page.locator("#part-3").get_by_role("button", name="Flipped").click()
    page.locator("#just").wait_for()
    assert marks_of(filled, 3)[-1].kind is MarkKind.FLIPPED
    again.stop()


def test_the_screen_is_kept_on_or_the_page_says_so(opened: Opened, standing: str) -> None:
    """On the mixing page and the cup's."""
    for given in ("granted", "refused", "missing"):
        page = opened().page
        page.add_init_script(
            {
                "granted": "navigator.wakeLock.request = () => Promise.resolve({});",
                "refused": "navigator.wakeLock.request = () => Promise.reject(new Error());",
                "missing": "Object.defineProperty(navigator, 'wakeLock', { value: undefined });",
            }[given]
        )
        page.goto(standing + PAGES["cup"])
        said = {"granted": "stays on", "refused": "may go dark", "missing": "can't keep the screen"}
        page.locator("#awake").get_by_text(said[given]).wait_for()


def test_minutes_run_by_themselves(opened: Opened, standing: str) -> None:
    """From the shop's clock, counted on by the page."""
    page = opened().page
    page.clock.install()
    page.goto(standing + PAGES["cup"])
    place = page.locator("[data-since]")
    assert place.inner_text() == "940"
    page.clock.run_for(61_000)
    assert place.inner_text() == "941"
