"""Parts, cups, moves and corrections logged on pages: few presses, checked whole, nothing lost."""

import re
from datetime import timedelta

import pytest

from dashboards.app import build_app
from monitor.records import Channel, Nearness, Role
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW
from tests.dashboards.test_pages import text_of
from tests.scenarios import at
from tests.scenarios.shop import ShopAtHand

PART = {"number": "2", "what": "hatch lid, outside", "sheet": "demo-laminating"}
CUP = {"role": "skin-a", "mixed_at": "", "resin_g": "150", "second_g": "2,25", "cup": "7"}


def test_a_part_needs_only_its_name(client: Asking, filled: ShopAtHand) -> None:
    """Number, sheet and place stand there as last time."""
    page = client.get("/log/part").text
    assert 'name="number" value="2"' in page
    assert '<option value="demo-laminating" selected>' in page
    assert '<option value="bow" selected>' in page
    more = {"sensor": "bow", "safety": "yes", "place": "the shed", "laminate": "2 light cloth"}
    answer = client.post("/log/part", data=PART | more)
    assert (answer.status_code, answer.headers["location"]) == (303, "/layups/2/cup")
    layup = filled.store.book.layup(2)
    assert (layup.what, layup.safety, layup.on) == ("hatch lid, outside", True, None)
    assert (layup.place, layup.laminate, layup.boat) == ("the shed", "2 light cloth", None)
    (stay,) = filled.store.book.stays(layup.id)
    assert (stay.channel, stay.nearness, stay.since) == (Channel.AIR, Nearness.BESIDE, NOW)


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ({"number": "1"}, "Layup 1 is open already"),
        ({"number": "0"}, "0 is no number for a tape."),
        ({"number": "two"}, "'two' is not a whole number."),
        ({"what": " "}, "What the part is is missing."),
        ({"sheet": "nothing"}, "There is no sheet called 'nothing'."),
        ({"what": "x" * 501}, "The part's name is too long."),
    ],
)
def test_a_part_that_can_t_be_is_told_on_its_form(
    client: Asking, filled: ShopAtHand, typed: dict[str, str], what: str
) -> None:
    """What was typed stays in the fields; no part is begun."""
    answer = client.post("/log/part", data=PART | {"hull": "yes"} | typed)
    assert answer.status_code == 400
    assert what in text_of(answer.text)
    assert 'name="hull" value="yes" checked' in answer.text
    assert [part.number for part in filled.store.book.layups()] == [1, 3]


def test_a_cup_is_filled_in_as_last_time(client: Asking, filled: ShopAtHand) -> None:
    """The same weights by the same sheet, the next cup, the next role."""
    filled.book.correct("batch-3", "cup", "11", NOW)
    page = client.get("/layups/3/cup").text
    for held in ('name="resin_g" value="200"', 'name="second_g" value="3"', 'value="12"'):
        assert held in page
    assert '<option value="skin-a" selected>skin A</option>' in page
    assert 'name="mixed_at" value="2026-05-03 08:00"' in page


def test_a_cup_is_logged_with_a_comma_or_a_point(client: Asking, filled: ShopAtHand) -> None:
    """And leads to its own page, where its minutes run."""
    answer = client.post("/layups/3/cup", data=CUP)
    assert answer.headers["location"] == "/layups/3/cups/skin-a"
    batch = filled.store.book.batches(filled.store.book.layup(3).id)[-1]
    assert (batch.resin_g, batch.catalyst_g, batch.hardener_g) == (150.0, 2.25, None)
    assert (batch.mixed_at, batch.cup, batch.role) == (NOW, "7", Role.SKIN_A)
    page = text_of(client.get("/layups/3/cups/skin-a").text)
    assert "cup 7, skin A, mixed 08:00 today" in page
    assert "0 minutes since it was mixed" in page
    assert "inside the sheet's 1 to 2 %" in page
    assert "Goggles: catalyst is a peroxide" in page


def test_a_second_cup_of_a_role_has_the_next_name(client: Asking, filled: ShopAtHand) -> None:
    """Nobody types names on a phone."""
    for name in ("patch-2", "patch-3"):
        answer = client.post("/layups/3/cup", data=CUP | {"role": "patch"})
        assert answer.headers["location"] == f"/layups/3/cups/{name}"


def test_epoxy_takes_hardener(client: Asking, filled: ShopAtHand) -> None:
    """The second weight is what the sheet's resin takes."""
    client.post("/layups/3/cup", data=CUP | {"sheet": "demo-epoxy", "second_g": "60"})
    batch = filled.store.book.batches(filled.store.book.layup(3).id)[-1]
    assert (batch.catalyst_g, batch.hardener_g) == (None, 60.0)


def test_a_bad_mix_is_stored_and_said(client: Asking) -> None:
    """What is wrong, and what to do about it while it can be done."""
    answer = client.post("/layups/3/cup", data=CUP | {"second_g": "0.5"})
    page = text_of(client.get(answer.headers["location"]).text)
    assert "Outside the sheet it won't cure right" in page
    assert "Don't use it like this" in page


@pytest.mark.parametrize(
    "typed",
    [
        {"resin_g": "a lot"},
        {"resin_g": "-5"},
        {"resin_g": "nan"},
        {"thickness_mm": "inf"},
        {"scale_step_g": "1e999"},
        {"second_g": ""},
        {"mixed_at": "tomorrow"},
        {"mixed_at": "2026-05-03 09:00"},
        {"role": "keel"},
        {"sheet": "nothing"},
        {"give_or_take": "a bit"},
    ],
)
def test_a_cup_that_can_t_be_is_told_on_its_form(
    client: Asking, filled: ShopAtHand, typed: dict[str, str]
) -> None:
    """Two lines above the form, what was typed still in it, nothing stored."""
    answer = client.post("/layups/3/cup", data=CUP | typed)
    assert answer.status_code == 400
    assert 'role="alert"' in answer.text
    assert 'name="cup" value="7"' in answer.text
    assert len(filled.store.book.batches(filled.store.book.layup(3).id)) == 1


def test_a_move_is_one_press(client: Asking, filled: ShopAtHand) -> None:
    """The sensor's name is the button; the stay before it ends then."""
    page = client.get("/layups/1/move").text
    assert '<button class="press" type="submit" name="sensor" value="bow">bow</button>' in page
    assert client.post("/layups/1/move", data={"sensor": "bow"}).status_code == 303
    before, after = filled.store.book.stays(filled.store.book.layup(1).id)
    assert (before.until, after.since, after.until) == (NOW, NOW, None)
    refused = client.post("/layups/1/move", data={"sensor": "bow", "since": "never"})
    assert refused.status_code == 400
    assert "not a time" in text_of(refused.text)


def test_a_part_is_ended_on_a_page_of_its_own(client: Asking, filled: ShopAtHand) -> None:
    """No single slip of a thumb ends one."""
    assert "Its record stays." in text_of(client.get("/layups/3/end").text)
    assert client.post("/layups/3/end").headers["location"] == "/"
    assert [part.number for part in filled.store.book.layups()] == [1]


def test_everything_logged_can_be_put_right(client: Asking) -> None:
    """Each entry leads to its form."""
    page = client.get("/layups/3/book").text
    for entry in ("layup-2", "batch-3", "stay-2", "mark-1", "mark-2"):
        assert f'href="/layups/3/book/{entry}"' in page
        assert client.get(f"/layups/3/book/{entry}").status_code == 200
    assert client.get("/layups/3/book/batch-1").status_code == 404


def test_a_correction_keeps_the_old_value_in_words(client: Asking, filled: ShopAtHand) -> None:
    """Only what was changed is corrected, in the shop's words and zone."""
    form = {
        "name": "patch",
        "role": "patch",
        "sheet": "demo-laminating",
        "mixed_at": "2026-05-02 14:50",
        "resin_g": "200",
        "catalyst_g": "2.8",
        "cup": "",
        "give_or_take": "0m",
    }
    answer = client.post("/layups/3/book/batch-3", data=form)
    assert answer.status_code == 200
    told = text_of(answer.text)
    assert "Put right. Everything is counted anew from it; the old value is kept." in told
    kept = {c.field: c.old_value for c in filled.store.book.corrections("batch-3")}
    assert kept == {"mixed_at": "2026-05-02T15:00:00Z", "catalyst_g": "3.0"}
    page = text_of(client.get("/layups/3/book").text)
    assert "Mixed at was 15:00 Sat, put right 08:00 today." in page
    assert "Catalyst, g was 3.0, put right 08:00 today." in page


def test_a_ready_that_no_longer_holds_is_withdrawn(client: Asking, filled: ShopAtHand) -> None:
    """The page that says it is put right says that too."""
    answer = client.post("/layups/1/book/batch-1", data={"mixed_at": "2026-05-03 07:00"})
    assert "Withdrawn: 1/skin-a, sand was READY BY THE COUNT" in text_of(answer.text)


def test_a_sheet_a_sensor_and_a_batch_are_chosen_by_name(
    client: Asking, filled: ShopAtHand
) -> None:
    """Numbers of the database stand on no page."""
    client.post("/layups/1/book/stay-1", data={"sensor_id": "2"})
    client.post("/layups/1/book/batch-1", data={"sheet": "demo-epoxy"})
    client.post("/layups/1/marks", data={"kind": "kicked"})
    client.post("/layups/1/book/mark-3", data={"batch_id": ""})
    page = text_of(client.get("/layups/1/book").text)
    assert "Sensor was shed" in page
    assert "Sheet was demo-laminating" in page
    assert "Of was skin-b" in page


@pytest.mark.parametrize(
    ("entry", "typed"),
    [
        ("batch-3", {"mixed_at": "soon"}),
        ("batch-3", {"resin_g": "much"}),
        ("batch-3", {"name": ""}),
        ("batch-3", {"role": "keel"}),
        ("stay-2", {"until": "2026-05-01 00:00"}),
        ("mark-1", {"batch_id": "1"}),
        ("layup-2", {"number": "1"}),
    ],
)
def test_a_correction_that_can_t_be_changes_nothing(
    client: Asking, filled: ShopAtHand, entry: str, typed: dict[str, str]
) -> None:
    """It is told on the form, and the book is as it was."""
    answer = client.post(f"/layups/3/book/{entry}", data=typed)
    assert answer.status_code == 400
    assert 'role="alert"' in answer.text
    assert filled.store.book.corrections(entry) == ()


def test_a_form_sent_unchanged_corrects_nothing(client: Asking, filled: ShopAtHand) -> None:
    """Times, lengths and figures are shown as they will be read."""
    for entry in ("layup-2", "batch-3", "stay-2", "mark-2"):
        page = client.get(f"/layups/3/book/{entry}").text
        held = dict(re.findall(r'<input id="[^"]+" name="([^"]+)" value="([^"]*)"', page))
        for name, body in re.findall(
            r'<select[^>]* name="([^"]+)"[^>]*>(.*?)</select>', page, re.S
        ):
            chosen = re.search(r'value="([^"]*)" selected', body)
            held[name] = chosen[1] if chosen else ""
        answer = client.post(f"/layups/3/book/{entry}", data=held)
        assert "Nothing was changed." in text_of(answer.text)
        assert filled.store.book.corrections(entry) == ()


def test_an_ended_part_keeps_its_book(client: Asking, filled: ShopAtHand) -> None:
    """What was noticed later is logged later."""
    filled.book.end_layup(3, NOW)
    assert client.post("/layups/3/marks", data={"kind": "sticky"}).status_code == 303
    assert "Still sticky" in text_of(client.get("/layups/3/book").text)
    assert client.post("/layups/3/cup", data=CUP).status_code == 400


def test_times_are_the_shop_s(shop_in) -> None:
    """A cup of 10:00 in Lisbon's summer is one of 09:00 UTC, and is shown as 10:00."""
    shop = shop_in(zone="Europe/Lisbon")
    shop.book.add_layup(1, "rudder", "demo-laminating", on=None, safety=False, now=NOW)
    client = Asking(build_app(shop.store, shop.shop, clock=lambda: NOW + timedelta(hours=3)))
    client.post("/layups/1/cup", data=CUP | {"mixed_at": "10:00"})
    (batch,) = shop.store.book.batches(1)
    assert batch.mixed_at == at("2026-05-03T09:00:00Z")
    assert "mixed 10:00 today" in text_of(client.get("/layups/1/book").text)
    assert 'value="2026-05-03 10:00:00+01:00"' in client.get("/layups/1/book/batch-1").text
