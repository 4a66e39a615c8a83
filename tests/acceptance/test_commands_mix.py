"""At the cup, as people type it: a short epoxy cup, a deep fillet, a coarse scale, own minutes."""

from pathlib import Path

import pytest

from monitor.records import Readings
from tests.scenarios import columns, series, story
from tests.scenarios.terminal import Layupwatch
from tests.scenarios.typed import CUPS, Typed

COUNT_TOLERANCE = 0.2


@pytest.fixture
def typed(layupwatch: Layupwatch, tmp_path: Path) -> Typed:
    return Typed(layupwatch, tmp_path)


def test_a_short_epoxy_cup_before_it_is_spread(typed: Typed) -> None:
    """20 % short: what is wrong, what to add, and until when that still helps."""
    cup = story("A7")
    said = typed.say(
        *("mix", "demo-epoxy", "--resin-g", cup["resin_g"], "--weighed-g", cup["hardener_g"]),
        now="09:00",
    ).splitlines()
    assert said[1] == "Hardener is 20.0 % short of the sheet's ratio; its limit is 3 %."
    assert said[2].startswith(
        "Don't use it like this: add 20.0 g now and stir again, if it hasn't left the cup."
    )


@pytest.mark.parametrize(
    ("grams", "words"),
    [(103, "Hardener is 3.0 % over the sheet's ratio, at the limit."), (100, "is within 3 %")],
)
def test_a_cup_at_the_limit_passes(typed: Typed, grams: int, words: str) -> None:
    """At 3 % it passes with a word; and nothing is to be added."""
    said = typed.say("mix", "demo-epoxy", "--resin-g", 250, "--weighed-g", grams, now="09:00")
    assert words in said
    assert "Don't use it" not in said


def test_a_scale_too_coarse(typed: Typed) -> None:
    """30 g and 12 g on a 1 g scale: one step on each weighing, added, is far past 3 %."""
    said = typed.say("mix", "demo-epoxy", "--resin-g", 30, "--scale-step-g", 1, now="09:00")
    assert "(resin 3.3, hardener 8.3)" in said
    assert "This scale can't hold 3 % on so small a cup: mix at least 120 g" in said
    assert "or use a 0.1 g scale." in said


def test_used_all_the_same_it_wont_cure_right(typed: Typed) -> None:
    """Past load's count after two warm days, and no stage, no joint and no bond will come right."""
    typed.hear("shed", series("A7"), "09:00")
    typed.say("layup", "add", 6, "stretcher board", "--sheet", "demo-epoxy", now="09:00")
    short = ("--resin-g", 250, "--hardener-g", 80)
    entered = typed.say("batch", "add", "6/skin-a", *short, now="09:00")
    assert "add 20.0 g now and stir again, if it hasn't left the cup" in entered
    assert "Outside the sheet it won't cure right, however long it waits." in entered
    typed.say("batch", "add", "6/skin-b", *CUPS["demo-epoxy"], now="09:00")
    typed.say("stay", 6, "shed", now="09:00")
    typed.hear("shed", series("A7"), "04T09:00")
    said = typed.say("ready", 6, now="04T09:00")
    why = "Hardener is 20.0 % short of the sheet's ratio; its limit is 3 %"
    assert f"▲ every stage: WON'T CURE RIGHT. {why}." in said
    assert f"Against it: {why}: take it off and lay up anew" in said
    assert "▲ load: WON'T CURE RIGHT, by 6/skin-a." in said
    assert "■ load: READY BY THE COUNT" in said, "the other skin is as it should be"
    bad, good = typed("ready", 6, "--json", now="04T09:00").json["batches"]
    assert {stage["verdict"] for stage in bad["stages"]} == {"wont-cure"}
    assert bad["count"]["middle"] == pytest.approx(624.0, abs=COUNT_TOLERANCE)
    assert "wont-cure" not in {stage["verdict"] for stage in good["stages"]}


def test_put_right_in_the_cup_it_counts(typed: Typed) -> None:
    """20 g added and stirred in time: the entry is corrected, and the count speaks again."""
    typed.hear("shed", series("A7"), "09:00")
    typed.say("layup", "add", 6, "stretcher board", "--sheet", "demo-epoxy", now="09:00")
    typed.say(*("batch", "add", "6/skin-a", "--resin-g", 250, "--hardener-g", 80), now="09:00")
    typed.say("stay", 6, "shed", now="09:00")
    typed.say("correct", "batch-1", "hardener_g", 100, now="09:05")
    typed.hear("shed", series("A7"), "04T09:00")
    assert "■ load: READY BY THE COUNT" in typed.say("ready", 6, "load", now="04T09:00")


def fillet(typed: Typed, now: str) -> str:
    """The cleat pad: a deep fillet with a probe in its bead, its edges by the air."""
    probe = series("A10")
    air = columns(probe.time_s, [24.0] * len(probe))
    both = Readings(
        probe.time_s, air.temperature_c, air.humidity_pct, probe.temperature_c, air.flags
    )
    typed.hear("bead", both, "14:00")
    typed.say("layup", "add", 5, "cleat pad", "--sheet", "demo-thickened", now="14:00")
    deep = ("--resin-g", 200, "--catalyst-g", 3, "--thickness-mm", 30)
    said = typed.say("batch", "add", "5/fillet", *deep, now="14:00")
    typed.say("batch", "add", "5/mat-edge", *CUPS["demo-thickened"], now="14:00")
    typed.say("stay", "5/fillet", "bead", "--channel", "surface", now="14:00")
    typed.say("stay", 5, "bead", now="14:00")
    typed.hear("bead", both, now)
    return said


def test_too_deep_in_one_pass(typed: Typed) -> None:
    """Told when it is logged: how deep the sheet lets it be, in how many passes, and why."""
    said = fillet(typed, "14:00")
    assert "30 mm in one pass, the sheet allows 12 mm: 3 passes." in said
    assert "runs hot, cracks and can smoke" in said


def test_while_it_runs_hot(typed: Typed) -> None:
    """At 14:37 what counts is to keep clear of it."""
    fillet(typed, "14:37")
    said = typed.say("ready", "5/fillet", now="14:37")
    assert (
        "Against it: it is at 89.1 °C, over the sheet's 80.0 °C: clear anything that burns" in said
    )
    assert "outside on bare ground only while it can still be held; otherwise keep clear." in said
    assert "? flip: CAN'T TELL." in said


def test_the_heat_makes_nothing_ready(typed: Typed) -> None:
    """Capped at 40 °C it counts 82 of the 134 as read; look at it first, and the joint with it."""
    fillet(typed, "16:30")
    said = typed.say("ready", 5, now="16:30")
    assert (
        "Against it: it ran too hot: look for cracks and a brown heart, a gap at its edges, "
        "dimples on the far side."
    ) in said
    assert "? props and clamps off: CAN'T TELL, by 5/fillet." in said
    bead, edge = typed("ready", 5, "--json", now="16:30").json["batches"]
    expected = story("A10")["expected"]
    for batch, wanted in (
        (bead, expected["middle_count_at"]),
        (edge, expected["air_only_24c_count_at"]),
    ):
        (count,) = wanted.values()
        assert batch["count"]["middle"] == pytest.approx(count, abs=COUNT_TOLERANCE)


def test_a_mark_stands_before_what_was_expected(typed: Typed) -> None:
    """Kicked is kicked: no more "look", and the tab's dust is said where the test would be."""
    typed.hear("shed", series("A1"), "10:20")
    typed.lay_up("3/skin-a", "rudder", "demo-laminating", "shed", "10:20")
    typed.hear("shed", series("A1"), "03T08:00")
    assert "Look, and mark it when you see it." in typed.say("ready", 3, now="11:10")
    typed.say("mark", "3/skin-a", "cup-kicked", "--at", "2026-05-02T10:48Z", now="11:10")
    assert "Its cup kicked at 10:48 today, 28 min after mixing, by your mark." in typed.say(
        "ready", 3, now="11:10"
    )
    typed.say("mark", "3/skin-a", "kicked", "--at", "2026-05-02T11:04Z", now="11:10")
    said = typed.say("ready", 3, now="11:10")
    assert "It kicked at 11:04 today, 44 min after mixing, by your mark." in said
    assert "Look, and mark it" not in said
    typed.say("mark", 3, "tab-dust", now="03T08:00")
    tested = typed.say("ready", 3, now="03T08:00")
    assert "■ sand: READY BY THE COUNT, since 04:54 today." in tested
    assert "Dust on the witness tab at 08:00 today" in tested
    assert "Bond line: CHEMICAL" in tested, "the part itself wasn't sanded"
    assert "mark-3" in typed.say("layup", "show", 3, now="03T08:00")


def test_own_cups_beside_the_sheets_minutes(typed: Typed) -> None:
    """Test cups are parts of their own; their minutes are said, and lengthen nothing."""
    asked = ("mix", "demo-laminating", "--resin-g", 100, "--temperature-c", 20)
    typed.hear("shed", series("A14"), "08:00")
    before = typed.say(*asked, now="08:00")
    assert "Your own" not in before
    for number, kicked in ((91, "08:31"), (92, "08:27")):
        typed.lay_up(f"{number}/other", "test cup", "demo-laminating", "shed", "08:00")
        typed.hear("shed", series("A14"), "08:40")
        typed.say("mark", number, "cup-kicked", "--at", f"2026-05-02T{kicked}Z", now="08:40")
        told = typed.say(*asked, now="08:45")
        assert "In hand: 16 min from mixing at 20.0 °C" in told
        if number == 91:
            assert "Your own: the cup of 91/other kicked after 31 min at 20.0 °C, 1.5 %." in told
    assert "Your own 2 cups: kicked after 27 to 31 min at 20.0 °C." in told
    assert "That stands beside the sheet's minutes and never lengthens them." in told
    assert typed(*asked, "--json", now="08:45").json["minutes"]["own"] == [27.0, 31.0]


def test_an_own_cup_that_was_quicker_is_to_be_heeded(typed: Typed) -> None:
    """Kicked after 12 minutes where the sheet gives 16 in hand: 12 is said."""
    typed.hear("shed", series("A14"), "08:00")
    typed.lay_up("91/other", "test cup", "demo-laminating", "shed", "08:00")
    typed.hear("shed", series("A14"), "08:20")
    typed.say("mark", 91, "cup-kicked", "--at", "2026-05-02T08:12Z", now="08:20")
    asked = ("mix", "demo-laminating", "--resin-g", 100, "--temperature-c")
    assert "One was quicker than the sheet's minutes: have it on in 12 min." in typed.say(
        *asked, 20, now="08:20"
    )
    assert "Your own" not in typed.say(*asked, 26, now="08:20"), "that says nothing of a hot day"
