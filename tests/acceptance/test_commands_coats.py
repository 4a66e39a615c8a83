"""Gel coats as people ask for them: can I put the next one on, and will it seal before the dew?"""

from pathlib import Path

import pytest

from tests.scenarios import columns, series
from tests.scenarios.terminal import Layupwatch
from tests.scenarios.typed import CUPS, Typed, two_days

COAT = CUPS["demo-gel-coat"]


@pytest.fixture
def typed(layupwatch: Layupwatch, tmp_path: Path) -> Typed:
    return Typed(layupwatch, tmp_path)


def bow(typed: Typed) -> Typed:
    """The canoe bow at 20:00: plain coat since 17:20, and the same evening yesterday."""
    typed.hear("bow", two_days("A4"), "17:20")
    typed.lay_up("3/plain-coat", "canoe bow", "demo-gel-coat", "bow", "17:20")
    typed.hear("bow", two_days("A4"), "20:00")
    return typed


def test_the_wax_is_too_cold_tonight(typed: Typed) -> None:
    """Open, dry enough, and 17 °C where the wax wants 18: no-go, and dew before it would seal."""
    said = bow(typed).say("plan", "demo-gel-coat", "--for", "3/wax-coat", now="20:00")
    first, second, third, fourth, *_ = said.splitlines()
    assert first == (
        "NO-GO now: 17.0 °C is under the wax's 18.0 °C. "
        "Warm the part as well as the air, and hold it until it has sealed."
    )
    assert second == "Dew likely about 22:55 today, sealed about 02:25 Sun, a guess: not tonight."
    assert third == (
        "The plain coat under it is open for another since 19:49 today, until dew, "
        "about 22:55 today, a guess."
    )
    assert fourth.startswith("Wax wants 18.0 to 32.0 °C, and at 17.0 °C 5 h 27 min of shelter")
    assert "thermostat and a cut-out" in said


def test_another_plain_coat_may_go_on(typed: Typed) -> None:
    """Without wax the same evening is a go, with its closest limit, and says when it is too cold
    to flip."""
    said = bow(typed).say("plan", "demo-gel-coat", "--for", "3/plain-coat-2", now="20:00")
    assert said.startswith("GO now. Closest limit: 17.0 °C, at least 16.0 °C.\n")
    assert "Only work you can leave soft: to reach flip" in said


def test_the_answer_for_scripts(typed: Typed) -> None:
    """The verdict in one word, the sentences, and the plan beside it."""
    answer = bow(typed)("plan", "demo-gel-coat", "--for", "3/wax-coat", "--json", now="20:00").json
    assert answer["start"]["verdict"] == "no-go"
    assert answer["stage"] == "sealed"
    assert answer["mixed_now"]["reached_careful"].startswith("2026-05-03T08:46")


def damp_room(typed: Typed) -> None:
    """18 °C and 60 %, as the mast skirt had it."""
    steady = series("A12")
    typed.hear("shed", columns(steady.time_s, steady.temperature_c, [60.0] * len(steady)), "13:05")


def test_the_coat_under_it_is_still_soft(typed: Typed) -> None:
    """After an hour at 18 °C: not before 12:10, nor after the sheet's 24 h, and why."""
    damp_room(typed)
    typed.lay_up("8/plain-coat", "mast skirt", "demo-gel-coat", "shed", "09:40")
    said = typed.say("plan", "demo-gel-coat", "--for", "8/wax-coat", now="10:45")
    first, second, *_ = said.splitlines()
    assert first == (
        "NOT YET, after 12:10 today if it stays 18.0 °C, until 09:40 Sun at the very latest: "
        "the plain coat under it is still soft, it would wrinkle."
    )
    assert second == (
        "Wax wants 18.0 to 32.0 °C, and at 18.0 °C 5 h of shelter from dew, rain and sun "
        "until it has sealed."
    )
    ready = typed.say("plan", "demo-gel-coat", "--for", "8/wax-coat", now="12:12")
    assert ready.startswith("GO now. Closest limit: 18.0 °C, at least 18.0 °C.")


def test_logged_all_the_same(typed: Typed) -> None:
    """The coat that went on too soon is told so at once, with what to do."""
    damp_room(typed)
    typed.lay_up("8/plain-coat", "mast skirt", "demo-gel-coat", "shed", "09:40")
    said = typed.say("batch", "add", "8/wax-coat", *COAT, now="10:45")
    assert (
        "The coat under it was still soft: it may wrinkle. Let it go fully hard, sand to "
        "sound, and coat again."
    ) in said


def test_a_third_coat_over_wax(typed: Typed) -> None:
    """Wax: sanding opens it, no hour does."""
    damp_room(typed)
    typed.lay_up("8/plain-coat", "mast skirt", "demo-gel-coat", "shed", "09:40")
    typed.say("batch", "add", "8/wax-coat", *COAT, now="12:15")
    third = ("plan", "demo-gel-coat", "--for", "8/plain-coat-2")
    for now in ("12:20", "13:00"):
        assert typed.say(*third, now=now).startswith(
            "NO-GO now: the coat under it is waxed: wash it, sand dull all over, then coat. "
            "No waiting opens it."
        )
    typed.say("mark", 8, "sanded-dust", now="13:00")
    said = typed.say(*third, now="13:05")
    assert said.startswith("GO now.")
    assert "was sanded 5 min ago: wipe it, and let that flash off first." in said
