"""Can I lay up this afternoon? The plan in words, as JSON, and with a heater."""

from pathlib import Path

import pytest

from monitor.csvfile import write_readings
from monitor.cure.plan import DAY_S
from tests.cli.conftest import Layupwatch
from tests.scenarios import at, columns, near, series, story

NOW = "2026-05-02T15:30:00Z"


@pytest.fixture
def yard(layupwatch: Layupwatch, tmp_path: Path) -> Layupwatch:
    """A day and a half of the cold yard for sensor `yard`, until 15:30."""
    today = series("A15")
    before = columns(today.time_s - DAY_S, today.temperature_c)
    early = before.between(0.0, float(today.time_s[0]) - 1.0)
    joined = columns(
        [*early.time_s, *today.time_s], [*early.temperature_c, *today.temperature_c]
    ).between(0.0, at(NOW).timestamp())
    path = tmp_path / "yard.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(joined, out)
    assert layupwatch("import", path, "--sensor", "yard", now=NOW).code == 0
    return layupwatch


def test_only_work_you_can_leave_soft(yard: Layupwatch) -> None:
    """Too late for flip today: said first, with both edges, and tomorrow's time."""
    said = yard("plan", "demo-laminating", "--stage", "flip", now=NOW)
    assert said.code == 0, said.err
    lines = said.out.splitlines()
    assert lines[0] == (
        "Only work you can leave soft: to reach flip before it is too cold (21:12 today) it had "
        "to be mixed before 11:43 today (12:53 today with luck)."
    )
    assert lines[1] == "Next time: mix before 11:43 Sun."
    assert lines[2].startswith(
        "Mixed now it gels about 16:34 today and is at about 44 (33 at the careful edge) of 75 by "
        "21:12 today, then parks"
    )
    assert lines[-1] == "A guess: tonight like last night."


def test_as_json(yard: Layupwatch) -> None:
    """The same times for scripts, with their basis."""
    answer = yard("plan", "demo-laminating", "--stage", "flip", "--json", now=NOW).json
    expected = story("A15")["expected"]
    today, tomorrow = answer["latest_mix"]
    assert near(at(today["careful"]), expected["latest_mix_for_flip"]["low_edge"])
    assert near(at(today["with_luck"]), expected["latest_mix_for_flip"]["middle"])
    assert near(at(tomorrow["careful"]), "2026-05-03T11:43:00Z")
    gel = expected["if_mixed_at"][NOW]["gel"]
    assert near(at(answer["mixed_now"]["gel_late"]), gel["late"])
    counts = answer["mixed_now"]["count_when_too_cold"]
    assert counts["careful"] == pytest.approx(33.3, abs=0.2)
    assert counts["middle"] == pytest.approx(44.4, abs=0.2)
    assert answer["basis"] == "A guess: tonight like last night."


def test_a_heater_with_its_cautions(yard: Layupwatch) -> None:
    """What if 21 °C are held all night: no cold stops it, and heat's cautions are said."""
    said = yard(
        *("plan", "demo-laminating", "--stage", "flip"),
        *("--heat", "21 from 18:00 to 12:00"),
        now=NOW,
    )
    assert "With a heater that holds 21.0 °C from 18:00 today to 12:00 Sun." in said.out
    assert "heater outside the tent" in said.out
    assert "flip after" in said.out


def test_a_stage_the_sheet_does_not_give(yard: Layupwatch) -> None:
    """A blank is never planned by."""
    said = yard("plan", "demo-laminating", "--stage", "load", now=NOW)
    assert said.code == 2
    assert "doesn't say when load comes" in said.two_lines[0]


def test_too_little_of_this_place(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """Under twelve hours of trace it says it can't."""
    path = tmp_path / "short.csv"
    readings = series("A15").between(0.0, at(NOW).timestamp())
    with path.open("w", encoding="utf-8") as out:
        write_readings(readings, out)
    layupwatch("import", path, "--sensor", "yard", now=NOW)
    said = layupwatch("plan", "demo-laminating", "--stage", "flip", now=NOW)
    assert said.code == 2
    assert "less than 12 hours" in said.two_lines[0]


def test_words_that_are_no_heat(yard: Layupwatch) -> None:
    """How it is written is said."""
    said = yard("plan", "demo-laminating", "--stage", "flip", "--heat", "warm", now=NOW)
    assert said.code == 2
    assert "21 from 18:00 to 22:00" in said.two_lines[1]
