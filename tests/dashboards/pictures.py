"""README's three pictures, taken anew of an invented shop.

Run with `python -m tests.dashboards.pictures`; they land in dashboards/pictures/.
"""

import io
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from dashboards.app import build_app
from dashboards.serve import WebServer
from tests.dashboards.conftest import NOW, Clock, fill
from tests.dashboards.screens import ARGUMENTS, until
from tests.scenarios.shop import open_demo_shop

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "dashboards" / "pictures"
MOST_BYTES = 150_000
COLOURS = 64
"""Text, lines and a few flat colours lose nothing by it."""

CALLED = {"layup-1": "rudder, two skins", "layup-2": "bow locker, patch"}


@contextmanager
def shop_served() -> Iterator[str]:
    with tempfile.TemporaryDirectory() as folder:
        at_hand = open_demo_shop(Path(folder) / "shop")
        fill(at_hand)
        for entry, what in CALLED.items():
            at_hand.book.correct(entry, "what", what, NOW)
        server = WebServer(build_app(at_hand.store, at_hand.shop, clock=Clock()), 0)
        try:
            yield server.start()
        finally:
            server.stop()
            at_hand.store.close()


def keep(page: Page, name: str) -> None:
    """A picture of what the screen shows, in few colours."""
    taken = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    path = PICTURES / f"{name}.png"
    taken.quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)
    size = path.stat().st_size
    print(f"{path.relative_to(ROOT)}: {taken.width} × {taken.height}, {size / 1e3:.0f} kB")
    if size > MOST_BYTES:
        raise SystemExit(f"{path.name} is over {MOST_BYTES / 1e3:.0f} kB.")


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with shop_served() as address, sync_playwright() as player:
        browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        phone = browser.new_page(viewport={"width": 390, "height": 844}, is_mobile=True)
        phone.goto(address)
        keep(phone, "now-phone")
        phone.goto(f"{address}mix?sheet=demo-laminating&resin_g=120&temperature=18&cup=7")
        phone.evaluate("scrollTo(0, document.querySelector('main').offsetTop)")
        keep(phone, "mix-phone")
        desk = browser.new_page(viewport={"width": 1000, "height": 1250})
        desk.goto(f"{address}layups/3#charts")
        until(desk, "!document.querySelector('.chart .waiting')")
        desk.evaluate("document.getElementById('charts').scrollIntoView()")
        keep(desk, "part-desk")
        browser.close()


if __name__ == "__main__":
    main()
