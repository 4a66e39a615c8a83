"""Plan, sensors, sheets, alerts, earlier cups: the words of the answers, laid out."""

import re
from datetime import timedelta

import pytest

from dashboards.alerted import in_night_hours
from dashboards.app import build_app
from dashboards.drawn import nights_drawn
from dashboards.office import Office
from dashboards.paper import PLACES, Paper
from dashboards.sensing import DOUBTS
from monitor.answers.plan import parse_heat, plan_for, plan_lines
from monitor.cautions import HEAT
from monitor.cure.plan import Nights
from monitor.logbook import parse_address
from monitor.records import (
    Channel,
    Doubt,
    Flags,
    MarkKind,
    Reading,
    Reply,
    Role,
    Stage,
    SuspectKind,
    Suspicion,
)
from monitor.sheets import Shelf
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock
from tests.dashboards.test_pages import text_of
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand


def flat(words: str) -> str:
    return re.sub(r"\s+", " ", words)


@pytest.mark.parametrize("heated", [False, True])
def test_a_plan_says_what_the_command_line_says(
    client: Asking, filled: ShopAtHand, heated: bool
) -> None:
    """With and without a heater, sentence by sentence."""
    sensor = filled.store.book.sensor("bow")
    readings = filled.store.readings.between(sensor.id, NOW - timedelta(days=2), NOW)
    zone = filled.shop.zone
    heat = parse_heat("21 from 18:00 to 00:00", NOW, zone, "c") if heated else None
    sheet = Shelf(filled.shop.folder, True).load("demo-laminating")
    plan = plan_for(sheet, Stage.SAND, readings, NOW, zone, "c", heat)
    asked = "/plan?sheet=demo-laminating&stage=sand&sensor=bow"
    if heated:
        asked += "&heater=yes&heat_held=21&heat_from=18&heat_hours=6"
    page = text_of(client.get(asked).text)
    for line in plan_lines(plan, zone, "c"):
        assert flat(line) in page
    assert HEAT in page


def test_a_plan_for_a_part_asks_whether_to_start(client: Asking) -> None:
    """Over what is there, as the command does with --for."""
    page = text_of(
        client.get("/plan?sheet=demo-gel-coat&number=3&role=wax-coat&sensor=bow&stage=sealed").text
    )
    assert re.search(r"\b(GO|NO-GO|NOT YET|TEST IT|CAN'T TELL)\b", page)


def test_a_plan_for_a_part_is_filled_in_from_it(client: Asking, filled: ShopAtHand) -> None:
    """Its sheet, where it stands, what comes next of it: one link leads there from its page."""
    filled.lay_up(5, "G1", NOW - timedelta(hours=1), "skin-a")
    filled.put("5", "shed", NOW - timedelta(hours=1), now=NOW)
    filled.put("3", "bow", NOW, now=NOW)
    assert 'href="/plan?number=5"' in client.get("/layups/5").text
    page = client.get("/plan?number=5").text
    for value in ("demo-gel-coat", "shed", "5", "skin-b"):
        assert f'<option value="{value}" selected>' in page


def test_whether_to_start_is_told_where_no_night_can_be_planned(
    client: Asking, filled: ShopAtHand, clock: Clock
) -> None:
    """As the command does: the start over what is there, and why nothing is planned."""
    clock.now = NOW + timedelta(days=3)
    asked = "sheet=demo-laminating&number=3&role=skin-a&sensor=bow"
    page = text_of(client.get(f"/plan?{asked}").text)
    assert "CAN'T TELL: no reading here in the last 15 min." in page
    assert "Nothing is planned ahead: bow has said nothing for two days." in page
    told = client.get(f"/api/plan?{asked}").json()
    assert set(told) == {"sheet", "start", "no_plan"}
    assert told["no_plan"] == "bow has said nothing for two days."


@pytest.mark.parametrize(
    "asked",
    [
        "sheet=nothing",
        "stage=dry",
        "sensor=attic",
        "number=77&role=skin-a",
        "number=3&role=keel",
        "sheet=demo-laminating&stage=load",
    ],
)
def test_what_can_t_be_planned_is_told(client: Asking, asked: str) -> None:
    """In two lines above the form, which stays."""
    answer = client.get(f"/plan?{asked}")
    assert answer.status_code == 200
    page = text_of(answer.text)
    assert "A heater with a thermostat" in page
    assert "A guess: tonight" not in page


def test_the_coming_night_is_drawn_with_its_band_and_told() -> None:
    """36 hours as a line with its band; the coldest of it in words, with the floor."""
    now_s = at("2026-05-03T18:00:00Z").timestamp()
    time_s = columns([now_s + 60.0 * n for n in range(72 * 60)], [0.0] * 72 * 60).time_s
    hours = (time_s - now_s) / 3600.0
    nights = Nights(time_s, 12.0 + abs(hours - 10.0))
    drawn = nights_drawn(nights, 1.0, 15.0, at("2026-05-03T18:00:00Z").tzinfo, "c")
    assert drawn.told == (
        "A guess: coldest 12.0 °C (11.0 °C to 13.0 °C), 04:00 Mon; the floor is 15.0 °C."
    )
    line = re.search(r'class="guess" points="([^"]+)"', drawn.svg)
    assert line is not None
    assert len(line[1].split()) == 36 * 4 + 1
    assert "00:00" in drawn.svg
    in_f = nights_drawn(nights, 1.0, None, at("2026-05-03T18:00:00Z").tzinfo, "f")
    assert "coldest 53.6 °F (51.8 °F to 55.4 °F)" in in_f.told
    assert "floor" not in in_f.told


def test_a_sensor_says_how_it_is_doing(client: Asking, filled: ShopAtHand) -> None:
    """Its reading, how old, what lies beside it, its lines as they came, escaped."""
    shed = filled.store.book.sensor("shed")
    later, stuck = NOW + timedelta(seconds=30), Flags(humidity=Doubt.STUCK_WET)
    filled.store.readings.add(shed.id, [Reading(later, 21.5, 40.0, None, stuck, "<b>21.5,40</b>")])
    page = client.get("/sensors").text
    assert "&lt;b&gt;21.5,40&lt;/b&gt;" in page
    told = text_of(page)
    assert "21.5 °C · 40 % humidity" in told
    assert "Suspect, so not counted. Humidity: stuck wet." in told
    assert "Beside it: part 1, part 1." in told
    assert "Within a hand's breadth of the part" in told


def test_a_silent_sensor_and_one_never_heard(
    client: Asking, filled: ShopAtHand, clock: Clock
) -> None:
    """Both are said; silence from a quarter of an hour on."""
    filled.store.book.add_sensor("loft", "/dev/loft")
    clock.now = NOW + timedelta(minutes=20)
    page = text_of(client.get("/sensors").text)
    assert "no reading for 20 min, 08:00 today" in page
    assert "loft never heard" in flat(page)


@pytest.mark.parametrize("answer", list(Reply))
def test_a_doubt_is_answered_by_pressing(client: Asking, filled: ShopAtHand, answer: Reply) -> None:
    """The fact, three answers; once answered it is asked no more."""
    bow = filled.store.book.sensor("bow")
    since = NOW - timedelta(minutes=30)
    filled.store.suspects.settle(bow.id, (Suspicion(SuspectKind.SUNNED, since, None),), since, NOW)
    page = client.get("/sensors").text
    assert "Sensor bow reads like it is in the sun" in text_of(page)
    doubt = re.search(r'name="doubt" value="(\d+)"', page)
    assert doubt is not None
    told = {"doubt": doubt[1], "answer": answer.value}
    assert client.post("/sensors/bow/answer", data=told).status_code == 303
    assert "reads like it is in the sun" not in text_of(client.get("/sensors").text)
    (span,) = filled.store.suspects.spans(bow.id)
    assert span.reply is answer
    again = client.post("/sensors/bow/answer", data=told)
    assert again.status_code == 400
    assert "Nothing is asked of bow any more." in text_of(again.text)


def test_what_is_no_answer_is_refused(client: Asking) -> None:
    """And a sensor that isn't there."""
    assert client.post("/sensors/bow/answer", data={"answer": "perhaps"}).status_code == 400
    assert client.post("/sensors/attic/answer", data={"answer": "yes"}).status_code == 400


def test_how_its_lines_are_meant_is_asked_once(client: Asking, filled: ShopAtHand) -> None:
    """68 and no unit is no workplace in °C: one press says which, and it is asked no more."""
    shed = filled.store.book.sensor("shed")
    hot = Flags(temperature=Doubt.LOOKS_FAHRENHEIT)
    filled.store.readings.add(
        shed.id, [Reading(NOW + timedelta(seconds=30), 68.0, 54.0, None, hot, "68.0 54")]
    )
    page = client.get("/sensors").text
    assert "shed says 68.0 and no unit: as °C that is no workplace. It came as 68.0 54" in flat(
        text_of(page)
    )
    assert 'action="/sensors/shed/lines"' in page
    wrong = client.post("/sensors/shed/lines", data={"answer": "kelvin"})
    assert wrong.status_code == 400
    assert client.post("/sensors/shed/lines", data={"answer": "f"}).status_code == 303
    assert filled.store.book.sensor("shed").unit == "f"
    assert "no workplace" not in client.get("/sensors").text


def test_how_a_sensor_did_beside_salt(client: Asking, filled: ShopAtHand) -> None:
    """What it read there, and how much was done beside it since."""
    bow = filled.store.book.sensor("bow")
    filled.store.checks.add(
        bow.id,
        "table salt",
        Channel.AIR,
        NOW - timedelta(days=1),
        20.0,
        humidity_pct=(78.0, 75.5),
        ice_c=None,
    )
    page = text_of(client.get("/sensors").text)
    assert "Held against salt at 08:00 Sat: +2.5 %. 1 batch mixed beside it since." in page


def test_every_doubt_has_its_words() -> None:
    """A flag is never shown as a word of the code."""
    assert set(DOUBTS) == set(Doubt)


def test_sheets_are_listed_and_read(client: Asking) -> None:
    """Every value with its words, its unit, and where it came from; what ships stays as it is."""
    page = text_of(client.get("/sheets").text)
    assert "DEMO laminating polyester P1 demo-laminating" in page
    sheet = text_of(client.get("/sheets/demo-laminating").text)
    assert "floor 10 °C invented for the demo" in sheet
    assert "least spread over the dew point 3 °C invented for the demo" in sheet
    assert "can't be changed" in sheet
    assert "Put right" not in sheet
    refused = client.post("/sheets/demo-laminating/stages.sand", data={"value": "1"})
    assert refused.status_code == 400
    assert client.get("/sheets/nothing").status_code == 404


NEW = {
    "stem": "green-tin",
    "name": "Green tin",
    "kind": "polyester",
    "source": "printed sheet, 2026-03",
    "count.base_c": "5",
    "count.floor_c": "10",
    "mix.catalyst_pct": "1 to 2",
    "stages.sand": "240 # maker's reply, March",
}


def test_a_sheet_is_typed_in_and_put_right(client: Asking, filled: ShopAtHand) -> None:
    """Blanks stay blanks; a value put right keeps its old one, and the whole file as it was."""
    assert client.post("/sheets/new", data=NEW).headers["location"] == "/sheets/green-tin"
    page = text_of(client.get("/sheets/green-tin").text)
    assert "sand 240 °C-hours maker's reply, March Put right sand" in page
    assert "flip your sheet doesn't say" in page
    form = client.get("/sheets/green-tin/stages.sand").text
    assert 'name="value" value="240"' in form
    answer = client.post(
        "/sheets/green-tin/stages.sand", data={"value": "250", "origin": "second reply"}
    )
    assert answer.status_code == 303
    page = text_of(client.get("/sheets/green-tin").text)
    assert "sand 250 °C-hours second reply" in page
    assert "stages.sand was 240 until 2026-05-03" in page
    assert "sand = 240" in filled.store.book.kept_sheet(2).text


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ({"stem": ""}, "can't be a sheet's name"),
        ({"stem": "demo-epoxy"}, "There is already a sheet called demo-epoxy."),
        ({"stem": "../x"}, "can't be a sheet's name"),
        ({"name": ""}, "can't be left empty"),
        ({"kind": ""}, "can't be left empty"),
        ({"stages.sand": "long"}, "'long' is not a number."),
        ({"count.floor_c": "500"}, "can't be used for count.floor_c"),
    ],
)
def test_a_sheet_that_can_t_be_is_told_on_its_form(
    client: Asking, filled: ShopAtHand, typed: dict[str, str], what: str
) -> None:
    """With everything else still in its field."""
    answer = client.post("/sheets/new", data=NEW | typed)
    assert answer.status_code == 400
    assert what in text_of(answer.text)
    assert 'value="printed sheet, 2026-03"' in answer.text
    assert not list((filled.shop.folder / "sheets").glob("*.toml"))


def test_a_value_that_can_t_be_leaves_the_sheet(client: Asking, filled: ShopAtHand) -> None:
    """What was typed is shown again beside what is wrong with it."""
    client.post("/sheets/new", data=NEW)
    before = (filled.shop.folder / "sheets" / "green-tin.toml").read_text()
    for key, value in (("stages.sand", "-3"), ("count.floor_c", "900"), ("name", "")):
        answer = client.post(f"/sheets/green-tin/{key}", data={"value": value})
        assert answer.status_code == 400
        assert 'role="alert"' in answer.text
    assert client.get("/sheets/green-tin/stages.glue").status_code == 404
    assert (filled.shop.folder / "sheets" / "green-tin.toml").read_text() == before


def test_an_alert_is_told_with_what_was_done(client: Asking, filled: ShopAtHand) -> None:
    """Seen, over, and what was marked within two hours of it."""
    filled.store.alerts.mark_seen(1, NOW)
    filled.book.add_mark(
        parse_address("3"), MarkKind.COVERED, at=NOW - timedelta(minutes=10), note=None, now=NOW
    )
    page = text_of(client.get("/alerts").text)
    assert "Dew in about 20 min. Tent it." in page
    assert "Said at 07:20 today, seen at 08:00 today." in page
    assert "Then part 3: covered at 07:50 today." in page
    assert "Night hours are 22:00 to 06:00." in page


@pytest.mark.parametrize(
    ("moment", "night"),
    [
        ("2026-05-03T21:59:00Z", False),
        ("2026-05-03T22:00:00Z", True),
        ("2026-05-03T05:59:00Z", True),
        ("2026-05-03T06:00:00Z", False),
    ],
)
def test_night_hours_are_the_shop_s(filled: ShopAtHand, moment: str, night: bool) -> None:
    """From ten to six by the shop's own clock."""
    paper = Paper(filled.shop, "word")
    office = Office(filled.store, filled.shop, paper, lambda: NOW)
    assert in_night_hours(at(moment), office) is night


def test_earlier_cups_stand_by_warmth(client: Asking, filled: ShopAtHand) -> None:
    """Raw for one, summed up from two."""
    page = text_of(client.get("/history?sheet=demo-laminating").text)
    assert re.search(r"\d+\.0 °C to \d+\.0 °C", page)
    assert "3/patch (part 3), mixed 15:00 Sat" in page
    assert "kicked after 47 min" in page
    assert "2 times" not in page
    filled.mix("3/other", "P1", at("2026-05-02T15:10:00Z"))
    filled.book.add_mark(
        parse_address("3/other"),
        MarkKind.KICKED,
        at=at("2026-05-02T15:50:00Z"),
        note=None,
        now=NOW,
    )
    batch = filled.store.book.batches(filled.store.book.layup(3).id)[0]
    filled.book.correct("mark-1", "batch_id", batch.id, NOW)
    page = text_of(client.get("/history?sheet=demo-laminating").text)
    assert "2 times with this resin" in page
    assert "kicked after 40 min to 47 min" in page or "kicked after 40 to 47 min" in page
    assert client.get("/history?sheet=nothing").status_code == 404


@pytest.mark.parametrize("place", [place for place, _ in PLACES])
def test_every_place_is_a_page_and_leads_to_the_others(client: Asking, place: str) -> None:
    """One press from anywhere to anywhere."""
    answer = client.get(place)
    assert answer.status_code == 200
    for other, name in PLACES:
        assert f'<a class="step" href="{other}">{name}</a>' in answer.text


@pytest.mark.parametrize("place", [*(place for place, _ in PLACES), "/api", "/log/part"])
def test_an_empty_shop_has_every_page(shop: ShopAtHand, clock: Clock, place: str) -> None:
    """Before the first part and the first sensor."""
    client = Asking(build_app(shop.store, shop.shop, clock=clock))
    assert client.get(place).status_code == 200


def test_every_role_can_be_planned_for(client: Asking) -> None:
    """The list on the page is that of the book."""
    page = client.get("/plan").text
    assert all(f'<option value="{role.value}"' in page for role in Role)
