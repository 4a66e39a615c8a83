"""`mix` at the bench: in words, as JSON, in °F, refused; and the same line when a cup is logged."""

from pathlib import Path

import pytest

from tests.cli.conftest import Layupwatch


def test_grams_minutes_and_the_next_step(layupwatch: Layupwatch) -> None:
    """No daemon, no reading, no database: the sheet alone answers."""
    said = layupwatch("mix", "demo-laminating", "--resin-g", 100, "--temperature-c", 20)
    assert said.code == 0, said.err
    assert "Catalyst 1.50 g for 100 g of resin: 1.5 %, the sheet's aim." in said.out
    assert "In hand: 16 min from mixing at 20.0 °C" in said.out
    assert "batch add NUMBER/ROLE --resin-g 100 --catalyst-g 1.50" in said.out


def test_in_fahrenheit(layupwatch: Layupwatch) -> None:
    """68 °F is 20 °C, and is answered in °F; both at once, or °F as °C, are refused."""
    said = layupwatch("mix", "demo-laminating", "--resin-g", 100, "--temperature-f", 68)
    assert "In hand: 16 min from mixing at 68.0 °F" in said.out
    twice = layupwatch(
        *("mix", "demo-laminating", "--resin-g", 100, "--temperature-f", 68, "--temperature-c", 20)
    )
    assert twice.code == 2
    assert "given twice" in twice.two_lines[0]
    mistaken = layupwatch("mix", "demo-laminating", "--resin-g", 100, "--temperature-c", 68)
    assert mistaken.code == 2
    assert "--temperature-f 68" in mistaken.two_lines[1]


def test_as_json(layupwatch: Layupwatch) -> None:
    """The short epoxy cup for scripts: what is wrong, what to add, and the cup's number."""
    told = layupwatch(
        *("mix", "demo-epoxy", "--resin-g", 250, "--weighed-g", 80, "--scale-step-g", 1),
        *("--cup", 7, "--json"),
    ).json
    assert told["grams"]["aim"] == pytest.approx(100.0)
    assert told["percent"]["low"] == pytest.approx(38.8)
    assert told["weighed"]["add"] == {"part": "hardener", "grams": 20.0}
    assert told["weighed"]["state"] == "outside"
    assert told["scale"]["plus_minus_pct"] == pytest.approx(1.4)
    assert told["cup"] == "7"
    assert told["minutes"]["in_hand"] is None


def test_outside_the_range_at_any_temperature(layupwatch: Layupwatch) -> None:
    """Refused in two lines, cold or hot."""
    for temperature_c in (5, 35):
        said = layupwatch(
            *("mix", "demo-laminating", "--resin-g", 100, "--mix-pct", 2.5),
            *("--temperature-c", temperature_c),
        )
        assert said.code == 2
        what, remedy = said.two_lines
        assert what == "2.5 % is over the sheet's 1 to 2 % catalyst."
        assert remedy.startswith("Stay inside it, however cold or hot it is")


def test_demo_sheets_mix_nothing_real(
    layupwatch: Layupwatch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A shop that isn't a demo gets no grams by made-up figures."""
    monkeypatch.setenv("LAYUPWATCH_SHOP", str(tmp_path / "real"))
    said = layupwatch("mix", "demo-epoxy", "--resin-g", 100)
    assert said.code == 2
    assert "demo sheet" in said.two_lines[0]


def test_help_names_its_sources(layupwatch: Layupwatch) -> None:
    """Each caution's public source stands in the help."""
    help_text = " ".join(layupwatch("mix", "--help").out.split())
    for source in (
        "International Chemical Safety Card 1028",
        "California Title 8, section 5461(g)",
        "section 5461(c)",
        "FAO Fisheries Technical Paper 321, chapter 3",
        "NIOSH Pocket Guide",
    ):
        assert source in help_text


def test_a_logged_cup_says_the_same(layupwatch: Layupwatch) -> None:
    """`batch add` with a short ratio: what to add now; half an hour later it is too late."""
    layupwatch("layup", "add", 6, "stretcher board", "--sheet", "demo-epoxy")
    cup = ("--resin-g", 250, "--hardener-g", 80)
    now = layupwatch("batch", "add", "6/skin-a", *cup)
    assert "add 20.0 g now and stir again, if it hasn't left the cup" in now.out
    assert "Outside the sheet it won't cure right, however long it waits." in now.out
    late = layupwatch("batch", "add", "6/skin-b", *cup, "--mixed-at", "-30m")
    assert "Don't use it: mixed 30 min ago" in late.out
    assert "add 20.0 g" not in late.out
    told = layupwatch("batch", "add", "6/patch", *cup, "--json").json
    assert told["do"].startswith("Don't use it like this: add 20.0 g now")
    fine = layupwatch("batch", "add", "6/fillet", "--resin-g", 250, "--hardener-g", 103, "--json")
    assert (fine.json["mix"], fine.json["do"]) == ("at-the-limit", None)
