"""Why it stayed tacky, asked as a person asks: flags, questions in a terminal, and what is kept."""

import os
import pty
import re
import select
import subprocess
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import psychrolib
import pytest

from monitor.records import Channel, Readings
from tests.cli.process import PATIENCE_S, PROGRAM
from tests.scenarios import at, columns, series
from tests.scenarios.shop import ShopAtHand, open_demo_shop
from tests.scenarios.terminal import Layupwatch

MIXED = "2026-05-02T08:00:00Z"
LATER = "2026-05-03T14:00:00Z"


@pytest.fixture
def shop(tmp_path: Path, layupwatch: Layupwatch) -> Any:
    """The store of the shop that the command line asks in."""
    at_hand = open_demo_shop(tmp_path / "shop")
    yield at_hand
    at_hand.store.close()


def steady(temperature_c: float, humidity_pct: float, until: str, since: str = MIXED) -> Readings:
    """The same every minute."""
    time_s = range(int(at(since).timestamp()), int(at(until).timestamp()) + 1, 60)
    n = len(time_s)
    return columns(time_s, [temperature_c] * n, [humidity_pct] * n)


def by_probe(air: Readings, colder_c: float = 0.0) -> Readings:
    """The same sensor with a probe on the surface, so much colder than the air."""
    return replace(air, surface_c=air.temperature_c - colder_c)


def begin(
    shop: ShopAtHand, sheet: str, mixed: str, readings: Readings, role: str = "skin-a"
) -> None:
    shop.hear("shed", readings)
    shop.lay_up(3, sheet, at(mixed), role=role)
    shop.put("3", "shed", at(mixed))


def found(told: Any) -> list[tuple[str, str | None]]:
    return [(finding["id"], finding["strength"]) for finding in told["findings"]]


def facts_for(told: Any, finding: str) -> str:
    """What speaks for a finding, in one text."""
    (one,) = [f for f in told["findings"] if f["id"] == finding]
    return " | ".join(evidence["fact"] for evidence in one["for"])


def test_nothing_is_wrong_with_the_oar_tip(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """26 h at 20 °C, hard, dust after two strokes: normal air tack, nothing else; all cleared."""
    begin(shop, "P1", MIXED, steady(20, 50, "2026-05-03T10:06:00Z"))
    answers = ("--where", "all-over", "--thumbnail", "none", "--grit", "dust-after")
    answers += ("--last-coat", "unwaxed", "--smell", "none")
    told = layupwatch("review", 3, *answers, "--json", now="2026-05-03T10:00:00Z").json
    assert found(told) == [("normal-air-tack", "strong")]
    assert {cleared["what"] for cleared in told["cleared"]} == {"temperature", "dew", "mix"}
    assert "count 390 (364 to 416) of 240" in facts_for(told, "normal-air-tack")
    assert told["findings"][0]["against"] == []
    assert told["give_up_by"] > "2026-05-03T10:00:00Z"
    said = layupwatch("review", 3, *answers, now="2026-05-03T10:00:00Z").out
    assert "Bond line: MECHANICAL, sand first." in said, (
        "360 at the warm edge, 22 h 30 after mixing"
    )
    assert "nothing to rescue" in said
    for unwanted in ("cold", "catalyst 0", "T1"):
        assert unwanted not in said.replace("cold-", "").lower()


def test_dew_and_cold_wax_on_the_canoe_bow(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """A waxed coat at 17 °C into a damp night: wax too cold and dew on green, both strong."""
    begin(shop, "G1", "2026-05-02T17:20:00Z", series("A4"), role="plain-coat")
    shop.mix("3/wax-coat", "G1", at("2026-05-02T20:00:00Z"))
    told = layupwatch(
        *("review", 3, "--where", "all-over", "--thumbnail", "none", "--last-coat", "waxed"),
        *("--looks", "milky", "--json"),
        now="2026-05-03T10:00:00Z",
    ).json
    assert sorted(found(told)) == [("dew-on-green", "strong"), ("wax-too-cold", "strong")]
    dew = next(f for f in told["findings"] if f["id"] == "dew-on-green")["for"]
    spell = next(e for e in dew if "the sheet asks 3.0 °C" in e["fact"])
    assert spell["from"].startswith("2026-05-02T22:5")
    assert spell["to"].startswith("2026-05-03T08:1")
    # Dew point by psychrolib (ASHRAE Handbook, Fundamentals 2017), at 05:30: 11 °C and 96 %.
    psychrolib.SetUnitSystem(psychrolib.SI)
    nearest_c = 11.0 - psychrolib.GetTDewPointFromRelHum(11.0, 0.96)
    assert spell["fact"].startswith(f"{nearest_c:.1f} °C from the dew point")
    assert "17.0 °C, below the wax's 18.0 °C to 32.0 °C" in facts_for(told, "wax-too-cold")
    assert {cleared["what"] for cleared in told["cleared"]} == {"mix"}


def test_the_stretcher_board_is_off_its_ratio(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """80 g of hardener where 100 were due, past load by the count: off its ratio, strong."""
    shop.hear("shed", series("A7"))
    shop.book.add_layup(3, "stretcher board", "demo-epoxy", on=None, safety=True, now=at(MIXED))
    mixed = "2026-05-02T09:00:00Z"
    layupwatch(
        *("batch", "add", "3/skin-a", "--resin-g", 250, "--hardener-g", 80, "--mixed-at", mixed)
    )
    shop.put("3", "shed", at(mixed))
    answers = ("--where", "all-over", "--thumbnail", "dent", "--cup", "rubbery")
    now = "2026-05-04T09:00:00Z"
    told = layupwatch("review", 3, *answers, "--json", now=now).json
    assert found(told) == [("off-ratio", "strong")]
    assert "20.0 % short" in facts_for(told, "off-ratio")
    said = layupwatch("review", 3, *answers, now=now).out
    assert "This is a safety part: do not rely on rescue; ask the maker." in said
    assert "free amine" in said


def test_the_thick_fillet_cooked(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """30 mm in one pass, 104 °C in the bead: strong with the probe, and what to look for."""
    file = series("A10")
    probe = Readings(
        file.time_s, file.temperature_c, file.humidity_pct, file.temperature_c, file.flags
    )
    mixed = "2026-05-02T14:00:00Z"
    shop.hear("shed", probe)
    shop.book.add_layup(3, "cleat pad", "demo-thickened", on=None, safety=False, now=at(mixed))
    layupwatch(
        *("batch", "add", "3/fillet", "--resin-g", 200, "--catalyst-g", 3),
        *("--thickness-mm", 30, "--mixed-at", mixed),
    )
    shop.put("3", "shed", at(mixed), channel=Channel.SURFACE)
    told = layupwatch(
        *("review", 3, "--where", "edges", "--looks", "cracked", "--json"),
        now="2026-05-02T18:00:00Z",
    ).json
    assert found(told)[0] == ("hot-heart", "strong")
    assert "104.0 °C, the part may run to 80.0 °C" in facts_for(told, "hot-heart")
    assert "30 mm in one pass, the sheet allows 12 mm" in facts_for(told, "hot-heart")
    for word in ("cracks", "brown heart", "gap at the hull", "dimples on the far side"):
        assert word in told["findings"][0]["do"]


def test_a_coat_over_a_soft_coat(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """The mast skirt: 14 of 30 when the wax coat went on: too early, strong."""
    begin(shop, "G1", "2026-05-02T09:40:00Z", series("A12"), role="plain-coat")
    shop.mix("3/wax-coat", "G1", at("2026-05-02T10:45:00Z"))
    told = layupwatch(
        *("review", 3, "--where", "all-over", "--thumbnail", "mark", "--looks", "wrinkled"),
        *("--last-coat", "waxed", "--json"),
        now="2026-05-02T20:00:00Z",
    ).json
    assert found(told) == [("coat-too-early", "strong")]
    assert "of 30 at the careful edge" in facts_for(told, "coat-too-early")
    assert "fully" in told["findings"][0]["do"]


def test_the_skeg_lid_is_only_green(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """70 of 240 at 27 °C: early, nothing wrong, strong."""
    begin(shop, "P1", "2026-05-02T12:00:00Z", series("A13"))
    told = layupwatch(
        "review", 3, "--where", "all-over", "--thumbnail", "mark", "--json",
        now="2026-05-02T15:10:00Z",
    ).json  # fmt: skip
    assert found(told) == [("still-green", "strong")]
    assert "count 70" in facts_for(told, "still-green")


def test_a_cold_hull_on_a_warm_morning(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """Air 17 °C and 70 %, hull 11 °C: wet by its own probe, strong; by the air nobody can say."""
    air = steady(17, 70, "2026-05-02T14:00:00Z")
    hull = Readings(
        air.time_s, air.temperature_c, air.humidity_pct, air.temperature_c - 6, air.flags
    )
    shop.hear("hull", hull)
    shop.book.add_layup(3, "hull patch", "demo-laminating", on="hull", safety=False, now=at(MIXED))
    shop.mix("3/patch", "P1", at(MIXED))
    shop.put("3", "hull", at(MIXED))
    answers = ("--where", "all-over", "--thumbnail", "mark", "--looks", "milky", "--json")
    now = "2026-05-02T14:00:00Z"
    by_air = layupwatch("review", 3, *answers, now=now).json
    assert "dew-on-green" not in dict(found(by_air))
    assert "dew" not in {cleared["what"] for cleared in by_air["cleared"]}
    shop.put("3", "hull", at(MIXED), channel=Channel.SURFACE)
    probed = layupwatch("review", 3, *answers, now=now).json
    assert dict(found(probed))["dew-on-green"] == "strong"
    assert "-0.5 °C from the dew point" in facts_for(probed, "dew-on-green")


def test_a_cold_night_and_its_deadline(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """The hatch lid: parked, strong, 12 h of warmth; the first time to give up stands."""
    begin(shop, "P1", "2026-05-02T16:00:00Z", series("A2"))
    answers = ("--where", "all-over", "--thumbnail", "dent", "--cup", "hard")
    first = layupwatch("review", 3, *answers, "--json", now="2026-05-03T08:00:00Z").json
    assert found(first) == [("cold-parked", "strong")]
    assert "10 h 48 min below the floor of 10.0 °C" in facts_for(first, "cold-parked")
    assert first["give_up_by"] == "2026-05-04T00:00:00Z"
    later = layupwatch("review", 3, *answers, "--json", now="2026-05-03T12:00:00Z").json
    assert later["give_up_by"] == first["give_up_by"]
    said = layupwatch("review", 3, *answers, now="2026-05-03T12:00:00Z").out
    assert "No flame or glowing element" in said
    layupwatch("batch", "add", "3/patch", "--resin-g", 100, "--catalyst-g", 1.5, now=LATER)
    fresh = layupwatch("review", 3, *answers, "--json", now=LATER).json
    assert fresh["batch"] == "3/patch"
    assert fresh["give_up_by"] > first["give_up_by"], "another cup has a time of its own"
    past = layupwatch("review", "3/skin-a", *answers, now="2026-05-04T01:00:00Z").out
    assert "The time to give up was 00:00 today." in past


def test_a_power_cut_over_the_first_hours(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """Mixed twenty minutes before the power went: the record can't say, and names no cause."""
    begin(shop, "P1", "2026-05-02T20:50:00Z", series("A3a", "A3b"))
    told = layupwatch(
        "review", 3, "--where", "all-over", "--thumbnail", "dent", "--json",
        now="2026-05-03T08:00:00Z",
    ).json  # fmt: skip
    assert found(told) == [("record-cant-say", None)]
    assert "no reading for 7 h 30 min" in facts_for(told, "record-cant-say")
    assert any("first 6 h were not measured" in line for line in told["held"])


def test_one_tin_slow_in_every_part(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """Two parts from one tin kicked after two hours instead of 40 minutes: the tin, strong."""
    shop.hear("shed", steady(20, 50, "2026-05-05T08:00:00Z"))
    for number, day in ((1, "02"), (2, "03"), (3, "04")):
        mixed = f"2026-05-{day}T08:00:00Z"
        shop.book.add_layup(
            number, "panel", "demo-laminating", on=None, safety=False, now=at(mixed)
        )
        tin = "R6" if number == 1 else "R7"
        layupwatch(
            *("batch", "add", f"{number}/skin-a", "--resin-g", 200, "--catalyst-g", 3),
            *("--resin-tin", tin, "--mixed-at", mixed),
            now=mixed,
        )
        shop.put(str(number), "shed", at(mixed))
        kicked = f"2026-05-{day}T{'08:40' if number == 1 else '10:00'}:00Z"
        layupwatch("mark", f"{number}/skin-a", "kicked", "--at", kicked, now=kicked)
    told = layupwatch(
        "review", 3, "--where", "all-over", "--thumbnail", "dent", "--json",
        now="2026-05-05T08:00:00Z",
    ).json  # fmt: skip
    assert dict(found(told))["slow-tin"] == "strong"
    said = facts_for(told, "slow-tin")
    assert "resin tin R7, 2/skin-a: kicked after 2 h" in said
    assert "1/skin-a" not in said
    assert "resin tin R7, 3/skin-a" in said


def test_it_is_kept_with_the_part(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """Each review stands in `layup show` as it was given, times with their day."""
    begin(shop, "P1", "2026-05-02T16:00:00Z", series("A2"))
    now = "2026-05-03T08:00:00Z"
    for answer in ("mark", "dent"):
        layupwatch("review", "3/skin-a", "--where", "all-over", "--thumbnail", answer, now=now)
    shown = layupwatch("layup", "show", 3, now="2026-05-20T08:00:00Z")
    assert shown.out.count("Reviewed 08:00 on 3 May 2026:") == 2
    assert "Rescue no later than 00:00 Mon 4 May" in shown.out
    assert "today" not in shown.out
    kept = layupwatch("layup", "show", 3, "--json").json["reviews"]
    assert [review["answers"]["thumbnail"] for review in kept] == ["mark", "dent"]
    assert kept[1]["findings"] == {"cold-parked": "strong"}
    assert kept[1]["batch"] == "3/skin-a"


def test_in_fahrenheit(tmp_path: Path, layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """A shop in °F is told °F; a spread's degrees have no 32 in them."""
    toml = tmp_path / "shop" / "shop.toml"
    text = toml.read_text("utf-8")
    assert 'unit = "c"' in text
    toml.write_text(text.replace('unit = "c"', 'unit = "f"'), "utf-8")
    begin(shop, "P1", MIXED, steady(20, 50, "2026-05-03T10:06:00Z"))
    said = layupwatch(
        *("review", 3, "--where", "all-over", "--thumbnail", "none", "--grit", "dust"),
        now="2026-05-03T10:00:00Z",
    ).out
    assert "68.0 °F, inside the sheet's 59.0 °F to 86.0 °F" in said
    assert "the sheet asks 5.4 °F" in said
    assert "count 702 (655 to 749) of 432" in said


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        (("3",), "Nothing about the tack is answered"),
        (("3", "--thumbnail", "soft"), "'soft' is no answer to --thumbnail."),
        (("4", "--where", "edges"), "There is no open layup 4."),
        (("3/fillet", "--where", "edges"), "Part 3 has no batch fillet."),
    ],
)
def test_two_lines_for_bad_input(
    layupwatch: Layupwatch, shop: ShopAtHand, arguments: tuple[str, ...], what: str
) -> None:
    """What is wrong and what to do, and nothing is kept."""
    begin(shop, "P1", MIXED, steady(20, 50, "2026-05-03T10:06:00Z"))
    said = layupwatch("review", *arguments, now="2026-05-03T10:00:00Z")
    assert said.code == 2
    assert said.two_lines[0].startswith(what)
    assert shop.store.book.reviews(shop.store.book.layup(3).id) == ()


def test_a_part_without_a_batch(layupwatch: Layupwatch, shop: ShopAtHand) -> None:
    """There is nothing to review yet, and it says how to log it."""
    shop.book.add_layup(3, "lid", "demo-laminating", on=None, safety=False, now=at(MIXED))
    said = layupwatch("review", 3, "--where", "edges")
    assert said.code == 2
    assert "batch add 3/skin-a" in said.two_lines[1]


def _typed(folder: Path, answers: list[tuple[str, str]]) -> str:
    """Run `review 3` in a real terminal and type each answer when its question has come."""
    terminal, theirs = pty.openpty()
    process = subprocess.Popen(
        [*PROGRAM, "--shop", str(folder), "review", "3"],
        stdin=theirs, stdout=theirs, stderr=theirs,
    )  # fmt: skip
    os.close(theirs)
    shown, end = "", time.monotonic() + PATIENCE_S
    waiting = list(answers)
    seen = 0
    try:
        while time.monotonic() < end:
            if waiting and (found_at := re.search(waiting[0][0], shown[seen:], re.DOTALL)):
                seen += found_at.end()
                os.write(terminal, f"{waiting.pop(0)[1]}\n".encode())
            ready, _, _ = select.select([terminal], [], [], 0.1)
            if ready:
                try:
                    shown += os.read(terminal, 4096).decode("utf-8", "replace")
                except OSError:
                    break
            elif process.poll() is not None:
                break
        assert process.wait(PATIENCE_S) == 0, shown
    finally:
        if process.poll() is None:
            process.kill()
        os.close(terminal)
    return shown


def test_asked_in_a_terminal_and_revised(tmp_path: Path, shop: ShopAtHand) -> None:
    """Question by question; an answer is changed before it goes on, and offered the next time."""
    begin(shop, "P1", MIXED, steady(20, 50, "2026-05-03T10:06:00Z"))
    shown = _typed(
        tmp_path / "shop",
        [
            (r"Where is it sticky.*\[open\]", "1"),
            (r"thumbnail in.*\[open\]", "3"),
            (r"80 grit.*\[open\]", "9"),
            (r"Type a number from 1 to 3.*\[open\]", "dust-after"),
            (r"acetone.*\[open\]", ""),
            (r"leftover cup.*\[open\]", ""),
            (r"last coat.*\[open\]", "1"),
            (r"smell or feel.*\[open\]", "1"),
            (r"odd to see.*\[open\]", ""),
            (r"number of an answer to change", "2"),
            (r"thumbnail in.*dents it deep\]", "1"),
            (r"number of an answer to change", ""),
        ],
    )
    assert "1. Normal air tack: strong" in shown
    (kept,) = shop.store.book.reviews(shop.store.book.layup(3).id)
    assert kept.answers[:3] == ("where=all-over", "thumbnail=none", "grit=dust-after")
    again = _typed(
        tmp_path / "shop",
        [(r"sticky.*\[sticky all over\]", ""), (r"\[the thumbnail leaves no mark\]", "-")]
        + [(r"\] ", "")] * 6
        + [(r"to change", "")],
    )
    assert "[80 grit makes dust after the first strokes]" in again
    assert len(shop.store.book.reviews(shop.store.book.layup(3).id)) == 2
