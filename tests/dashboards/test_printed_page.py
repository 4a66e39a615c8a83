"""The record and the label as pages: they stand by themselves, and a person's words stay words."""

from html.parser import HTMLParser

import pytest

from dashboards.app import build_app
from dashboards.printed.press import label_html, part_address, record_html, theirs
from monitor.answers.label import label_of
from monitor.answers.record import record_of
from monitor.cure.mixing import Weighed
from monitor.errors import BadInput
from monitor.logbook import parse_address
from monitor.records import MarkKind, Particulars
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock
from tests.scenarios import at, series
from tests.scenarios.shop import ShopAtHand

MIXED = at("2026-05-02T10:20:00Z")
POISON = "=HYPERLINK(\"http://x.example\")<script>alert('x')</script>\"'&"
FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "|x", " =1", "\t=1")
LEADS = {"src", "href", "action", "data", "poster", "srcset", "xlink:href", "background"}


class Read(HTMLParser):
    """Tags, the addresses they lead to, and the text of each cell and value."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.leads: list[str] = []
        self.events: list[str] = []
        self.cells: list[str] = []
        self.text = ""
        self._in_cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.leads += [value or "" for name, value in attrs if name in LEADS]
        self.events += [name for name, _ in attrs if name.startswith("on")]
        if tag in ("td", "th", "dd", "li", "h1"):
            self._in_cell = True
            self.cells.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th", "dd", "li", "h1"):
            self._in_cell = False

    def handle_data(self, data: str) -> None:
        self.text += data
        if self._in_cell:
            self.cells[-1] += data


def read(page: str) -> Read:
    reader = Read()
    reader.feed(page)
    return reader


def poisoned(shop: ShopAtHand, words: str) -> None:
    """A part in which every text that a person can give is `words`."""
    shop.hear("shed", series("A1"))
    shop.book.add_layup(1, words, "demo-laminating", on=None, safety=True, now=MIXED)
    shop.book.add_batch(
        parse_address("1/skin-a"),
        mixed_at=MIXED,
        now=MIXED,
        weighed=Weighed(200.0, catalyst_g=3.0),
        resin_tin=words,
        catalyst_tin=words,
        cup=words,
    )
    shop.put("1", "shed", MIXED)
    for kind in (MarkKind.NOTE, MarkKind.SUN, MarkKind.THUMBNAIL_MARK):
        shop.book.add_mark(
            parse_address("1"), kind, at=at("2026-05-02T11:00:00Z"), note=words, now=NOW
        )
    shop.book.correct("batch-1", "cup", f"{words} 2", NOW)
    shop.store.alerts.raise_alert("dew", "x", MIXED, MIXED, (1,), words, words)


def record_page(shop: ShopAtHand, words: str | None = None) -> str:
    return record_html(
        record_of(
            shop.store,
            shop.look(1, NOW),
            NOW,
            zone=shop.shop.zone,
            unit="c",
            demo=True,
            particulars=Particulars(words, words, words, words),
        )
    )


def label_page(shop: ShopAtHand) -> str:
    told = label_of(shop.look(1, NOW), NOW, zone=shop.shop.zone, demo=True)
    return label_html(told, "http://shed.local:8417")


@pytest.fixture(params=["record", "label"])
def page(request: pytest.FixtureRequest, shop: ShopAtHand) -> str:
    poisoned(shop, POISON)
    return record_page(shop, POISON) if request.param == "record" else label_page(shop)


def test_it_stands_by_itself(page: str) -> None:
    """No script, no form, no address to fetch from: nothing but the page's own text."""
    told = read(page)
    assert told.tags.isdisjoint({"script", "form", "iframe", "object", "embed", "img", "a"})
    assert told.events == []
    assert [lead for lead in told.leads if lead != "data:,"] == []
    assert "@import" not in page
    assert "url(http" not in page
    assert "default-src 'none'" in page


def test_words_stay_words(page: str) -> None:
    """What a person typed stands there to the letter, and is markup nowhere."""
    assert POISON in read(page).text
    assert "<script" not in page


@pytest.mark.parametrize("words", FORMULAS)
def test_no_cell_begins_a_formula(shop: ShopAtHand, words: str) -> None:
    """Copied into a sheet of figures, no cell of a person's words is reckoned out."""
    poisoned(shop, words.strip() or words)
    for page in (record_page(shop, words), label_page(shop)):
        cells = [cell.strip() for cell in read(page).cells]
        assert [cell for cell in cells if cell[:1] in "=+@|" and cell] == []
        assert words.strip() not in cells


def test_ordinary_words_are_left_alone() -> None:
    """Only what a sheet of figures would take for a formula is put in quotation marks."""
    assert theirs("hatch lid, outside") == "hatch lid, outside"
    assert theirs("=1+1") == "“=1+1”"
    assert theirs(None) is None


def test_every_section_is_there(shop: ShopAtHand) -> None:
    """What a printed record holds, in the order in which it is read."""
    poisoned(shop, "plain words")
    text = read(record_page(shop)).text
    places = [
        text.index(heading)
        for heading in (
            "Cloth, mat, core, plies",
            "Temperature and humidity while it cured",
            "Direct sun on the part",
            "Materials, their numbers and dates",
            "What was measured and counted",
            "1/skin-a: skin A",
            "Touch tests",
            "What was seen and done",
            "Alerts, and what was done",
            "Sensors",
            "Put right later",
            "What this record does not show",
            "It is no certificate",
            "The sheet it was judged by",
        )
    ]
    assert places == sorted(places)


def test_what_the_book_lacks_is_a_line(shop: ShopAtHand) -> None:
    """Boat, place, person, plies, dates, checks: a line to fill in by hand, never left out."""
    poisoned(shop, "plain words")
    page = record_page(shop)
    assert page.count("(by hand)") >= 12
    whose = record_html(
        record_of(
            shop.store,
            shop.look(1, NOW),
            NOW,
            zone=shop.shop.zone,
            unit="c",
            demo=False,
            particulars=Particulars("Petrel", "the shed", "N. Body"),
        )
    )
    assert whose.count("(by hand)") == page.count("(by hand)") - 3
    assert "made-up" in page
    assert "made-up" not in whose


@pytest.mark.parametrize(
    "address",
    ["", "shed.local", "javascript:alert(1)", "http://", "http://a b", "ftp://x", "http://x:99999"],
)
def test_what_is_no_address(address: str) -> None:
    """A label leads to a page or isn't printed."""
    with pytest.raises(BadInput):
        part_address(address, 3)


def test_the_address_of_a_part() -> None:
    """Under the pages' own address, whatever stands behind it."""
    assert part_address("http://shed.local:8417/", 3) == "http://shed.local:8417/layups/3"
    assert part_address("https://x.example/boat?a=1#b", 12) == "https://x.example/boat/layups/12"


@pytest.fixture
def asking(filled: ShopAtHand, clock: Clock) -> Asking:
    return Asking(build_app(filled.store, filled.shop, clock=clock))


def test_both_are_served(asking: Asking) -> None:
    """By the part's number, with the headers of every page; the label leads back to this server."""
    record, label = asking.get("/layups/3/record"), asking.get("/layups/3/label")
    assert (record.status_code, label.status_code) == (200, 200)
    assert "script-src 'self'" in record.headers["content-security-policy"]
    assert "part 3" in record.text
    assert "http://127.0.0.1:8417/layups/3" in label.text
    assert "size: 62mm" in label.text
    assert "size: 62mm" not in asking.get("/layups/3/label?plain").text


def test_no_such_part(asking: Asking) -> None:
    """Two lines, as on every page."""
    for path in ("/layups/99/record", "/layups/99/label", f"/layups/{10**30}/record"):
        assert asking.get(path).status_code == 404
