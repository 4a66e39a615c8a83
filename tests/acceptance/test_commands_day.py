"""A part's day as people ask about it: sun, a slow clock, a move, a late knife, plain tack."""

from pathlib import Path

import numpy as np
import pytest

from monitor.records import Doubt, Flags, Readings
from tests.scenarios import at as instant
from tests.scenarios import columns, near, series, story
from tests.scenarios.terminal import Layupwatch
from tests.scenarios.typed import CUPS, Typed, moment

COUNT_TOLERANCE = 0.2


@pytest.fixture
def typed(layupwatch: Layupwatch, tmp_path: Path) -> Typed:
    return Typed(layupwatch, tmp_path)


def flagged(readings: Readings, flags: Flags, start: str, end: str) -> Readings:
    """The readings strictly between two times marked suspect, as a file's flags column has it."""
    start_s, end_s = instant(start).timestamp(), instant(end).timestamp()
    inside = (readings.time_s > start_s) & (readings.time_s < end_s)
    return columns(
        readings.time_s,
        readings.temperature_c,
        readings.humidity_pct,
        np.where(inside, flags.packed(), 0),
    )


def counts(typed: Typed, number: int, now: str) -> list[float]:
    (batch,) = typed("ready", number, "--json", now=now).json["batches"]
    return [batch["count"][edge] for edge in ("low", "middle", "high")]


def sunned(typed: Typed) -> Readings:
    """The rudder cheek's sensor lay in the sun from 10:40 to 14:00, and the file says so."""
    span = story("A5")["expected"]["suspect"]
    readings = flagged(series("A5read"), Flags(temperature=Doubt.SUNNED), *span)
    typed.hear("cheek", readings, "09:00")
    typed.lay_up("1/skin-a", "rudder cheek", "demo-laminating", "cheek", "09:00")
    return readings


def test_in_the_sun_nothing_is_ready(typed: Typed) -> None:
    """At 12:30, when the sensor as read would have it flipped: not yet, and why not."""
    readings = sunned(typed)
    typed.hear("cheek", readings, "12:30")
    said = typed.say("ready", 1, now="12:30").splitlines()
    assert "□ flip: NOT YET." in said
    assert (
        "Against it: no reading to trust since 10:40 today: the sensor reads as if in the sun. "
        "Shade it; is the part in the sun too?"
    ) in said


def test_after_the_sun_the_careful_edge_decides(typed: Typed) -> None:
    """21 to 83 where as read it would be 126; flip and sand at the careful edge only."""
    readings, expected = sunned(typed), story("A5")["expected"]
    typed.hear("cheek", readings, "14:00")
    (wanted,) = expected["count_at"].values()
    assert counts(typed, 1, "14:00") == pytest.approx(wanted, abs=COUNT_TOLERANCE)
    assert "◧ flip: TEST IT, since 13:33 today." in typed.say("ready", 1, now="14:00")
    typed.hear("cheek", readings, "03T06:00")
    assert "□ sand: NOT YET" in typed.say("ready", 1, "sand", now="23:25")
    assert "◧ sand: TEST IT, since 23:33 Sat." in typed.say("ready", 1, "sand", now="03T00:50")
    done = typed.say("ready", 1, "sand", now="03T06:00")
    assert "■ sand: READY BY THE COUNT, since 05:58 today." in done
    assert "Against it: 3 h 20 min not measured." in done
    assert "199 suspect ones left out" in done


def test_a_logger_an_hour_slow(typed: Typed) -> None:
    """Imported with its clock put right, the knife's window shut fifty minutes ago: no knife."""
    right = series("A6")
    slow = columns(right.time_s - 3600.0, right.temperature_c)
    said = typed.hear(
        "logger",
        slow.between(0, instant(moment("15:00")).timestamp()),
        "16:00",
        "--clock-off",
        "60m",
    )
    assert "09:00 today to 16:00 today." in said
    typed.say("layup", "add", 1, "skirt", "--sheet", "demo-laminating", now="16:00")
    cup = ("--mixed-at", "13:10", *CUPS["demo-laminating"])
    typed.say("batch", "add", "1/skin-a", *cup, now="16:00")
    typed.say("stay", 1, "logger", "--from", "12:00", now="16:00")
    ready = typed.say("ready", 1, "knife-trim", now="16:00")
    assert "✕ knife trim: SHUT, since about 15:10 today." in ready
    assert "Too late for a knife: shut about 15:10 today" in ready
    assert counts(typed, 1, "16:00")[1] == pytest.approx(53.8, abs=COUNT_TOLERANCE)


def test_at_the_files_own_time_it_would_be_open(typed: Typed) -> None:
    """The same file taken at face value: open "until 15:10", which is what the option is for."""
    right = series("A6")
    slow = columns(right.time_s - 3600.0, right.temperature_c)
    typed.hear("logger", slow, "15:00")
    typed.say("layup", "add", 1, "skirt", "--sheet", "demo-laminating", now="15:00")
    cup = ("--mixed-at", "13:10", *CUPS["demo-laminating"])
    typed.say("batch", "add", "1/skin-a", *cup, now="15:00")
    typed.say("stay", 1, "logger", "--from", "11:00", now="15:00")
    ready = typed.say("ready", 1, now="15:00")
    assert "Next to shut: knife trim is open until about 15:" in ready
    count = story("A6")["expected"]["at_face_value_middle_count"]
    assert counts(typed, 1, "15:00")[1] == pytest.approx(count, abs=COUNT_TOLERANCE)


def capped(typed: Typed, now: str) -> None:
    """The case cap begun in the shed; both sensors heard until then."""
    typed.hear("shed", series("A9S"), "08:30")
    typed.lay_up("4/skin-a", "centreboard case cap", "demo-laminating", "shed", "08:30")
    typed.hear("shed", series("A9S"), now)
    typed.hear("boat", series("A9Q"), now)


def carried(typed: Typed, now: str) -> str:
    """The move, as it is typed: arrived 17:20, and it had left at 17:00. Says what both said."""
    said = typed.say("stay", 4, "boat", "--from", "2026-05-02T17:20Z", now=now)
    return said + typed.say("correct", "stay-1", "until", "2026-05-02T17:00Z", now=now)


def test_moved_to_the_boat(typed: Typed) -> None:
    """Parked there since 22:00, with what warmth would do; sand only the next evening."""
    capped(typed, "19:00")
    carried(typed, "19:00")
    typed.hear("boat", series("A9Q"), "03T22:00")
    night = typed.say("ready", 4, now="03T00:00").splitlines()
    assert "■ flip: READY BY THE COUNT, since 13:26 Sat." in night
    assert (
        "Against it: parked since 22:00 Sat, below 10.0 °C: make it warmer, "
        "5 h 33 min at 22.5 °C bring it to sand."
    ) in night
    assert any("carried from one sensor to the next" in line for line in night)
    for iso, count in story("A9")["expected"]["count_at"].items():
        clock = iso.removeprefix("2026-05-").removesuffix(":00Z")
        assert counts(typed, 4, clock) == pytest.approx(count, abs=COUNT_TOLERANCE)
    assert "◧ sand: TEST IT, since 12:37 today." in typed.say("ready", 4, now="03T16:00")
    evening = typed.say("ready", 4, now="03T21:25")
    assert "■ sand: READY BY THE COUNT, since 21:23 today." in evening


def test_a_move_told_late_withdraws_the_ready(typed: Typed) -> None:
    """Left on the shed's sensor it is ready by breakfast; the move takes that back, in words."""
    capped(typed, "03T09:00")
    assert "■ sand: READY BY THE COUNT" in typed.say("ready", 4, now="03T09:00")
    said = carried(typed, "03T09:00")
    assert "Withdrawn: 4/skin-a, sand was READY BY THE COUNT; it is NOT YET." in said
    assert "□ sand: NOT YET" in typed.say("ready", 4, "sand", now="03T09:00")


def trimming(typed: Typed, now: str) -> str:
    """The skeg lid at 27 °C, asked about at that time."""
    typed.hear("shed", series("A13"), "12:00")
    typed.lay_up("9/skin-a", "skeg lid", "demo-laminating", "shed", "12:00")
    typed.hear("shed", series("A13"), now)
    return typed.say("ready", 9, now=now)


def test_the_knife_is_open(typed: Typed) -> None:
    """53 minutes in a heatwave: when it opens, then until when."""
    assert "recoat without sanding" in trimming(typed, "12:30")
    soon = typed.say("ready", 9, "knife-trim", now="12:30")
    assert "□ knife trim: NOT YET, after 12:52 today if it stays 27.0 °C." in soon
    typed.hear("shed", series("A13"), "12:52")
    said = typed.say("ready", 9, now="12:52")
    assert "Next to shut: knife trim is open until about 13:44 today if it stays 27.0 °C." in said
    cut = typed.say("ready", 9, "knife-trim", now="12:52")
    assert "■ knife trim: READY BY THE COUNT, since about 12:52 today." in cut
    assert "Do first: try a corner: it should cut like leather, not string." in cut


def test_back_too_late_for_the_knife(typed: Typed) -> None:
    """15:10: shut at 13:44, how to go on, and how long it had been open."""
    said = trimming(typed, "15:10")
    assert (
        "Too late for a knife: shut about 13:44 today, after 53 min. Back the edge with a batten, "
        "then saw or sand it: lifting a set fray pulls the skin off its core."
    ) in said
    assert counts(typed, 9, "15:10")[1] == pytest.approx(69.7, abs=COUNT_TOLERANCE)


def test_a_clean_trim_all_the_same_is_their_own(typed: Typed) -> None:
    """Marked clean at 15:10: said as theirs; no window moves, this one's nor the next part's."""
    trimming(typed, "15:10")
    before = typed("ready", 9, "--json", now="15:10").json["batches"][0]["stages"]
    typed.say("mark", "9/skin-a", "trimmed-clean", now="15:10")
    said = typed.say("ready", 9, now="15:10")
    assert "Trimmed clean at 15:10 today, 3 h 10 min after mixing, by your mark." in said
    assert "Too late for a knife" not in said
    assert typed("ready", 9, "--json", now="15:10").json["batches"][0]["stages"] == before
    typed.lay_up("11/skin-a", "another lid", "demo-laminating", "shed", "15:20")
    typed.hear("shed", series("A13"), "15:25")
    later = typed.say("ready", 11, now="15:25")
    assert "Once before: 9/skin-a (skeg lid)" in later
    assert "trimmed-clean after 3 h 10 min at 70." in later
    assert "knife trim: NOT YET" in later


def test_nothing_wrong_with_the_oar(typed: Typed) -> None:
    """26 h at 20 °C: hard by the count, nothing against it, and to be sanded before a coat."""
    typed.hear("shed", series("A14"), "08:00")
    typed.lay_up("10/skin-a", "oar tip", "demo-laminating", "shed", "08:00")
    typed.hear("shed", series("A14"), "03T10:00")
    for mark in ("sticky", "thumbnail-none"):
        typed.say("mark", 10, mark, now="03T10:00")
    said = typed.say("ready", 10, now="03T10:00")
    assert "■ sand: READY BY THE COUNT since 01:09 today." in said
    assert "✕ recoat without sanding: SHUT since 06:30 today." in said
    assert "Bond line: MECHANICAL, sand first. The window has shut." in said
    assert "Against it" not in said
    assert counts(typed, 10, "03T10:00")[1] == pytest.approx(390.0, abs=COUNT_TOLERANCE)
    (batch,) = typed("ready", 10, "--json", now="03T10:00").json["batches"]
    shuts = story("A14")["expected"]["recoat_shuts_early"]
    assert near(instant(batch["bond_line"]["until"]), shuts)


def test_humidity_stuck_wet(typed: Typed) -> None:
    """99.9 % all morning while it warms, and flagged: no dew is claimed, warmth still counts."""
    stuck = flagged(
        series("A17"),
        Flags(humidity=Doubt.STUCK_WET),
        "2026-05-02T05:00:00Z",
        "2026-05-02T13:00:00Z",
    )
    typed.hear("shed", stuck, "06:00")
    typed.lay_up("1/skin-a", "hatch lid", "demo-laminating", "shed", "06:00")
    typed.hear("shed", stuck, "12:00")
    said = typed.say("ready", 1, now="12:00").splitlines()
    assert said[1] == (
        "Surface: CAN'T TELL if it is wet: the humidity is suspect or not measured, so dew can't "
        "be told."
    )
    assert counts(typed, 1, "12:00")[1] == pytest.approx(66.0, abs=COUNT_TOLERANCE)
    assert "□ flip: NOT YET, after 13:05 today if it stays 20.0 °C." in said
    assert not any("dew)" in line for line in said)
