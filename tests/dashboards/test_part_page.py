"""A part's page: charts of any stretch, counts kept between looks, and why it isn't ready."""

import gzip
import re
from datetime import timedelta
from html import unescape

import numpy as np
import pytest

import dashboards.standings
from dashboards.app import build_app
from dashboards.figures import FIGURES
from monitor.logbook import parse_address
from monitor.overview import Desk
from monitor.records import MarkKind
from tests.dashboards.asking import Asking
from tests.dashboards.conftest import NOW, Clock, say
from tests.scenarios import at, columns
from tests.scenarios.shop import ShopAtHand

CHARTS = "/layups/3/charts.json"


def text_of(page: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def line_of(charts: dict, name: str = "temperature", trace: str = "bow, air") -> list:
    return next(t for t in charts[name]["data"] if t["name"] == trace)["y"]


def test_a_stretch_is_drawn_alone(client: Asking) -> None:
    """From and to in ISO 8601, or as people write times: the axis of every chart."""
    asked = {"from": "2026-05-02T16:00:00Z", "to": "2026-05-02T17:00:00Z"}
    charts = client.get(CHARTS, params=asked).json()
    for name in FIGURES:
        assert charts[name]["layout"]["xaxis"]["range"] == [
            "2026-05-02T16:00:00",
            "2026-05-02T17:00:00",
        ]
    inside = [y for y in line_of(charts) if y is not None]
    assert 60 <= len(inside) <= 80
    back = client.get(CHARTS, params={"from": "-2h", "to": "08:00"}).json()
    assert back["count"]["layout"]["meta"]["start_s"] == (NOW - timedelta(hours=2)).timestamp()


def test_only_the_charts_asked_for_are_drawn(client: Asking) -> None:
    """By name; a name that is none draws nothing."""
    told = client.get(CHARTS, params={"only": "temperature,humidity"}).json()
    assert list(told) == ["temperature", "humidity"]
    assert client.get(CHARTS, params={"only": "no-such"}).json() == {}


@pytest.mark.parametrize(
    "query", [{"from": "yesterday"}, {"to": "2026-13-01T00:00Z"}, {"px": "wide"}, {"px": "-3"}]
)
def test_a_stretch_that_is_none_is_refused_in_two_lines(client: Asking, query: dict) -> None:
    """What is wrong and what to write instead."""
    answer = client.get(CHARTS, params=query)
    assert answer.status_code == 404
    assert set(answer.json()) == {"what", "remedy"}


def test_a_stretch_turned_round_or_far_off_is_an_empty_chart(client: Asking) -> None:
    """Nothing was measured there: axes, and no fault."""
    for asked in (
        {"from": "2026-05-02T17:00:00Z", "to": "2026-05-02T16:00:00Z"},
        {"from": "2031-01-01T00:00:00Z", "to": "2031-01-02T00:00:00Z"},
        {"from": "1999-01-01T00:00:00Z", "to": "1999-01-02T00:00:00Z"},
    ):
        assert client.get(CHARTS, params=asked).status_code == 200


def test_a_narrow_screen_gets_fewer_words_and_points(client: Asking) -> None:
    """The width decides how many times are written below, and how finely it is summed up."""
    wide, narrow = (
        client.get(CHARTS, params={"px": px}).json()["temperature"]["layout"]["xaxis"]
        for px in ("1000", "330")
    )
    assert len(narrow["tickvals"]) < len(wide["tickvals"])
    assert narrow["range"] == wide["range"]


def test_zooming_counts_nothing_anew(
    client: Asking, monkeypatch: pytest.MonkeyPatch, clock: Clock
) -> None:
    """One count serves every stretch, until something was read or written."""
    counted = []
    real = dashboards.standings.view
    monkeypatch.setattr(
        dashboards.standings, "view", lambda *given: counted.append(1) or real(*given)
    )
    for hours in (1, 2, 5, 9):
        since = (NOW - timedelta(hours=hours)).isoformat()
        client.get(CHARTS, params={"from": since, "to": NOW.isoformat()})
    assert len(counted) == 1
    clock.now = NOW + timedelta(minutes=2)
    client.get(CHARTS)
    assert len(counted) == 2


def test_what_was_written_or_read_is_drawn_at_once(client: Asking, filled: ShopAtHand) -> None:
    """A correction moves the count, a reading the line, a mark its word."""
    before = client.get(CHARTS).json()
    say(filled, "bow", NOW.replace(second=1), 21.37)
    filled.book.add_mark(parse_address("3"), MarkKind.STICKY, at=NOW, note=None, now=NOW)
    batch = filled.store.book.batches(filled.store.book.layup(3).id)[0]
    filled.book.correct(f"batch-{batch.id}", "mixed_at", at("2026-05-02T16:00:00Z"), NOW)
    after = client.get(CHARTS).json()
    words = [note["text"] for note in after["count"]["layout"]["annotations"]]
    assert "sticky" in words
    assert after["count"]["data"] != before["count"]["data"]
    assert after["count"]["layout"]["meta"]["whole_s"][0] == (
        before["count"]["layout"]["meta"]["whole_s"][0] + 3600.0
    )


def long_one(shop: ShopAtHand, rows: int = 30_000) -> Clock:
    """A part with more readings than are counted anew for each look."""
    begun = NOW - timedelta(seconds=60.0 * rows)
    steps = np.arange(rows)
    warm = np.round(16.0 + 5.0 * np.sin(steps / 229.0), 2)
    shop.hear("shed", columns(begun.timestamp() + 60.0 * steps, warm, 90.0 - 1.5 * warm))
    shop.lay_up(1, "P1", begun)
    shop.put("1", "shed", begun, now=NOW)
    return Clock(NOW)


def test_a_long_record_is_asked_of_the_kept_desk(
    shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once it is known to be long, its curve goes on from what it was; it stays the same curve."""
    clock = long_one(shop)
    client = Asking(build_app(shop.store, shop.shop, clock=clock))
    asked = {"from": (NOW - timedelta(days=20)).isoformat(), "to": NOW.isoformat()}
    first = client.get("/layups/1/charts.json", params=asked).json()["count"]["data"]
    whole = []
    real = dashboards.standings.view

    def looked(*given: object) -> object:
        if len(given) == 3:  # without the kept desk
            whole.append(1)
        return real(*given)

    monkeypatch.setattr(dashboards.standings, "view", looked)
    for minute in range(1, 4):
        clock.now = NOW + timedelta(minutes=minute)
        say(shop, "shed", clock.now, 16.0)
        later = client.get("/layups/1/charts.json", params=asked).json()["count"]["data"]
    assert whole == []
    for name in ("low", "middle", "high"):
        before, after = (next(t for t in told if t["name"] == name) for told in (first, later))
        known = dict(zip(before["x"], before["y"], strict=True))
        both = [(known[x], y) for x, y in zip(after["x"], after["y"], strict=True) if x in known]
        assert len(both) > 100
        assert all(y == pytest.approx(old, abs=0.02) for old, y in both)
    page = text_of(client.get("/layups/1").text)
    assert "Stages of 1/skin-a" in page
    assert whole == []


def test_a_past_that_changed_is_drawn_anew_also_of_a_long_record(shop: ShopAtHand) -> None:
    """Warm readings that come late raise the curve before and after them."""
    clock = long_one(shop)
    client = Asking(build_app(shop.store, shop.shop, clock=clock))
    client.get("/layups/1/charts.json")
    clock.now = NOW + timedelta(minutes=1)
    say(shop, "shed", clock.now, 16.0)
    before = line_of(client.get("/layups/1/charts.json").json(), "count", "middle")[-1]
    late = NOW - timedelta(days=12)
    for second in range(10, 50):
        say(shop, "shed", late + timedelta(minutes=7 * second, seconds=30), 38.0)
    clock.now = NOW + timedelta(minutes=3)
    say(shop, "shed", clock.now, 16.0)
    after = line_of(client.get("/layups/1/charts.json").json(), "count", "middle")[-1]
    view = shop.look(1, clock.now)
    assert after > before + 5.0
    assert after == pytest.approx(view.batches[0].worked.assessment.count.middle, abs=0.05)


def test_many_parts_are_not_all_kept(shop: ShopAtHand, monkeypatch: pytest.MonkeyPatch) -> None:
    """Counts are let go of oldest first, and drawn again when asked for."""
    monkeypatch.setattr(dashboards.standings, "_PARTS", 4)
    standings = dashboards.standings.Standings(shop.store, shop.shop.zone, Desk(shop.store))
    from monitor.answers.picture import kept_of

    for number in range(1, 7):
        shop.lay_up(number, "P1", NOW - timedelta(hours=1))
        standings.of(kept_of(shop.store, shop.store.book.layup(number)), NOW)
    assert list(standings._held) == [3, 4, 5, 6]
    first = kept_of(shop.store, shop.store.book.layup(1))
    assert standings.of(first, NOW).counts[0].address == "1/skin-a"


def test_a_year_stays_small_on_the_wire(shop: ShopAtHand) -> None:
    """A year of readings every quarter of an hour, two stays, marks and alerts: under 60 kB."""
    begun = NOW - timedelta(days=365)
    steps = np.arange(365 * 96)
    warm = np.round(14.0 + 7.0 * np.sin(steps / 15.3) + 4.0 * np.sin(steps * 0.7), 2)
    for name, shift in (("shed", 0.0), ("bow", 1.5)):
        shop.hear(name, columns(begun.timestamp() + 900.0 * steps, warm + shift, 95.0 - 2.0 * warm))
    shop.lay_up(1, "P1", begun)
    for sensor, address in (("shed", "1"), ("bow", "1/skin-a")):
        shop.put(address, sensor, begun, now=NOW)
    for day in range(60):
        moment = begun + timedelta(days=6 * day)
        shop.book.add_mark(parse_address("1"), MarkKind.COVERED, at=moment, note=None, now=NOW)
        shop.store.alerts.raise_alert("cold", f"{day}", moment, moment, (1,), "Cold.", "Warm it.")
    client = Asking(build_app(shop.store, shop.shop, clock=Clock(NOW)))
    for days in (365, 90, 30, 9, 2):
        asked = {"from": (NOW - timedelta(days=days)).isoformat(), "to": NOW.isoformat()}
        answer = client.get("/layups/1/charts.json", params=asked)
        assert len(gzip.compress(answer.content, 5)) < 60_000


def test_why_it_is_not_ready_stands_at_the_top(client: Asking) -> None:
    """Two presses from everything open: the part, and there it is, before the first table."""
    now = client.get("/").text
    assert 'href="/layups/3"' in now
    top = text_of(client.get("/layups/3").text.partition('id="tables"')[0])
    assert "3/patch, sand: why it isn't ready" in top
    assert re.search(r"why it isn't ready \d+ \(\d+ to \d+\) of 240\.", top)
    assert re.search(r"What would change it \d+ °C·h more at the careful edge: \d+ h", top)


def test_the_charts_are_introduced_to_the_keyboard_and_the_ear(client: Asking) -> None:
    """A group of buttons with a name, what is shown said by itself, each chart told in words."""
    page = client.get("/layups/3").text
    assert 'role="group" aria-label="How much of the history the charts show"' in page
    assert re.search(r'id="charts-shown" role="status"', page)
    for name in FIGURES:
        assert f'aria-labelledby="told-{name}"' in page


def test_a_mark_taken_back_is_not_drawn(client: Asking, filled: ShopAtHand) -> None:
    """The book keeps it as a note; on the charts nothing happened then."""
    layup = filled.store.book.layup(3)
    filled.book.add_mark(parse_address("3"), MarkKind.STICKY, at=NOW, note=None, now=NOW)
    pressed = filled.store.book.marks(layup.id)[-1]

    def words() -> list[str]:
        told = client.get(CHARTS).json()["count"]["layout"]["annotations"]
        return [note["text"] for note in told]

    assert "sticky" in words()
    filled.book.take_back(layup, pressed.id, NOW)
    assert not {"sticky", "note"} & set(words())
