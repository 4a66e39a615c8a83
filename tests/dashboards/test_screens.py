"""Every page in a real browser, on a phone and on a desk: seen by day and by night, reached."""

import pytest
from playwright.sync_api import Page

from tests.dashboards.screens import ALL, AXE, CONTRAST, FAULTS, SHOTS, SIZES, Screens, until

PAGES = {
    "now": "",
    "whole": "layups/3",
    "review": "layups/1/review",
    "reviewed": "layups/3/review/1",
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
    "sign-in": "sign-in",
    "phones": "phones",
}

CONTROLS = (
    "[...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, "
    'summary, [tabindex="0"]\')].filter((n) => n.checkVisibility() && !n.disabled'
    " && (n.type !== 'radio' || n.checked))"
)
NAMED = "(node) => node && `${node.tagName} ${node.id} ${node.textContent.trim().slice(0, 60)}`"
REACHED = f"""() => {{
  const at = document.activeElement;
  const shown = at.type === "radio" ? at.nextElementSibling : at;
  return [({NAMED})(at), getComputedStyle(shown).outlineStyle !== "none"];
}}"""


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_quiet_fits_and_can_be_used(
    screens: Screens, standing: str, name: str, size: str
) -> None:
    """By day and by night: no complaint, no other host, no sideways scroll, no grave fault."""
    watched = screens.shared(size)
    page = watched.page
    answer = page.goto(standing + PAGES[name])
    assert answer is not None
    assert answer.status == 200
    until(page, "!document.querySelector('.chart .waiting')")
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
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
    screens: Screens, standing: str, width: int
) -> None:
    """320 px, a desk at 200 %, and letters twice as large: nothing to scroll sideways to.

    Source: WCAG 2.2, 1.4.10 (reflow) and 1.4.4 (resize text).
    """
    page = screens.shared("phone" if width < 600 else "desk").page
    page.set_viewport_size({"width": width, "height": 700})
    for name, path in PAGES.items():
        page.goto(standing + path)
        wide = "document.documentElement.scrollWidth"
        assert (name, page.evaluate(wide)) == (name, width)
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        if width == 720:
            assert (name, page.evaluate(wide)) == (name, width)


@pytest.mark.parametrize("name", PAGES)
def test_every_control_is_reached_by_keyboard(screens: Screens, standing: str, name: str) -> None:
    """Tab comes to each one, and each shows that it is there; of answers, to the one that holds."""
    page = screens.shared("desk").page
    page.goto(standing + PAGES[name])
    until(page, "!document.querySelector('.chart .waiting')")
    wanted = page.evaluate(f"{CONTROLS}.map({NAMED})")
    assert wanted
    reached: set[str] = set()
    for _ in range(2 * len(wanted) + 5):
        page.keyboard.press("Tab")
        at, lit = page.evaluate(REACHED, None)
        assert lit or at.startswith("BODY"), at
        reached.add(at)
        if set(wanted) <= reached:
            break
    assert set(wanted) - reached == set()


@pytest.mark.parametrize("width", [320, 390])
def test_marks_can_be_hit_with_a_knuckle(screens: Screens, standing: str, width: int) -> None:
    """112 px each way at least, and no two of them touch; what is pressed less often 44."""
    page = screens.shared("phone").page
    page.set_viewport_size({"width": width, "height": 844})
    for name in ("now", "mark", "cup", "move", "review", "reviewed", "sign-in", "phones"):
        page.goto(standing + PAGES[name])
        boxes = boxes_of(page, ".press")
        assert boxes
        assert min(min(box[2:]) for box in boxes) >= 112
        for one in boxes:
            for two in boxes:
                apart = two[0] - one[0] - one[2] >= 8 or two[1] - one[1] - one[3] >= 8
                assert one is two or apart or two[0] < one[0] or two[1] < one[1]
        assert all(box[3] >= 44 for box in boxes_of(page, ".step, .alone, summary"))


def boxes_of(page: Page, what: str) -> list[list[float]]:
    """Left, top, width and height of each that is shown."""
    return page.evaluate(
        "(what) => [...document.querySelectorAll(what)].filter((n) => n.checkVisibility())"
        ".map((n) => n.getBoundingClientRect()).map((b) => [b.left, b.top, b.width, b.height])",
        what,
    )


def test_the_first_answer_is_read_without_scrolling(screens: Screens, standing: str) -> None:
    """On a phone: verdict, time, what shuts, how fresh; and no alert before them."""
    page = screens.shared("phone").page
    page.goto(standing)
    page.screenshot(path=SHOTS / "now-fold-phone.png")
    # In one go: a page that is told of a change swaps its parts at any moment.
    ends = page.evaluate(
        """() => {
          const part = document.querySelector("article.part");
          const end = (node) => node.getBoundingClientRect().bottom;
          const labels = [...part.querySelectorAll(".label")];
          return [
            end(part.querySelector(".verdict")), end(part.querySelector(".when")),
            end(labels.find((one) => one.textContent.includes("Shuts next"))),
            end(part.querySelector(".reading")),
            part.querySelector(".after").getBoundingClientRect().top,
          ];
        }"""
    )
    assert all(0 < end <= 844 for end in ends[:4]), ends
    assert ends[4] >= ends[3]


def test_before_heating_what_can_go_wrong_is_one_press_away(
    screens: Screens, standing: str
) -> None:
    """The fold opens by itself for whoever follows a link to it."""
    page = screens.shared("phone").page
    page.goto(f"{standing}#heating")
    page.locator("#heating").wait_for(state="visible")


@pytest.mark.parametrize("width", [320, 390, 1440])
def test_grams_are_as_large_as_the_width_allows(
    screens: Screens, standing: str, width: int
) -> None:
    """96 px at least, whatever the figure; never wider than the screen."""
    page = screens.shared("phone" if width < 600 else "desk").page
    page.set_viewport_size({"width": width, "height": 844})
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
