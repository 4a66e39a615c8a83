"""A book full of hostile words: on every page they are words, and nothing of them acts."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import orjson
import pytest
from sqlalchemy import select
from starlette.applications import Starlette
from starlette.routing import Route

from dashboards.app import build_app
from dashboards.serve import WebServer
from monitor.errors.text import shown
from monitor.store.schema import metadata
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import Clock
from tests.dashboards.screens import Screens, until
from tests.scenarios.poison import NOW, ODD, UNSEEN, WORDS, owned_by, poison
from tests.scenarios.shop import ShopAtHand, open_demo_shop

PLAIN = "plain words"
EVERY_WORD = " ".join(WORDS)
EVERY_SIGN = "".join(UNSEEN)
LEADS = {"src", "href", "action", "data", "poster", "srcset", "xlink:href", "formaction"}
FILLED_IN = {
    "number": ("1",),
    "entry": ("layup-1", "batch-1", "mark-1", "stay-1"),
    "batch": ("skin-a",),
    "id": ("1",),
    "stem": ("tin",),
    "key": ("name", "stages.sand"),
}
ASKED = {
    "/mix": ("?sheet=tin&resin_g=100&temperature=20&scale_step_g=0.1",),
    "/plan": ("?sheet=tin&stage=sand", "?number=1&for=wax-coat"),
    "/api/mix": ("?sheet=tin&resin_g=100&temperature=20",),
    "/api/plan": ("?sheet=tin&stage=sand",),
    "/api/history": ("?sheet=tin",),
    "/layups/{number:int}/label": ("", "?paper=plain"),
}
NOT_PAGES = {"/events", "/static/{stamp}/{name}", "/alive", "/keep.js"}


class Read(HTMLParser):
    """The skeleton of a page: its tags with the names of their attributes; what leads where."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.skeleton: list[tuple[str, tuple[str, ...]]] = []
        self.leads: list[str] = []
        self.ids: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.skeleton.append((tag, tuple(name for name, _ in attrs)))
        self.leads += [value or "" for name, value in attrs if name in LEADS]
        self.words += [value or "" for _, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        self.skeleton.append((f"/{tag}", ()))

    def handle_comment(self, data: str) -> None:
        self.skeleton.append(("!--", (data,)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def shop_of(folder: Path, words: str) -> tuple[ShopAtHand, Starlette]:
    at_hand = open_demo_shop(folder)
    poison(at_hand, words)
    app = build_app(
        at_hand.store, owned_by(at_hand.shop, words), clock=Clock(), address_note=words, door=True
    )
    return at_hand, app


def addresses(app: Starlette) -> list[str]:
    """Every address that answers a question, filled in from the book."""
    found = []
    for route in app.routes:
        assert isinstance(route, Route)
        if "GET" not in (route.methods or ()) or route.path in NOT_PAGES:
            continue
        paths = [route.path]
        for name in re.findall(r"{(\w+)(?::\w+)?}", route.path):
            paths = [
                re.sub(rf"{{{name}(:\w+)?}}", value, path)
                for path in paths
                for value in FILLED_IN[name]
            ]
        found += [path + query for path in paths for query in ASKED.get(route.path, ("",))]
    return found


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    """Every answer of three shops that differ in their words alone: plain, hostile, unseen."""
    told: dict[str, dict[str, Any]] = {}
    for kind, words in (("plain", PLAIN), ("hostile", EVERY_WORD), ("unseen", EVERY_SIGN)):
        at_hand, app = shop_of(tmp_path_factory.mktemp("poison") / kind, words)
        client = Asking(app)
        told[kind] = {path: client.get(path) for path in addresses(app)}
        at_hand.store.close()
    return told


def pages(answers: dict[str, Any]) -> dict[str, str]:
    return {
        path: answer.text
        for path, answer in answers.items()
        if answer.headers["content-type"].startswith("text/html")
    }


def objects(answers: dict[str, Any]) -> dict[str, Any]:
    return {
        path: orjson.loads(answer.content)
        for path, answer in answers.items()
        if answer.headers["content-type"].startswith("application/json")
    }


def texts(value: object) -> Iterator[str]:
    """Every text in an object, names and values."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner)


def test_every_address_answers(books: dict[str, dict[str, Any]]) -> None:
    """Whatever the words are; and the pages and the objects are all there is."""
    for kind, answers in books.items():
        assert {p: a.status_code for p, a in answers.items() if a.status_code != 200} == {}, kind
        assert set(pages(answers)) | set(objects(answers)) == set(answers)


@pytest.mark.parametrize("kind", ["hostile", "unseen"])
def test_a_page_is_built_the_same_whatever_is_written(
    books: dict[str, dict[str, Any]], kind: str
) -> None:
    """No element and no attribute comes of a person's words, and none goes: HTML 13.2."""
    plain = pages(books["plain"])
    for path, page in pages(books[kind]).items():
        assert Read(page).skeleton == Read(plain[path]).skeleton, path


@pytest.mark.parametrize("kind", ["hostile", "unseen"])
def test_nothing_leads_elsewhere(books: dict[str, dict[str, Any]], kind: str) -> None:
    """Every address on a page is of these pages, as it is with plain words."""
    plain = pages(books["plain"])
    for path, page in pages(books[kind]).items():
        assert Read(page).leads == Read(plain[path]).leads, path
        assert [to for to in Read(page).leads if not re.match(r"[/?#]|data:,$", to)] == []


def test_hostile_words_are_there_to_the_letter(books: dict[str, dict[str, Any]]) -> None:
    """On the pages that tell of a part, a sensor, an alert, a phone, a trouble."""
    for path in (
        *("/", "/layups/1", "/layups/1/book", "/layups/1/mark", "/layups/1/record", "/log"),
        *("/layups/1/label", "/sensors", "/alerts", "/phones", "/sheets", "/sheets/tin", "/mix"),
        *("/layups/1/book/mark-1", "/layups/1/book/batch-1", "/sheets/tin/name"),
    ):
        answer = next(a for p, a in books["hostile"].items() if p.partition("?")[0] == path)
        assert any(EVERY_WORD in words for words in Read(answer.text).words), path


def test_unseen_signs_are_told_by_their_number(books: dict[str, dict[str, Any]]) -> None:
    """None of them is on any page; what stands for them is."""
    for path, page in pages(books["unseen"]).items():
        found = ODD.findall(page.replace("\t", ""))
        assert found == [], path
    told = shown(UNSEEN[0])
    for path in ("/", "/layups/1/book", "/layups/1/record", "/layups/1/label", "/alerts"):
        assert told in books["unseen"][path].text, path


def test_programs_are_given_what_was_written(books: dict[str, dict[str, Any]]) -> None:
    """JSON takes any text as it is: nothing is lost or changed on the way."""
    for kind, words in (("hostile", EVERY_WORD), ("unseen", EVERY_SIGN)):
        answers = objects(books[kind])
        kept = words.replace("\x00", "\\x00")
        book = answers["/api/layups/1/book"]
        assert book["what"] == book["boat"] == f"{kept}."
        assert book["batches"][0]["cup"] == book["marks"][0]["note"] == f"{kept}."
        assert book["corrections"][0]["new"] == kept
        assert kept in answers["/api/sensors"][0]["lines"]
        assert kept in [alert["fact"] for alert in answers["/api/alerts"]]
        assert shown(words) in shown(answers["/api/sheets/tin"]["name"]) or kind == "unseen"


MARKUP = re.compile(r"<[^>]*>")


@pytest.mark.parametrize("kind", ["hostile", "unseen"])
def test_charts_hold_no_markup_of_theirs(books: dict[str, dict[str, Any]], kind: str) -> None:
    """The plotting library takes some HTML in a text: bold, and links that can be pressed.

    https://plotly.com/chart-studio-help/adding-HTML-and-links-to-charts/
    """
    path = "/layups/1/charts.json"
    plain, told = (list(texts(objects(books[k])[path])) for k in ("plain", kind))
    assert len(plain) == len(told)
    for before, text in zip(plain, told, strict=True):
        assert MARKUP.findall(text) == MARKUP.findall(before)
        assert ODD.findall(text) == []
        assert "<a" not in text
    named = [text for text in told if shown(UNSEEN[0]) in text or "&lt;script&gt;" in text]
    assert named != []


# Written through the pages


FORMS = {
    "/log/part": {"number": "9", "what": "x", "sheet": "demo-laminating"},
    "/layups/1/cup": {"role": "patch", "mixed_at": "2026-05-02 18:00"},
    "/layups/1/marks": {"kind": "note", "of": "all", "note": "x"},
    "/api/layups": {"number": "9", "what": "x", "sheet": "demo-laminating"},
    "/api/layups/1/batches": {"role": "patch", "mixed_at": "2026-05-02T18:00:00Z"},
    "/api/layups/1/marks": {"kind": "note", "note": "x"},
    "/api/layups/1/corrections": {"entry": "mark-1", "field": "note", "value": "x"},
    "/layups/1/book/layup-1": {"what": "x"},
    "/layups/1/book/batch-1": {"cup": "x"},
    "/sheets/new": {"stem": "new-tin", "name": "x", "kind": "polyester"},
    "/sheets/tin/name": {"value": "x"},
    "/sheets/tin/stages.sand": {"value": "240", "origin": "x"},
}
"""What makes each form good, but for the field that is tried."""
FIELDS = [
    *(("/log/part", f) for f in ("what", "boat", "place", "person", "laminate")),
    *(("/api/layups", f) for f in ("what", "boat", "place", "person", "laminate")),
    *(("/layups/1/cup", f) for f in ("resin_tin", "catalyst_tin", "cup")),
    *(("/api/layups/1/batches", f) for f in ("resin_tin", "catalyst_tin", "cup")),
    ("/layups/1/marks", "note"),
    ("/api/layups/1/marks", "note"),
    ("/api/layups/1/corrections", "value"),
    *(("/layups/1/book/layup-1", f) for f in ("what", "boat", "laminate")),
    *(("/layups/1/book/batch-1", f) for f in ("resin_tin", "cup")),
    ("/sheets/new", "name"),
    ("/sheets/tin/name", "value"),
    ("/sheets/tin/stages.sand", "origin"),
]
CHOICES = [
    ("/log/part", "sheet"),
    ("/log/part", "sensor"),
    ("/log/part", "number"),
    ("/layups/1/cup", "role"),
    ("/api/layups/1/batches", "name"),
    ("/layups/1/cup", "mixed_at"),
    ("/layups/1/cup", "resin_g"),
    ("/layups/1/cup", "sheet"),
    ("/layups/1/marks", "kind"),
    ("/layups/1/marks", "of"),
    ("/layups/1/marks", "at"),
    ("/api/layups/1/corrections", "entry"),
    ("/api/layups/1/corrections", "field"),
    ("/layups/1/book/batch-1", "name"),
    ("/sheets/new", "stem"),
]
"""Fields in which no free words are taken."""


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[ShopAtHand, Asking]]:
    """One for all that write: each looks at what it changed itself."""
    at_hand, app = shop_of(tmp_path_factory.mktemp("plain") / "shop", PLAIN)
    yield at_hand, Asking(app)
    at_hand.store.close()


BOOK = ("layups", "batches", "stays", "marks", "corrections", "kept_sheets")


def stands(at_hand: ShopAtHand) -> bytes:
    """All that was written: the book as a program gets it, and every sheet's file."""
    with at_hand.store.database.reading() as connection:
        rows = [connection.execute(select(metadata.tables[name])).all() for name in BOOK]
    sheets = sorted((at_hand.shop.folder / "sheets").iterdir())
    return repr(rows).encode() + b"".join(s.name.encode() + s.read_bytes() for s in sheets)


def test_signs_that_nobody_sees_are_refused(plain: tuple[ShopAtHand, Asking]) -> None:
    """In every field, with two lines that say which, and nothing is changed."""
    at_hand, client = plain
    before = stands(at_hand)
    for number, (path, field) in enumerate(FIELDS):
        # Every field a few of them, every one of them in a few fields.
        for words in {UNSEEN[(number + step) % len(UNSEEN)] for step in (0, 5, 9)}:
            answer = client.post(path, data={**FORMS[path], field: words})
            assert answer.status_code == 400, (path, field, words)
            assert "can&#39;t be seen" in answer.text or "can't be seen" in answer.text
            assert ODD.findall(answer.text.replace("\t", "")) == []
    assert stands(at_hand) == before


def test_words_are_no_choice(plain: tuple[ShopAtHand, Asking]) -> None:
    """Where one of a few is asked for, nothing else is taken; it comes back as text in the two
    lines that refuse it, and nothing is changed."""
    at_hand, client = plain
    before = stands(at_hand)
    for path, field in CHOICES:
        skeletons = set()
        for words in (WORDS[0], WORDS[1], WORDS[4], UNSEEN[0], UNSEEN[8], "../../x"):
            answer = client.post(path, data={**FORMS[path], field: words})
            assert answer.status_code == 400, (path, field, words, answer.text[:200])
            if answer.headers["content-type"].startswith("text/html"):
                skeletons.add(str(Read(answer.text).skeleton))
            else:
                assert set(answer.json()) == {"what", "remedy"}
        assert len(skeletons) <= 1, (path, field)
    assert stands(at_hand) == before


TOLD_AT = (
    ("/log/part", "what", "/layups/{new}/book"),
    ("/log/part", "laminate", "/layups/{new}/record"),
    ("/layups/1/cup", "cup", "/layups/1/record"),
    ("/layups/1/marks", "note", "/layups/1/book"),
    ("/layups/1/book/layup-1", "what", "/layups/1"),
    ("/layups/1/book/batch-1", "cup", "/layups/1/book/batch-1"),
    ("/sheets/new", "name", "/sheets"),
    ("/sheets/tin/name", "value", "/sheets/tin"),
    ("/sheets/tin/stages.sand", "origin", "/sheets/tin"),
)


def test_what_is_taken_comes_back(plain: tuple[ShopAtHand, Asking]) -> None:
    """Typed into a page it is stored, and stands on the page that tells of it, to the letter."""
    _, client = plain
    for new, (path, field, told) in enumerate(TOLD_AT * 3, start=9):
        words = WORDS[new % 10]
        own = {"number": f"{new}", "stem": f"tin-{new}"}
        form = {**FORMS[path], **{n: v for n, v in own.items() if n in FORMS[path]}, field: words}
        answer = client.post(path, data=form)
        assert answer.status_code in (200, 303), answer.text
        page = client.get(told.format(new=new)).text
        assert any(words in there for there in Read(page).words), (path, field, words)


def test_a_redirect_stays_here(plain: tuple[ShopAtHand, Asking]) -> None:
    """No word that was typed ends an address or a header: RFC 9112, section 11.1."""
    _, client = plain
    for words in (WORDS[0], WORDS[4], WORDS[9], *UNSEEN[:9:2], UNSEEN[8], "//x.example", "/\\\\x"):
        for path in ("/log/part", "/layups/1/marks", "/sheets/new"):
            form = {**FORMS[path], "seen": words, "next": words, "sensor": "", "name": words}
            answer = client.post(path, data=form, headers={"Referer": "http://x.example/"})
            to = answer.headers.get("location", "/")
            assert re.fullmatch(r"/[!-~]*", to), (path, words)
            assert not to.startswith("//")
            assert "bcc" not in answer.headers
    signed = client.get("/sign-in", params={"next": "javascript:window.ran=1"}).text
    assert "javascript:" not in signed


# In a real browser


WATCH = """
window.ran = 0; window.broken = [];
document.addEventListener("securitypolicyviolation",
  (said) => window.broken.push(`${said.violatedDirective} ${said.blockedURI} ${said.sample}`));
"""
LED = """[...document.querySelectorAll('a[href], form[action], [src]')].map((node) =>
  node.href?.baseVal ?? node.href ?? node.src ?? node.action)
  .filter((to) => typeof to === 'string' && !to.startsWith(location.origin) && to !== 'data:,')"""


LOOKED_AT = (
    *("/", "/layups/1", "/layups/1/book", "/sensors", "/layups/1/book/mark-1", "/layups/1/mark"),
    *("/layups/1/record", "/layups/1/label", "/layups/1/review/1", "/layups/1/cups/skin-a"),
    *("/log", "/log/part", "/mix?sheet=tin&resin_g=100", "/plan", "/alerts", "/sheets"),
    *("/sheets/tin", "/phones", "/layups/1/cup", "/history"),
)


@pytest.mark.parametrize("kind", ["hostile", "unseen"])
def test_nothing_runs_in_a_browser(screens: Screens, tmp_path: Path, kind: str) -> None:
    """No script, no dialog, nothing that the policy had to stop, no link of theirs; also on the
    charts under a pointer, and on a phone none of it is wider than its screen."""
    words = EVERY_WORD if kind == "hostile" else EVERY_SIGN
    at_hand, app = shop_of(tmp_path / "shop", words)
    server = WebServer(app, 0)
    address = server.start().rstrip("/")
    watched = screens.fresh("phone")
    page = watched.page
    page.add_init_script(WATCH)
    page.on("dialog", lambda said: (watched.complaints.append(said.message), said.dismiss()))
    try:
        for path in LOOKED_AT[: 99 if kind == "hostile" else 4]:
            page.goto(address + path)
            if path == "/layups/1":
                until(page, "document.querySelectorAll('.chart .main-svg').length > 3")
                page.locator(".chart").first.hover()
                assert page.evaluate("document.querySelectorAll('.chart text a').length") == 0
            assert page.evaluate("[window.ran, window.broken]") == [0, []], path
            assert page.evaluate(LED) == [], path
            if "record" not in path and "label" not in path:
                assert page.evaluate("document.documentElement.scrollWidth") <= 390, path
        assert watched.complaints == []
        assert all(url.startswith((address, "data:", "blob:")) for url in watched.requests)
    finally:
        server.stop()
        at_hand.store.close()


def test_now_is_the_clocks() -> None:
    """Both fixtures stand at one moment: what is poisoned is of today."""
    assert Clock().now == NOW
