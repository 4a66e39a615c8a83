"""Logging work: parts, batches, stays, marks, corrections, and asking about them."""

from pathlib import Path

import pytest

from monitor.csvfile import write_readings
from tests.cli.conftest import Layupwatch
from tests.scenarios import series


def test_ready_says_when_and_what_to_do(rudder: Layupwatch) -> None:
    """The headline: ready since 04:54, and the test to do first."""
    said = rudder("ready", "3")
    assert said.code == 0
    lines = said.out.splitlines()
    assert lines[0] == "Part 3: rudder. reading less than a minute old · shed, beside the part."
    assert "■ sand: READY BY THE COUNT, since 04:54 today." in lines
    assert "Do first: thumbnail on the witness tab, then 10 cm of 80 grit: dust, not gum." in lines
    assert "Count 294 (273 to 316) degree-hours from 1301 readings" in said.out
    assert "Your sheet doesn't say: sealed, load." in said.out


def test_ready_as_json(rudder: Layupwatch) -> None:
    """The layup, its batches each with the whole object, and the joint."""
    answer = rudder("ready", "3", "--json").json
    assert (answer["layup"], answer["what"]) == (3, "rudder")
    (batch,) = answer["batches"]
    assert batch["batch"] == "3/skin-a"
    assert batch["count"]["middle"] == pytest.approx(294.333, abs=0.2)
    sand = next(s for s in answer["joint"]["stages"] if s["stage"] == "sand")
    assert (sand["verdict"], sand["slowest"]) == ("ready", "3/skin-a")


def test_ready_exit_codes(rudder: Layupwatch) -> None:
    """Ready for one stage, not for another."""
    assert rudder("ready", "3", "sand", "--exit-code").code == 0
    assert rudder("ready", "3/skin-a", "full", "--exit-code").code == 1
    assert rudder("ready", "3", "full").code == 0
    assert rudder("ready", "3", "polish").code == 2


def test_a_second_stay_is_a_move(rudder: Layupwatch, tmp_path: Path) -> None:
    """The first stay ends where the second begins; the old open end is kept."""
    path = tmp_path / "boat.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A9Q"), out)
    rudder("import", path, "--sensor", "boat", now="2026-05-04T14:00:00Z")
    assert rudder("stay", "3", "boat", "--from", "-2h").code == 0
    shown = rudder("layup", "show", 3, "--json").json
    first, second = shown["stays"]
    assert first["to"] == second["from"] == "2026-05-03T06:00:00Z"
    assert shown["corrections"][0]["field"] == "until"


def test_marks_and_their_times(rudder: Layupwatch) -> None:
    """A mark is dated as it was seen: 25 minutes ago, or a clock time of today."""
    assert "kicked at 07:35 today" in rudder("mark", "3/skin-a", "kicked", "--at", "-25m").out
    assert "sanded-dust at 07:50 today" in rudder("mark", "3", "sanded-dust", "--at", "07:50").out
    said = rudder("ready", "3")
    assert "props and clamps off: NOT YET" in said.out, "sanding lies behind it"


def test_a_correction_keeps_the_old_value(rudder: Layupwatch) -> None:
    """A wrong mixing time put right counts everything anew."""
    before = rudder("ready", "3", "--json").json["batches"][0]["count"]["middle"]
    said = rudder("correct", "batch-1", "mixed_at", "2026-05-02T12:20:00Z")
    assert said.code == 0
    assert "2026-05-02T10:20:00" in said.out
    after = rudder("ready", "3", "--json").json["batches"][0]["count"]["middle"]
    assert before - after == pytest.approx(2 * 14.8, abs=1.0)
    kept = rudder("layup", "show", 3, "--json").json["corrections"]
    assert kept[0]["field"] == "mixed_at"


@pytest.mark.parametrize(
    ("entry", "field", "value"),
    [
        ("layup-1", "number", "0"),
        ("layup-1", "number", "-3"),
        ("layup-1", "number", "9" * 30),
        ("stay-1", "batch_id", "9" * 30),
        ("stay-1", "sensor_id", "-9223372036854775809"),
        ("batch-1", "resin_g", "nan"),
        ("batch-1", "resin_g", "inf"),
        ("batch-1", "catalyst_g", "-3"),
        ("batch-1", "scale_step_g", "1e300"),
        ("batch-1", "give_or_take", "-10m"),
        ("batch-1", "give_or_take", "99999999999999h"),
        ("batch-1", "mixed_at", "-99999999999h"),
    ],
)
def test_a_correction_is_held_to_what_an_entry_is(
    rudder: Layupwatch, entry: str, field: str, value: str
) -> None:
    """What could not have been logged in the first place is refused, and nothing is changed."""
    before = rudder("layup", "show", 3, "--json").json
    said = rudder("correct", entry, field, "--", value)
    assert said.code == 2
    assert all(said.two_lines)
    assert rudder("layup", "show", 3, "--json").json == before


def test_a_ready_that_was_wrong_is_withdrawn(rudder: Layupwatch) -> None:
    """Mixed six hours later than logged: sand was ready, and is taken back in words."""
    said = rudder("correct", "batch-1", "mixed_at", "2026-05-02T16:20:00Z")
    assert (
        "Withdrawn: 3/skin-a, sand was READY BY THE COUNT; it is NOT YET." in said.out.splitlines()
    )
    harmless = rudder("correct", "batch-1", "cup", "4")
    assert "Withdrawn" not in harmless.out


def test_a_move_logged_late_withdraws_too(rudder: Layupwatch, tmp_path: Path) -> None:
    """Carried to the cold boat at 17:00, told next morning: sand is not ready after all."""
    path = tmp_path / "boat.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A9Q"), out)
    rudder("import", path, "--sensor", "boat", now="2026-05-04T14:00:00Z")
    said = rudder("stay", "3", "boat", "--from", "2026-05-02T17:20:00Z")
    assert "Withdrawn: 3/skin-a, sand was READY BY THE COUNT; it is NOT YET." in said.out


def test_a_bad_mix_overrules_every_count(rudder: Layupwatch) -> None:
    """Catalyst under the sheet's range: every stage won't cure right, however warm it was."""
    said = rudder("correct", "batch-1", "catalyst_g", "1.2")
    assert said.code == 0
    stages = rudder("ready", "3", "--json").json["batches"][0]["stages"]
    assert {stage["verdict"] for stage in stages} == {"wont-cure"}
    assert "Against it: Catalyst 0.60 % is under" in rudder("ready", "3").out


def test_an_epoxy_takes_hardener(layupwatch: Layupwatch) -> None:
    """Never one word for both: catalyst for an epoxy is refused, a short ratio is told at once."""
    layupwatch("layup", "add", 6, "stretcher board", "--sheet", "demo-epoxy")
    wrong = layupwatch("batch", "add", "6/skin-a", "--resin-g", 250, "--catalyst-g", 80)
    assert wrong.code == 2
    assert "Give --hardener-g instead." in wrong.two_lines[1]
    short = layupwatch("batch", "add", "6/skin-a", "--resin-g", 250, "--hardener-g", 80)
    assert "Hardener is 20.0 % short of the sheet's ratio; its limit is 3 %." in short.out
    assert "Don't use it" in short.out


def test_everything_logged_is_shown_with_its_name(rudder: Layupwatch) -> None:
    """`layup show` names each entry as `correct` takes it."""
    rudder("mark", "3", "note", "--note", "two plies at the tip")
    out = rudder("layup", "show", 3).out
    for name in ("(layup-1)", "(batch-1)", "(stay-1)", "(mark-1)"):
        assert name in out
    assert "200 g + 3 g catalyst" in out
    assert "two plies at the tip" in out


def test_tins_and_cups_are_kept(rudder: Layupwatch) -> None:
    """Which tin it was, so that all parts made from it can be found; a wrong one put right."""
    rudder(
        *("batch", "add", "3/patch", "--resin-g", 50, "--catalyst-g", 0.75),
        *("--resin-tin", "R7", "--catalyst-tin", "K2", "--cup", "4"),
    )
    assert "resin tin R7, catalyst tin K2, cup 4" in rudder("layup", "show", 3).out
    assert rudder("correct", "batch-2", "resin_tin", "R8").code == 0
    patch = rudder("layup", "show", 3, "--json").json["batches"][1]
    assert (patch["resin_tin"], patch["catalyst_tin"], patch["cup"]) == ("R8", "K2", "4")


def test_a_joint_of_two_parts(rudder: Layupwatch) -> None:
    """A bond between two parts goes by the slower one."""
    rudder("layup", "add", 4, "rudder stock cover", "--sheet", "demo-laminating")
    rudder(
        *("batch", "add", "4/skin-a", "--resin-g", 200, "--catalyst-g", 3),
        *("--mixed-at", "2026-05-02T20:00:00Z"),
    )
    rudder("stay", "4", "shed", "--from", "2026-05-02T20:00:00Z")
    answer = rudder("ready", "3+4", "--json").json
    assert [part["layup"] for part in answer["layups"]] == [3, 4]
    sand = next(s for s in answer["joint"]["stages"] if s["stage"] == "sand")
    assert (sand["verdict"], sand["slowest"]) == ("not-yet", "4/skin-a")
    said = rudder("ready", "3/skin-a+4", "sand", "--exit-code")
    assert said.code == 1
    assert "The joint, by its slowest batch:" in said.out
    assert "sand: NOT YET, by 4/skin-a." in said.out


def test_ending_a_part(rudder: Layupwatch) -> None:
    """Ended parts leave the list, and stay in the record."""
    assert rudder("layup", "end", 3).code == 0
    assert "No part is open." in rudder("layup", "list").out
    assert "rudder, ended" in rudder("layup", "list", "--all").out
    assert rudder("batch", "add", "3/skin-b").code == 2
