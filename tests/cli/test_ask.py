"""Asking: assess, ready, air, in sentences and as JSON."""

from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from monitor.csvfile import write_readings
from tests.cli.conftest import Layupwatch
from tests.scenarios import at, near, series

SHEET = str(files("monitor.sheets") / "demo" / "demo-laminating.toml")


@pytest.fixture
def power_cut(tmp_path: Path) -> Path:
    """The canoe bow's night, with its power cut, as a readings file."""
    path = tmp_path / "bow.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A3a", "A3b"), out)
    return path


def assessed(layupwatch: Layupwatch, path: Path, *more: str) -> Any:
    return layupwatch(
        "assess", path, "--sheet", SHEET, "--mixed-at", "2026-05-02T15:00:00Z",
        "--now", "2026-05-03T08:00:00Z", "--mix-pct", "1.5", "--json", *more,
    ).json  # fmt: skip


def test_assess_gives_the_whole_object(layupwatch: Layupwatch, power_cut: Path) -> None:
    """Count, gap, windows and verdicts of a file alone; rows after now are counted and left out."""
    answer = assessed(layupwatch, power_cut)
    assert answer["mixed_at"] == "2026-05-02T15:00:00Z"
    assert answer["now"] == "2026-05-03T08:00:00Z"
    assert (answer["nearness"], answer["band_c"], answer["unit"]) == ("beside", 1.0, "dh")
    assert answer["readings"] == {
        "used": 572,
        "suspect": 0,
        "ignored_after_now": 960,
        "first": "2026-05-02T15:00:00Z",
        "last": "2026-05-03T08:00:00Z",
    }
    assert answer["gaps"] == [
        {
            "from": "2026-05-02T21:10:00Z",
            "to": "2026-05-03T04:40:00Z",
            "hours": 7.5,
            "why": "silent",
        }
    ]
    assert answer["unmeasured_hours"] == 7.5
    assert answer["count"] == pytest.approx({"low": 97.5, "middle": 174.5, "high": 206.5})
    assert (answer["parked_since"], answer["parked"], answer["overruled_by"]) == (None, [], [])
    stages = {stage["stage"]: stage for stage in answer["stages"]}
    sand, knife = stages["sand"], stages["knife_trim"]
    assert (sand["kind"], sand["needs"], sand["verdict"]) == ("opening", 240, "not-yet")
    assert sand["opens"] == {"early": None, "middle": None, "late": None}
    assert "shuts" not in sand
    assert (knife["kind"], knife["needs"], knife["verdict"]) == ("window", [18, 40], "shut")
    assert knife["shut_by"] == "count"
    assert near(at(knife["shuts"]["early"]), "2026-05-02T17:36:00Z")
    assert stages["sealed"]["verdict"] == "cant-tell"
    assert stages["sealed"]["needs"] is None
    bond = answer["bond_line"]
    assert (bond["state"], bond["until"]) == ("chemical", "2026-05-04T15:00:00Z")
    assert answer["forecast"]["stages"] == {}
    assert answer["forecast"]["dew_at"] is None
    assert answer["forecast"]["basis"].startswith("Under 12 hours of readings here")


def test_what_is_guessed_lives_apart(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """Rows before mixing are this place's history: with a day of it the stages are guessed, under
    `forecast` alone, with what the guess rests on."""
    path = tmp_path / "rudder.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A1"), out)
    answer = layupwatch(
        "assess", path, "--sheet", SHEET, "--mixed-at", "2026-05-03T09:00:00Z",
        "--now", "2026-05-03T14:00:00Z", "--mix-pct", "1.5", "--json",
    ).json  # fmt: skip
    ahead = answer["forecast"]
    assert ahead["basis"] == "tonight like last night"
    sand = ahead["stages"]["sand"]
    assert answer["now"] < sand["early"] < sand["middle"] < sand["late"]
    measured = next(s for s in answer["stages"] if s["stage"] == "sand")
    assert measured["opens"] == {"early": None, "middle": None, "late": None}
    assert "knife_trim" not in ahead["stages"], "it shut, so there is nothing to guess"
    recoat = ahead["stages"]["recoat"]
    assert recoat["late"] is None, "it is open: the record says when"
    assert answer["now"] < recoat["shuts"]["early"] <= recoat["shuts"]["middle"]


def test_assess_in_sentences(layupwatch: Layupwatch, power_cut: Path) -> None:
    """The verdict, the count with its band, what was not measured, and the touch of doubt."""
    said = layupwatch(
        "assess", power_cut, "--sheet", SHEET, "--mixed-at", "2026-05-02T15:00:00Z",
        "--now", "2026-05-03T08:00:00Z", "--mix-pct", "1.5",
    )  # fmt: skip
    assert said.code == 0
    assert "This is a demo sheet: its figures are made up." in said.out
    assert "Count 174 (98 to 206) degree-hours from 572 readings, beside the part" in said.out
    assert "Not measured: 21:10 Sat to 04:40 today, 7 h 30 min, no reading." in said.out
    assert "sand: NOT YET. 174 (98 to 206) of 240. Not even the warm edge is there yet." in said.out
    assert "do the touch test" in said.out


def test_exit_code_says_ready_or_not(layupwatch: Layupwatch, power_cut: Path) -> None:
    """0 for an answer; with --exit-code, 1 for anything but ready."""
    asked = (
        "assess", power_cut, "--sheet", SHEET, "--mixed-at", "2026-05-02T15:00:00Z",
        "--mix-pct", "1.5", "--exit-code",
    )  # fmt: skip
    assert layupwatch(*asked, "--now", "2026-05-03T08:00:00Z").code == 1
    assert layupwatch(*asked, "--now", "2026-05-03T20:10:00Z").code == 0


def test_no_mix_given_is_at_most_test_it(layupwatch: Layupwatch, power_cut: Path) -> None:
    """The sheet gives a range, so a count without the mix can't bless anything."""
    said = layupwatch(
        "assess", power_cut, "--sheet", SHEET, "--mixed-at", "2026-05-02T15:00:00Z",
        "--now", "2026-05-03T20:10:00Z", "--json",
    )  # fmt: skip
    answer = said.json
    assert answer["overruled_by"] == ["mix-not-logged"]
    assert {s["stage"]: s["verdict"] for s in answer["stages"]}["sand"] == "test-it"


def test_times_without_an_offset_need_a_zone(layupwatch: Layupwatch, power_cut: Path) -> None:
    """assess has no shop, so it doesn't guess the zone."""
    asked = ("assess", power_cut, "--sheet", SHEET, "--mixed-at", "2026-05-02T15:00")
    said = layupwatch(*asked)
    assert said.code == 2
    assert said.two_lines[0] == "2026-05-02T15:00 has no offset from UTC."
    assert layupwatch(*asked, "--zone", "Europe/Lisbon").code == 0


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--surface-c", "11"), "The surface is WET: don't bond, don't coat."),
        ((), "Can't tell of a surface: a hull may be colder than the air."),
    ],
)
def test_air_in_sentences(layupwatch: Layupwatch, asked: tuple[str, ...], words: str) -> None:
    """A cold hull on a warm morning is wet; without a probe it says what it can't know."""
    said = layupwatch("air", "--temperature-c", "17", "--humidity-pct", "70", *asked)
    assert said.code == 0
    assert "Dew point 11.5 °C, over water." in said.out
    assert words in said.out


def test_air_as_json(layupwatch: Layupwatch) -> None:
    """Dew point, what it is over, and the spread."""
    said = layupwatch(
        "air", "--temperature-c", 17, "--humidity-pct", 70, "--surface-c", 11, "--json"
    )
    assert said.json["over"] == "water"
    assert said.json["dew_point_c"] == pytest.approx(11.5, abs=0.05)
    assert said.json["spread_c"] == pytest.approx(-0.5, abs=0.05)


def test_below_freezing_says_what_it_is_over(layupwatch: Layupwatch) -> None:
    """Below 0 °C the dew point is over water, and the words say so."""
    said = layupwatch("air", "--temperature-c", "5", "--humidity-pct", "50")
    assert "over water (frost would come a little warmer)" in said.out


def test_air_outside_its_range(layupwatch: Layupwatch) -> None:
    """No dew point outside the formula's range: two lines, exit code 2."""
    said = layupwatch("air", "--temperature-c", "80", "--humidity-pct", "50")
    assert said.code == 2
    assert "0 and up to 100 %" in said.two_lines[1]
