"""Before the first cup, as people ask: this afternoon, and a cold hull on a warm morning."""

from pathlib import Path

import numpy as np
import pytest

from monitor.records import Readings
from tests.scenarios import at, columns, story
from tests.scenarios.terminal import Layupwatch
from tests.scenarios.typed import Typed, moment, two_days


@pytest.fixture
def typed(layupwatch: Layupwatch, tmp_path: Path) -> Typed:
    return Typed(layupwatch, tmp_path)


def test_can_i_lay_up_this_afternoon(typed: Typed) -> None:
    """Only work that may stay soft: both edges, what a cup mixed now comes to, and tomorrow."""
    typed.hear("yard", two_days("A15"), "15:30")
    said = typed.say("plan", "demo-laminating", "--stage", "flip", now="15:30").splitlines()
    assert said[0] == (
        "Only work you can leave soft: to reach flip before it is too cold (21:12 today) it had to "
        "be mixed before 11:43 today (12:53 today with luck)."
    )
    assert said[1] == "Next time: mix before 11:43 Sun."
    assert "about 44 (33 at the careful edge) of 75 by 21:12 today, then parks" in said[2]
    assert said[-1] == "A guess: tonight like last night."


def test_in_the_morning_it_is_a_yes_until_noon(typed: Typed) -> None:
    """At 10:30 the same day: until when, first; then that the place's limits are kept."""
    days = two_days("A15")
    airy = columns(days.time_s, days.temperature_c, [60.0] * len(days))
    typed.hear("yard", airy, "10:30")
    said = typed.say("plan", "demo-laminating", "--stage", "flip", now="10:30").splitlines()
    assert said[0] == ("To reach flip before it is too cold (21:12 today), mix before 11:43 today.")
    assert any(line.startswith("GO now. Closest limit: 17.2 °C, at least 15.0 °C") for line in said)


def morning(surface_c: float | None) -> Readings:
    """An hour of 17 °C and 70 %, with a probe on the hull or without."""
    air = story("A16")["air"]
    time_s = np.arange(at(moment("08:00")).timestamp(), at(moment("09:01")).timestamp(), 60.0)
    size = time_s.size
    told = columns(time_s, [air["temperature_c"]] * size, [air["humidity_pct"]] * size)
    hull = np.full(size, np.nan if surface_c is None else surface_c)
    return Readings(told.time_s, told.temperature_c, told.humidity_pct, hull, told.flags)


def pad(typed: Typed, surface_c: float | None) -> None:
    """A pad to be bonded to the hull, its sensor there since 08:00, nothing mixed yet."""
    typed.hear("deck", morning(surface_c), "09:00")
    typed.say(
        *("layup", "add", 20, "pad", "--sheet", "demo-laminating", "--on", "hull"), now="08:00"
    )
    channel = "air" if surface_c is None else "surface"
    typed.say("stay", 20, "deck", "--channel", channel, "--from", "08:00", now="09:00")


CANT_TELL = "the hull may be colder than the air: put a probe on it"


def test_a_hull_without_a_probe(typed: Typed) -> None:
    """17 °C and 5.5 °C above the dew point in the air says nothing of the hull."""
    pad(typed, None)
    assert f"CAN'T TELL: {CANT_TELL}." in typed.say("ready", 20, now="09:00")
    planned = typed.say("plan", "demo-laminating", "--for", "20/skin-a", now="09:00")
    assert planned.startswith(f"CAN'T TELL: {CANT_TELL}.")
    typed.say("batch", "add", "20/skin-a", "--resin-g", 200, "--catalyst-g", 3, now="09:00")
    said = typed.say("ready", 20, now="09:00").splitlines()
    assert said[1] == f"Surface: CAN'T TELL if it is wet or warm enough to bond: {CANT_TELL}."


def test_a_wet_hull_under_a_probe(typed: Typed) -> None:
    """11 °C at the hull is half a degree under the dew point: wet, don't bond."""
    pad(typed, story("A16")["air"]["surface_c"])
    said = typed.say("ready", 20, now="09:00")
    assert "NO-GO now: " in said
    assert "the surface is WET, 0.5 °C under the dew point" in said
    assert "the surface's 11.0 °C is under the sheet's 15.0 °C" in said
    typed.say("batch", "add", "20/skin-a", "--resin-g", 200, "--catalyst-g", 3, now="09:00")
    assert (
        "Surface: WET, 0.5 °C under the dew point. Don't bond, don't coat. "
        "Warm it until it is 3.0 °C above the dew point, and wipe it dry."
    ) in typed.say("ready", 20, now="09:00").splitlines()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ((), "Can't tell of a surface: a hull may be colder than the air. Put a probe on it,"),
        (("--surface-c", 11), "The surface is WET: don't bond, don't coat."),
    ],
)
def test_the_same_by_hand(typed: Typed, more: tuple[object, ...], words: str) -> None:
    """Two figures read off a wall, without a shop."""
    said = typed.say("air", "--temperature-c", 17, "--humidity-pct", 70, *more, now="09:00")
    assert said.startswith("Dew point 11.5 °C")
    assert words in said
