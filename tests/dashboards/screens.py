"""Screens to look at pages on: sizes, what is asked of every page, and one context a size."""

from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page

SHOTS = Path(__file__).parents[2] / ".shots"
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
SIZES = {"phone": (390, 844), "desk": (1440, 900)}
ARGUMENTS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]

FAULTS = """async ([options]) => {
  const found = await axe.run(document, options);
  return found.violations
    .filter((fault) => ["serious", "critical"].includes(fault.impact))
    .map((fault) => [fault.id, fault.nodes.map((node) => node.html.slice(0, 160))]);
}"""
ALL = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
CONTRAST = {"runOnly": ["color-contrast"]}


@dataclass
class Watched:
    """A page, and what it complained of and asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.on("console", lambda said: self.complaints.append(said.text))
        self.page.on("pageerror", lambda fault: self.complaints.append(str(fault)))
        self.page.on("request", lambda request: self.requests.append(request.url))


@dataclass
class Screens:
    """Opens pages: `fresh` ones of their own, and one a size for what is only looked at."""

    browser: Browser
    _own: list[BrowserContext] = field(default_factory=list)
    _shared: dict[str, Watched] = field(default_factory=dict)

    def fresh(self, size: str = "phone", **given: object) -> Watched:
        """Nothing remembered from before. `given` goes to the browser: its scheme, its scripts."""
        context = self._context(SIZES[size], **given)
        self._own.append(context)
        return Watched(context.new_page())

    def shared(self, size: str = "phone") -> Watched:
        """The same for every test, by day, its complaints forgotten: for looking alone."""
        if size not in self._shared:
            self._shared[size] = Watched(self._context(SIZES[size]).new_page())
        watched = self._shared[size]
        watched.page.goto("about:blank")
        width, height = SIZES[size]
        watched.page.set_viewport_size({"width": width, "height": height})
        watched.page.emulate_media(color_scheme="light")
        watched.complaints.clear()
        watched.requests.clear()
        return watched

    def close_own(self) -> None:
        while self._own:
            self._own.pop().close()

    def _context(self, size: tuple[int, int], **given: object) -> BrowserContext:
        phone = size[0] < 600
        context = self.browser.new_context(
            **{
                "viewport": {"width": size[0], "height": size[1]},
                "has_touch": phone,
                "is_mobile": phone,
                "reduced_motion": "reduce",
                **given,
            }
        )
        context.set_default_timeout(20_000)
        return context


def until(page: Page, expression: str) -> None:
    """Wait until it holds. The driver's own way to wait is refused by our policy on scripts."""
    for _ in range(800):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"It never came to hold: {expression}")
