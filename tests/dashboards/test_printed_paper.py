"""The record and the label printed by a real browser, and read back from the PDF."""

import io
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from dashboards.printed.press import PaperKind, label_html, record_html
from monitor.answers.label import label_of
from monitor.answers.record import record_of
from monitor.logbook import parse_address
from monitor.records import MarkKind, Particulars
from tests.dashboards.conftest import NOW
from tests.dashboards.screens import ALL, ARGUMENTS, AXE, FAULTS
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand

POINTS_PER_MM = 72.0 / 25.4
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Source: ISO 216 (A4), ANSI/ASME Y14.1 (Letter), both in mm, from memory."""

PX_PER_MM = 96.0 / 25.4
"""Source: CSS Values and Units Level 4, 6.2: an inch is 96 px."""

LONG = "the very long name of a part that was written on by somebody with time to spare " * 2
UNBROKEN = "W" * 90
ADDRESS = "http://a-rather-long-name-of-a-machine.shed.example:8417"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def asked(chromium: Browser) -> Iterator[tuple[Page, list[str]]]:
    """A page, and everything it asked for or complained of."""
    page = chromium.new_page()
    heard: list[str] = []
    page.on("request", lambda request: heard.append(request.url))
    page.on("console", lambda said: heard.append(said.text))
    page.on("pageerror", lambda fault: heard.append(str(fault)))
    yield page, heard
    page.close()


@pytest.fixture
def open_file(
    asked: tuple[Page, list[str]], tmp_path: Path
) -> Callable[[str], tuple[Page, list[str]]]:
    """Opens a text as a person does: from a file."""

    def opened(text: str) -> tuple[Page, list[str]]:
        path = tmp_path / "paper.html"
        path.write_text(text, encoding="utf-8")
        page, heard = asked
        page.goto(path.as_uri())
        assert heard == [path.as_uri()]
        heard.clear()
        return page, heard

    return opened


def record_text(shop: ShopAtHand, number: int) -> str:
    return record_html(
        record_of(
            shop.store,
            shop.look(number, NOW),
            NOW,
            zone=shop.shop.zone,
            unit=shop.shop.unit,
            demo=True,
            particulars=Particulars(LONG[:80], UNBROKEN[:80], LONG[:80], UNBROKEN),
        )
    )


def label_text(shop: ShopAtHand, number: int, paper: PaperKind = "tape") -> str:
    told = label_of(shop.look(number, NOW), NOW, zone=shop.shop.zone, demo=True)
    return label_html(told, ADDRESS, paper)


@pytest.fixture
def busy(filled: ShopAtHand) -> ShopAtHand:
    """The bow with long words in it, and a week's marks."""
    filled.book.correct("layup-2", "what", UNBROKEN, NOW)
    for hour in range(24):
        filled.book.add_mark(
            parse_address("3"),
            MarkKind.NOTE,
            at=at("2026-05-02T16:00:00Z") + timedelta(minutes=30 * hour),
            note=UNBROKEN if hour % 2 else LONG,
            now=NOW,
        )
    return filled


def printed(page: Page, paper: str | None) -> PdfReader:
    size = {"format": paper} if paper else {}
    return PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True, **size)))


def told(pdf: PdfReader) -> str:
    """All its words, with single blanks between: how lines fall is the printer's business."""
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def size_mm(pdf: PdfReader) -> set[tuple[float, float]]:
    boxes = [page.mediabox for page in pdf.pages]
    return {
        (round(float(b.width) / POINTS_PER_MM, 1), round(float(b.height) / POINTS_PER_MM, 1))
        for b in boxes
    }


@pytest.mark.parametrize("paper", list(PAPERS))
def test_a_record_prints(open_file: Callable, busy: ShopAtHand, paper: str) -> None:
    """On both papers: every section's words in the file, pages numbered, nothing fetched."""
    page, heard = open_file(record_text(busy, 3))
    pdf = printed(page, paper)
    assert heard == []
    ((width, height),) = size_mm(pdf)
    assert (width, height) == pytest.approx(PAPERS[paper], abs=0.5)
    words = told(pdf)
    for part in (
        "3/patch: patch",
        "trimmed clean: “witness tab”",
        "7 h 30 min: no reading",
        "Dew in about 20 min. Tent it.",
        "What this record does not show",
        "It is no certificate",
        "recoat_max_hours = 48",
        "READY BY THE COUNT",
        f"{len(pdf.pages)} of {len(pdf.pages)}",
    ):
        assert part in words
    assert 4 <= len(pdf.pages) <= 8
    assert all(len(p.extract_text()) > 200 for p in pdf.pages)


def test_an_ordinary_record_is_short(open_file: Callable, filled: ShopAtHand) -> None:
    """A part with one batch and a handful of marks is five sheets at most, its sheet included."""
    page, _ = open_file(record_text(filled, 3))
    assert len(printed(page, "A4").pages) <= 5


OVER_THE_EDGE = """() => {
  const edge = document.documentElement.clientWidth + 0.5;
  return [...document.querySelectorAll("body *")]
    .filter((node) => !(node instanceof SVGElement) && node.checkVisibility())
    .filter((node) => {
      const box = node.getBoundingClientRect();
      return box.right > edge || box.left < -0.5 || node.scrollWidth > node.clientWidth + 1
        && getComputedStyle(node).display !== "inline";
    })
    .map((node) => node.tagName + ": " + node.textContent.trim().slice(0, 40));
}"""


@pytest.mark.parametrize("width_mm", [210.0 - 26.0, 215.9 - 26.0])
def test_nothing_is_cut_off(open_file: Callable, busy: ShopAtHand, width_mm: float) -> None:
    """Between the margins of either paper no word reaches past the edge, however long it is."""
    page, _ = open_file(record_text(busy, 3))
    page.emulate_media(media="print")
    page.set_viewport_size({"width": int(width_mm * PX_PER_MM), "height": 1000})
    assert page.evaluate(OVER_THE_EDGE) == []


@pytest.mark.parametrize("size", [(390, 844), (1440, 900)])
def test_it_can_be_read_on_a_screen(
    open_file: Callable, filled: ShopAtHand, size: tuple[int, int]
) -> None:
    """Phone and desk: no sideways scrolling."""
    page, _ = open_file(record_text(filled, 3))
    page.set_viewport_size({"width": size[0], "height": size[1]})
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]


@pytest.mark.parametrize("kind", ["record", "label"])
def test_it_is_read_by_everyone(open_file: Callable, filled: ShopAtHand, kind: str) -> None:
    """No serious fault of access: headings, tables, names, contrast (WCAG 2.2 AA, by axe-core)."""
    text = record_text(filled, 3) if kind == "record" else label_text(filled, 3)
    page, _ = open_file(text)
    page.evaluate(AXE)
    assert page.evaluate(FAULTS, [ALL]) == []


@pytest.mark.parametrize("number", [1, 3])
def test_a_label_is_one_strip(open_file: Callable, busy: ShopAtHand, number: int) -> None:
    """62 mm wide, one page, all its words on it, no long tail of empty tape."""
    page, heard = open_file(label_text(busy, number))
    pdf = printed(page, None)
    assert heard == []
    assert len(pdf.pages) == 1
    ((width, height),) = size_mm(pdf)
    assert width == pytest.approx(62.0, abs=0.5)
    words = told(pdf)
    assert "not before" in words
    assert "not after" in words
    assert "initials" in words
    page.emulate_media(media="print")
    used = page.evaluate("document.querySelector('.label').getBoundingClientRect().height")
    assert 0.6 * height <= used / PX_PER_MM <= height


@pytest.mark.parametrize("paper", list(PAPERS))
def test_a_label_on_plain_paper(open_file: Callable, filled: ShopAtHand, paper: str) -> None:
    """On whatever sheet is in the printer: the same strip with a line to cut along."""
    page, _ = open_file(label_text(filled, 3, "plain"))
    pdf = printed(page, paper)
    assert len(pdf.pages) == 1
    ((width, height),) = size_mm(pdf)
    assert (width, height) == pytest.approx(PAPERS[paper], abs=0.5)
    page.emulate_media(media="print")
    box = page.evaluate("document.querySelector('.label').getBoundingClientRect().width")
    assert box / PX_PER_MM == pytest.approx(62.0, abs=0.1)


def test_the_square_leads_to_the_part(open_file: Callable, filled: ShopAtHand) -> None:
    """A reader that is not ours reads the part's address from the printed square, and its quiet
    edge is the four modules that ISO/IEC 18004 asks for."""
    page, _ = open_file(label_text(filled, 3))
    page.set_viewport_size({"width": 600, "height": 800})
    picture = Image.open(io.BytesIO(page.screenshot(scale="device")))
    (found,) = zxingcpp.read_barcodes(picture.convert("L"))
    assert found.text == f"{ADDRESS}/layups/3"
    svg = page.evaluate("document.querySelector('.square svg').outerHTML")
    size = int(re.findall(r'viewBox="0 0 (\d+) \1"', svg)[0])
    modules = size - 2 * 4
    assert (modules - 21) % 4 == 0
