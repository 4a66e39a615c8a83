"""The pages: what a person reads, and that nothing they typed becomes part of the page."""

import json
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape

import pytest

from dashboards.app import build_app
from dashboards.figures import FIGURES
from monitor.answers.asjson import ready_json
from monitor.answers.report import ready_lines
from monitor.answers.wording import COUNT_IS_NOT_HARDNESS, VERDICT_SHAPES, VERDICT_WORDS
from monitor.cautions import HEAT, HOT_CUP
from monitor.config import Shop
from monitor.errors import StoreError
from monitor.logbook import parse_address
from monitor.records import MarkKind, Verdict
from monitor.store import Store
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock, damp, fill, say
from tests.scenarios import at, series
from tests.scenarios.shop import ShopAtHand


def text_of(page: str) -> str:
    """What stands on a page, without its tags, spaces made one."""
    body = page.partition("<body>")[2]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", body)))


def asking(shop: ShopAtHand, clock: Clock) -> Asking:
    return Asking(build_app(shop.store, shop.shop, clock=clock))


def ready_of(shop: ShopAtHand, number: int, now: datetime) -> list[str]:
    """What the terminal says of a part, its spaces made one."""
    seen = shop.look(number, now)
    lines = ready_lines(seen, shop.shop.zone, "c", seen.batches, now=now)
    return [re.sub(r"\s+", " ", line).strip() for line in lines]


def test_everything_open_is_a_list_of_sentences(client: Asking) -> None:
    """Each part: its number, what it is, and for each batch the verdict with its shape and time."""
    page = text_of(client.get("/").text)
    assert "1 part 1" in page
    assert "skin A, mixed 10:20 Sat" in page
    ready = f"{VERDICT_SHAPES[Verdict.READY]} sand: {VERDICT_WORDS[Verdict.READY]} since 04:5"
    assert ready in page
    assert re.search(r"since 04:5\d today", page)
    assert "Touch test, skin A thumbnail on the witness tab" in page
    assert COUNT_IS_NOT_HARDNESS in page


def test_what_speaks_against_it_and_how_old_the_reading_is(client: Asking) -> None:
    """The bow was silent for 7 h 30 min, and in the sun for the 32 min between good readings."""
    page = text_of(client.get("/").text)
    assert "Against it 8 h 02 min not measured." in page
    assert "reading less than a minute old · bow, beside the part" in page


def test_parts_stand_in_the_order_of_their_numbers(client: Asking, filled: ShopAtHand) -> None:
    """The number on the tape is what a part is found by, whenever it was logged."""
    filled.lay_up(2, "P1", NOW - timedelta(hours=1))
    numbers = re.findall(r'<article class="part" id="part-(\d+)"', client.get("/").text)
    assert numbers == ["1", "2", "3"]


def test_what_is_read_at_a_glance_comes_first(client: Asking) -> None:
    """Verdict, time, the one thing against it, what shuts next, how fresh; then all the rest."""
    article = client.get("/").text.partition('id="part-3"')[2].partition("</article>")[0]
    bow = text_of(f"<body>{article}")
    wanted = (
        *("READY BY THE COUNT", "since 21:06 Sat", "Against it", "Shuts next", "reading less than"),
        *("Touch test", "Dew in about 20 min.", "Flipped", "Other marks"),
    )
    places = [bow.index(words) for words in wanted]
    assert places == sorted(places)


def test_heat_s_cautions_stand_once_whatever_asks_for_warmth(
    client: Asking, filled: ShopAtHand
) -> None:
    """Folded at the end of the list; each thing that asks for warmth leads there."""
    for key in ("one", "two"):
        filled.store.alerts.raise_alert(
            "below-floor", key, NOW, NOW, (3,), "4.0 °C.", f"Bring it inside. {HEAT}"
        )
    page = client.get("/").text
    assert text_of(page).count(HEAT) == 1
    assert page.count('href="#heating"') >= 2
    assert "Bring it inside." in page
    assert page.index('id="heating"') > page.index('id="part-3"')
    part = client.get("/layups/3").text
    assert text_of(part).count(HEAT[1:]) == 1
    assert 'id="heating"' in part


def test_the_page_says_what_the_terminal_says(shop: ShopAtHand, clock: Clock) -> None:
    """Surface, knife, next coat and what was marked, line for line."""
    shop.hear("shed", damp(series("A1").between(0, NOW.timestamp())))
    shop.lay_up(1, "P1", at("2026-05-02T10:20:00Z"))
    shop.put("1", "shed", at("2026-05-02T10:20:00Z"), now=NOW)
    shop.lay_up(2, "G1", at("2026-05-03T04:40:00Z"), "plain-coat")
    shop.put("2", "shed", at("2026-05-03T04:40:00Z"), now=NOW)
    shop.book.correct("layup-2", "on", "hull", NOW)
    early, soon = at("2026-05-02T13:30:00Z"), at("2026-05-02T10:55:00Z")
    shop.book.add_mark(parse_address("1"), MarkKind.KICKED, at=soon, note=None, now=NOW)
    client = asking(shop, clock)
    clock.now = early
    everything = ready_of(shop, 1, early)
    late = next(line for line in everything if line.startswith("Too late for a knife"))
    assert late in text_of(client.get("/").text)
    assert late in text_of(client.get("/layups/1").text)
    kicked = "It kicked at 10:55 today, 35 min after mixing, by your mark."
    assert any(kicked in line for line in everything)
    assert kicked in text_of(client.get("/layups/1").text)
    clock.now = NOW
    coat = ready_of(shop, 2, NOW)
    wanted = [line for line in coat if line.startswith(("Surface: ", "Next, "))]
    assert len(wanted) == 3
    for path in ("/", "/layups/2"):
        page = text_of(client.get(path).text)
        assert all(line in page for line in wanted)
        assert "next coat: " in page


def test_a_part_with_nothing_mixed_says_whether_to_start(
    client: Asking, filled: ShopAtHand
) -> None:
    """As the terminal does."""
    filled.book.add_layup(4, "cleat pad", "demo-laminating", on=None, safety=False, now=NOW)
    filled.put("4", "bow", NOW)
    line = ready_of(filled, 4, NOW)[1]
    assert re.match(r"(GO|NO-GO|CAN'T TELL|NOT YET)\b", line)
    assert line in text_of(client.get("/").text)


def test_an_alert_stands_after_the_answer_with_one_button(client: Asking) -> None:
    """Fact, action, button; pressed, the button is gone and the page says when."""
    page = client.get("/").text
    bow = page.partition('id="part-3"')[2]
    assert "Dew in about 20 min." in bow
    assert bow.index("Dew in about 20 min.") > bow.index("reading less than a minute old")
    assert '<form method="post" action="/alerts/1/seen"' in bow
    pressed = client.post("/alerts/1/seen")
    assert (pressed.status_code, pressed.headers["location"]) == (303, "/")
    after = client.get("/").text
    assert "/alerts/1/seen" not in after
    assert "Said at 07:20 today, seen at 08:00 today." in text_of(after)


def test_an_alert_of_no_part_is_shown_above_the_parts(client: Asking, filled: ShopAtHand) -> None:
    """What concerns the shop, not a part, isn't lost."""
    filled.store.alerts.raise_alert("disk", "disk", NOW, NOW, (), "The disk is full.", "Clear it.")
    page = client.get("/").text
    assert page.index("The disk is full.") < page.index('id="part-1"')


def test_an_alert_that_is_over_is_gone_from_now_and_kept_on_its_part(
    client: Asking, filled: ShopAtHand
) -> None:
    """Cleared alerts are history."""
    filled.store.alerts.clear(1, NOW)
    assert "Dew in about 20 min." not in client.get("/").text
    assert "Said before 07:20 today Dew in about 20 min." in text_of(client.get("/layups/3").text)


def test_an_unknown_alert_is_two_lines(client: Asking) -> None:
    """Pressing a button of long ago gives a page, not a trace."""
    for id in (99, 10**30):
        answer = client.post(f"/alerts/{id}/seen")
        assert answer.status_code == 404
        assert f"There is no alert {id}." in text_of(answer.text)


def test_a_demo_shop_says_so(client: Asking) -> None:
    """On every page."""
    for path in ("/", "/layups/1", "/layups/77"):
        assert "Every part, sheet and reading here is invented." in text_of(client.get(path).text)


def test_a_real_shop_does_not_call_itself_a_demo(shop: ShopAtHand, clock: Clock) -> None:
    """And its empty page names no demo sheet."""
    own = Shop(shop.shop.folder, shop.shop.zone, "c", False, shop.shop.database, 8417)
    client = Asking(build_app(shop.store, own, clock=clock))
    page = text_of(client.get("/").text)
    assert "invented" not in page
    assert 'layupwatch layup add 1 "hatch lid" --sheet NAME' in page


def test_an_empty_shop_tells_how_to_begin(shop: ShopAtHand, clock: Clock) -> None:
    """In one line that can be typed."""
    page = text_of(asking(shop, clock).get("/").text)
    assert "Nothing is open." in page
    assert 'layupwatch layup add 1 "hatch lid" --sheet demo-laminating' in page


def test_a_part_without_batch_or_sensor_is_a_page(shop: ShopAtHand, clock: Clock) -> None:
    """A tape with nothing mixed yet says how to log the mix."""
    shop.book.add_layup(4, "cleat pad", "demo-laminating", on=None, safety=False, now=NOW)
    client = asking(shop, clock)
    for path in ("/", "/layups/4"):
        page = text_of(client.get(path).text)
        assert "layupwatch batch add 4/skin-a" in page
        assert "no sensor beside it" in page
    assert list(client.get("/layups/4/charts.json").json()) == list(FIGURES)


def test_a_layup_shows_every_stage_with_its_edges(client: Asking) -> None:
    """Word, needs, verdict, the careful edge large and the others small, shuts, the reason."""
    page = text_of(client.get("/layups/1").text)
    assert "Stages of 1/skin-a" in page
    assert re.search(
        r"knife trim needs 18 to 40 ✕ SHUT Shut by the count\. "
        r"Opens about 11:(39|40|41) Sat early .* middle .* Shuts about 12:(49|50|51) Sat",
        page,
    )
    assert re.search(r"sand needs 240 ■ READY BY THE COUNT .* Opens 04:5\d today", page)
    assert "Your sheet doesn't say: sealed, load." in page
    assert "It goes by its slowest batch." in page
    assert "□ sand: NOT YET by 1/skin-b" in page


def test_a_layup_shows_gaps_and_marks(client: Asking) -> None:
    """What nobody measured, in words, and what was done."""
    page = text_of(client.get("/layups/3").text)
    assert "21:10 Sat to 04:40 today, 7 h 30 min: no reading" in page
    assert "15:47 Sat kicked" in page
    assert "16:30 Sat trimmed clean, patch: witness tab" in page


def test_a_layup_shows_parked_spans_and_how_to_heat_without_harm(
    shop: ShopAtHand, clock: Clock
) -> None:
    """Parked since when, and the cautions wherever warming is the remedy."""
    shop.hear("yard", series("A2").between(0, NOW.timestamp()))
    shop.lay_up(2, "P1", at("2026-05-02T16:00:00Z"))
    shop.put("2", "yard", at("2026-05-02T16:00:00Z"), now=NOW)
    client = asking(shop, clock)
    page = text_of(client.get("/layups/2").text)
    assert re.search(r"Parked, below the floor since 21:1\d Sat, still", page)
    assert re.search(r"Against it parked since 21:1\d Sat", page)
    now = text_of(client.get("/").text)
    assert HEAT in now


def test_cautions_stand_at_the_foot_of_a_layup(client: Asking) -> None:
    """Peroxide, hot cup, heaters."""
    page = text_of(client.get("/layups/1").text)
    assert "peroxide: goggles" in page
    assert HOT_CUP in page
    assert HEAT[1:] in page


def test_an_ended_layup_is_shown_as_it_stood(
    client: Asking, filled: ShopAtHand, clock: Clock
) -> None:
    """Its count stops where it ended."""
    filled.book.end_layup(3, NOW)
    clock.now = NOW + timedelta(days=2)
    page = text_of(client.get("/layups/3").text)
    assert "Ended 08:00 Sun; this is how it stood then." in page
    assert "reading less than a minute old" in page
    assert client.get("/api/layups/3").json()["batches"][0]["now"] == "2026-05-03T08:00:00Z"
    assert "part 3" not in text_of(client.get("/").text)


@pytest.mark.parametrize("number", [2, 77, 10**30])
def test_an_unknown_layup_is_a_friendly_page(client: Asking, number: int) -> None:
    """What is wrong and what to do; as JSON where JSON was asked."""
    answer = client.get(f"/layups/{number}")
    assert answer.status_code == 404
    assert "There is no" in answer.text
    assert "Traceback" not in answer.text
    for path in (f"/api/layups/{number}", f"/layups/{number}/charts.json"):
        told = client.get(path)
        assert told.status_code == 404
        assert set(told.json()) == {"what", "remedy"}


def test_an_unknown_page_is_a_friendly_page(client: Asking) -> None:
    """Also a wrong method, and a word where a number stands."""
    for path in ("/nowhere", "/layups/three", "/static/old/daybook.css"):
        answer = client.get(path)
        assert answer.status_code == 404
        assert "There is no such page here." in answer.text
    assert client.get("/alerts/1/seen").status_code == 405


def test_trouble_with_the_database_is_two_lines(
    client: Asking, filled: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Never a trace: what is wrong, what to do, and a status that says whose fault it is."""

    def full(*_args: object, **_kinds: object) -> None:
        raise StoreError("The disk is full.", "Make room.")

    monkeypatch.setattr(filled.store.database, "reading", full)
    answer = client.get("/")
    assert answer.status_code == 503
    assert "The disk is full. Make room." in text_of(answer.text)
    assert client.get("/api/now").json() == {"what": "The disk is full.", "remedy": "Make room."}


def test_our_own_mistakes_show_no_trace(
    filled: ShopAtHand, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the program is a page with two lines and the same headers."""

    def broken(*_args: object, **_kinds: object) -> None:
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr(filled.store.database, "reading", broken)
    app = build_app(filled.store, filled.shop, clock=clock)
    client = Asking(app, raise_faults=False)
    answer = client.get("/")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "nothing that was logged is lost" in answer.text
    assert "Content-Security-Policy" in answer.headers


def test_what_people_type_stays_text(shop: ShopAtHand, clock: Clock) -> None:
    """A part, a note, a sensor and an alert with signs of HTML in them are shown as typed."""
    bad = "<script>alert(1)</script>"
    fill(shop)
    shop.book.add_layup(5, bad, "demo-laminating", on=None, safety=False, now=NOW)
    shop.book.correct("mark-1", "note", bad, NOW)
    shop.store.book.correct("sensor-1", "name", bad, NOW)
    shop.store.alerts.raise_alert("x", "x", NOW, NOW, (1,), bad, bad)
    client = asking(shop, clock)
    for path in ("/", "/layups/1", "/layups/3", "/layups/5"):
        page = client.get(path).text
        assert bad not in page
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert bad not in client.get("/layups/1/charts.json").text


def test_no_script_stands_in_a_page(client: Asking) -> None:
    """Scripts come from our own addresses only."""
    for path in ("/", "/layups/1"):
        for tag in re.findall(r"<script\b[^>]*>(.*?)</script>", client.get(path).text, re.S):
            assert tag == ""
        assert not re.search(r"\son\w+=", client.get(path).text)


def test_a_fahrenheit_shop_reads_fahrenheit(
    shop_in: Callable[..., ShopAtHand], clock: Clock
) -> None:
    """Temperatures with the 32, differences and counts without it.

    240 °C-hours are 432 °F-hours; 1.0 °C either way is 1.8 °F. Source: NIST SP 811, B.8.
    """
    shop = shop_in(unit="f")
    fill(shop)
    say(shop, "shed", NOW, 20.0)
    client = asking(shop, clock)
    page = text_of(client.get("/layups/1").text)
    assert "needs 432" in page
    assert "of 432. The careful edge is past it." in page
    assert "taken to be 1.8 °F either way" in page
    assert re.search(r"\b6\d\.\d °F", page)
    assert "°C" not in page
    chart = client.get("/layups/1/charts.json").json()["temperature"]
    line = next(trace for trace in chart["data"] if trace["name"].startswith("shed"))
    assert 60 < min(line["y"]) < max(line["y"]) < 75


def test_times_are_in_the_shops_zone(shop_in: Callable[..., ShopAtHand], clock: Clock) -> None:
    """08:00 UTC in May is 18:00 in Brisbane (UTC+10, no summer time; IANA time zone database)."""
    shop = shop_in(zone="Australia/Brisbane")
    fill(shop)
    page = text_of(asking(shop, clock).get("/").text)
    assert "as they stand at 18:00" in page
    assert "skin A, mixed 20:20 Sat" in page
    assert "Times are those of Australia/Brisbane." in page


def test_json_is_the_answers_own(client: Asking, filled: ShopAtHand) -> None:
    """The pages' JSON is what `ready --json` prints."""
    wanted = json.loads(json.dumps(ready_json(filled.look(3, NOW))))
    assert client.get("/api/layups/3").json() == wanted
    everything = client.get("/api/now").json()
    assert everything["at"] == "2026-05-03T08:00:00Z"
    assert everything["layups"][1] == wanted


def test_the_clock_given_is_the_only_one(client: Asking, clock: Clock) -> None:
    """Moved on two hours, the reading is two hours old."""
    client.get("/")
    assert clock.asked == [NOW]
    clock.now = NOW + timedelta(hours=2)
    assert "no reading for 2 h" in text_of(client.get("/").text)


def test_the_address_note_stands_at_the_foot(client: Asking) -> None:
    """Where the pages can be reached from is said on each."""
    assert "Only on this machine." in client.get("/").text.partition("<footer")[2]


def test_charts_and_their_words_agree(client: Asking) -> None:
    """Every chart has its sentence and small table on the page."""
    page = client.get("/layups/3").text
    for name in client.get("/layups/3/charts.json").json():
        assert f'data-figure="{name}"' in page
        told = page.partition(f'id="told-{name}">')[2].partition("</p>")[0]
        assert re.search(r"\d", told)


def test_a_store_of_its_own_is_all_it_needs(client: Asking, filled: ShopAtHand) -> None:
    """The app reads the store it was given, also what was written after it was built."""
    assert isinstance(filled.store, Store)
    filled.lay_up(9, "E1", NOW - timedelta(hours=1))
    assert "part 9" in client.get("/").text
