"""Both pages in a real browser, on a phone and on a desk, by day and by night."""

import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, Page
from starlette.applications import Starlette

from dashboards.app import build_app
from dashboards.figures import FIGURES
from dashboards.serve import WebServer
from tests.dashboards.conftest import NOW, Clock, say
from tests.dashboards.screens import SHOTS, SIZES, Screens, until
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand

CONTRAST = """() => {
  const parts = (text) => text.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map((v) => {
      const s = v / 255;
      return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const ground = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const colour = parts(getComputedStyle(at).backgroundColor);
      if (colour.length < 4 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  };
  const found = [];
  for (const node of document.querySelectorAll("body *")) {
    const own = [...node.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    if (!own || !node.checkVisibility() || node.closest(".unseen, script")) continue;
    const style = getComputedStyle(node);
    const svg = node instanceof SVGElement;
    const a = light(parts(svg ? style.fill : style.color));
    const b = light(svg && style.fill === "rgb(0, 0, 0)" ? [230, 159, 0] : ground(node));
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    found.push([ratio, node.textContent.trim().slice(0, 40)]);
  }
  return found;
}"""
"""Every text's contrast with the ground behind it. Source: WCAG 2.2, relative luminance."""


def wait_for_charts(page: Page) -> None:
    until(
        page, "[...document.querySelectorAll('.chart')].every((c) => c.querySelector('.main-svg'))"
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", list(SIZES))
@pytest.mark.parametrize("path", ["layups/1", "layups/77"])
def test_a_page_is_quiet_and_fits(
    screens: Screens, standing: str, path: str, size: str, scheme: str
) -> None:
    """No complaint, no policy broken, no other host, no sideways scroll, text that can be read."""
    watched = screens.shared(size)
    page = watched.page
    page.emulate_media(color_scheme=scheme)
    answer = page.goto(standing + path)
    if path == "layups/1":
        wait_for_charts(page)
    assert answer is not None
    refused = [c for c in watched.complaints if "404" not in c or answer.status != 404]
    assert refused == []
    assert {url for url in watched.requests if not url.startswith((standing, "data:"))} == set()
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    shot = f"{path.replace('/', '-')}-{size}-{scheme}.png"
    page.screenshot(path=SHOTS / shot, full_page=True)
    poor = [(ratio, text) for ratio, text in page.evaluate(CONTRAST) if ratio < 4.5]
    assert poor == []


def test_what_is_pressed_is_big_enough(screens: Screens, address: str) -> None:
    """Buttons, and links that stand alone, are at least 44 px high."""
    page = screens.fresh().page
    for path, wanted in (("", "button, .tape, h2 a"), ("layups/3", "button, .back a, summary")):
        page.goto(address + path)
        heights = page.evaluate(
            "(what) => [...document.querySelectorAll(what)]"
            ".map((node) => node.getBoundingClientRect().height)",
            wanted,
        )
        assert len(heights) >= 3
        assert min(heights) >= 44


def test_charts_fit_a_phone(screens: Screens, address: str) -> None:
    """Each is drawn, no wider than the screen, and a finger scrolls past it."""
    page = screens.fresh().page
    page.goto(address + "layups/1")
    wait_for_charts(page)
    boxes = [box.bounding_box() for box in page.locator(".chart .main-svg:first-child").all()]
    assert len(boxes) == len(FIGURES)
    assert all(
        box is not None and box["x"] >= 0 and box["x"] + box["width"] <= 390 for box in boxes
    )
    modes = page.evaluate("[...document.querySelectorAll('.chart')].map((c) => c.layout.dragmode)")
    assert modes == [False] * len(FIGURES)


def test_charts_follow_the_scheme_and_the_width(screens: Screens, address: str) -> None:
    """Turned to dark, the words on a chart turn light; made narrow, the chart does too."""
    page = screens.fresh("desk").page
    page.goto(address + "layups/1")
    wait_for_charts(page)
    ink = "getComputedStyle(document.querySelector('.chart .xtick text')).fill"
    by_day = page.evaluate(ink)
    page.emulate_media(color_scheme="dark")
    until(page, f"{ink} !== {by_day!r}")
    page.set_viewport_size({"width": 500, "height": 800})
    until(page, "document.querySelector('.chart .main-svg').getBoundingClientRect().width < 500")
    assert page.evaluate("document.documentElement.scrollWidth") <= 500


def test_charts_are_drawn_again_without_complaint(
    screens: Screens, address: str, filled: ShopAtHand, clock: Clock
) -> None:
    """Drawn while the picture of the page is taken, every axis title finds its place."""
    watched = screens.fresh("desk")
    page = watched.page
    page.goto(address + "layups/3")
    wait_for_charts(page)
    page.evaluate("setInterval(() => document.dispatchEvent(new Event('refreshed')), 300)")
    for minute in range(1, 7):
        clock.now = NOW.replace(minute=minute)
        say(filled, "bow", clock.now, 12.0 + minute)
        page.screenshot(full_page=True)
    until(
        page,
        "document.querySelector('[data-figure=temperature]').data"
        ".some((trace) => trace.y.at(-1) === 18)",
    )
    assert watched.complaints == []


def test_a_new_reading_arrives_by_itself(
    screens: Screens, address: str, filled: ShopAtHand, clock: Clock
) -> None:
    """No reload, no scroll jump; a part that didn't change is the same node as before."""
    page = screens.fresh().page
    page.goto(address)
    while len(clock.asked) < 2:  # the page, and its fetching itself once the stream is open
        page.wait_for_timeout(50)
    page.wait_for_timeout(300)
    page.evaluate("window.before = document.getElementById('part-1'); scrollTo(0, 300)")
    clock.now = NOW.replace(second=30)
    say(filled, "bow", clock.now, 13.37)
    until(page, "document.getElementById('part-3').textContent.includes('13.4 °C')")
    assert page.evaluate("scrollY") == 300
    assert page.evaluate("window.before === document.getElementById('part-1')")
    assert page.locator("#link-down").is_hidden()


def test_charts_are_drawn_anew_with_a_new_reading(
    screens: Screens, address: str, filled: ShopAtHand, clock: Clock
) -> None:
    """The line ends at the newest reading; an opened table stays open."""
    page = screens.fresh().page
    page.goto(address + "layups/3")
    wait_for_charts(page)
    page.locator("summary").first.click()
    clock.now = NOW.replace(minute=5)
    say(filled, "bow", clock.now, 13.37)
    until(
        page,
        "document.querySelector('[data-figure=temperature]').data"
        ".some((trace) => trace.y.at(-1) === 13.37)",
    )
    assert page.locator("details").first.get_attribute("open") is not None


def test_seen_is_pressed_without_leaving_the_page(screens: Screens, address: str) -> None:
    """The button goes, the words stay, the address is the same."""
    watched = screens.fresh()
    watched.page.goto(address + "layups/3")
    watched.page.get_by_role("button", name="Seen").click()
    watched.page.get_by_text("seen at 08:00 today").wait_for()
    assert watched.page.url == address + "layups/3"
    assert watched.page.get_by_role("button", name="Seen").count() == 0
    assert watched.complaints == []


def test_seen_works_without_scripts(chromium: Browser, address: str) -> None:
    """A plain form does it too."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    page.get_by_role("button", name="Seen").click()
    page.get_by_text("seen at 08:00 today").wait_for()
    context.close()


def test_a_lost_link_is_said_and_heals(
    screens: Screens, app: Starlette, filled: ShopAtHand, clock: Clock
) -> None:
    """How old what is shown is, while the server is away; gone when it is back."""
    server = WebServer(app, 0)
    address = server.start()
    port = int(address.rstrip("/").rpartition(":")[2])
    page = screens.fresh().page
    page.goto(address)
    page.get_by_text("part 1", exact=True).wait_for()
    server.stop()
    banner = page.locator("#link-down")
    banner.wait_for(state="visible")
    assert re.match(r"No link\. What you see is .* old, from 08:00\. ", banner.inner_text())
    assert page.get_by_text("part 1", exact=True).is_visible()
    page.screenshot(path=SHOTS / "link-down-phone.png")
    again = WebServer(build_app(filled.store, filled.shop, clock=clock), port)
    again.start()
    banner.wait_for(state="hidden")
    again.stop()


def test_a_hostile_name_runs_nothing(screens: Screens, address: str, filled: ShopAtHand) -> None:
    """A part and a sensor called like a script are words on the page and on its charts."""
    bad = "<script>alert(1)</script><img src=x onerror=alert(2)>"
    filled.book.correct("layup-1", "what", bad, NOW)
    filled.store.book.correct("sensor-1", "name", bad, NOW)
    watched = screens.fresh("desk")
    watched.page.on("dialog", lambda dialog: watched.complaints.append(dialog.message))
    for path in ("", "layups/1"):
        watched.page.goto(address + path)
        watched.page.get_by_text(bad).first.wait_for()
    wait_for_charts(watched.page)
    watched.page.locator(".chart").nth(1).hover()
    assert watched.complaints == []


def ranges(page: Page) -> list[str]:
    """Each chart's axis, as text."""
    return page.evaluate(
        "[...document.querySelectorAll('.chart')].map((c) => String(c.layout.xaxis.range))"
    )


def test_looking_closer_at_one_looks_closer_at_all(screens: Screens, address: str) -> None:
    """Dragged across one chart, every axis follows, finer readings come; double-click goes back."""
    watched = screens.fresh("desk")
    page = watched.page
    page.goto(address + "layups/3")
    wait_for_charts(page)
    first = ranges(page)
    assert len(set(first)) == 1
    before = page.locator("#charts-shown").inner_text()
    plot = page.locator("[data-figure=temperature] .nsewdrag").first
    plot.scroll_into_view_if_needed()
    box = plot.bounding_box()
    assert box is not None
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + 0.2 * box["width"], middle)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.4 * box["width"], middle, steps=8)
    page.mouse.up()
    until(page, f"document.getElementById('charts-shown').textContent !== {before!r}")
    until(page, f"document.querySelector('.chart').layout.xaxis.range[0] !== {first[0][:19]!r}")
    page.wait_for_timeout(200)
    closer = ranges(page)
    assert len(set(closer)) == 1
    assert closer != first
    plot.dblclick()
    until(page, f"document.getElementById('charts-shown').textContent === {before!r}")
    page.wait_for_timeout(200)
    assert ranges(page) == first
    assert watched.complaints == []


def test_a_finger_looks_closer_by_buttons(screens: Screens, address: str) -> None:
    """Closer, wider, earlier, later, all of it: by pressing, on a phone, each big enough."""
    watched = screens.fresh()
    page = watched.page
    page.goto(address + "layups/1")
    wait_for_charts(page)
    all_of_it = page.locator("#charts-shown").inner_text()
    for name, wanted in (
        ("Last 6 h", "02:00 Sun 3 May 2026 to 08:00 Sun 3 May 2026"),
        ("Closer", "05:00 Sun 3 May 2026 to 08:00 Sun 3 May 2026"),
        ("Earlier", "03:30 Sun 3 May 2026 to 06:30 Sun 3 May 2026"),
        ("Later", "05:00 Sun 3 May 2026 to 08:00 Sun 3 May 2026"),
        ("Wider", "02:00 Sun 3 May 2026 to 08:00 Sun 3 May 2026"),
        ("Last day", "10:20 Sat 2 May 2026 to 08:00 Sun 3 May 2026"),
        ("All of it", all_of_it),
    ):
        button = page.get_by_role("button", name=name, exact=True)
        box = button.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 48
        button.click()
        until(page, f"document.getElementById('charts-shown').textContent === {wanted!r}")
        page.wait_for_timeout(100)
        assert len(set(ranges(page))) == 1
    assert watched.complaints == []


def test_a_clock_change_is_read_right_under_the_pointer(screens: Screens, shop: ShopAtHand) -> None:
    """Before the clocks went back in Lisbon a point says summer time, after it winter time.

    On 25 October 2026 at 01:00 UTC (Directive 2000/84/EC; IANA time zone database).
    """
    begun = at("2026-10-24T20:00:00Z")
    now = at("2026-10-25T06:00:00Z")
    minutes = range(0, 601, 5)
    shop.hear(
        "shed",
        columns([begun.timestamp() + 60.0 * m for m in minutes], [18.0] * 121, [50.0] * 121),
    )
    shop.lay_up(1, "P1", begun)
    shop.put("1", "shed", begun, now=now)
    lisbon = replace(shop.shop, zone=ZoneInfo("Europe/Lisbon"))
    server = WebServer(build_app(shop.store, lisbon, clock=Clock(now)), 0)
    address = server.start()
    page = screens.fresh("desk").page
    page.goto(address + "layups/1")
    wait_for_charts(page)
    texts = page.evaluate(
        "document.querySelector('[data-figure=temperature]').data"
        ".find((t) => t.name === 'shed, air').text"
    )
    assert texts[0].replace(",", "") == "Sat 21:00"
    assert texts[-1].replace(",", "") == "Sun 06:00"
    assert sum("01:30" in text for text in texts) == 2
    server.stop()
