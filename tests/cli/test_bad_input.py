"""Bad input gets two lines, what is wrong and what to do, an exit code, and nothing stored."""

from pathlib import Path

import pytest

from tests.cli.conftest import Layupwatch


def test_a_port_that_is_not_there(layupwatch: Layupwatch) -> None:
    """The environment is at fault: exit code 3."""
    said = layupwatch("listen", "/dev/ttyNOWHERE")
    assert said.code == 3
    assert said.two_lines == (
        "There is no port /dev/ttyNOWHERE.",
        "Plug the sensor in; `layupwatch ports` shows what is there.",
    )


def test_a_sheet_with_three_errors(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """All three at once, each with its key, its value and what to do."""
    path = tmp_path / "wrong.toml"
    path.write_text(
        'name = "wrong"\nkind = "polyster"\n[count]\nbase_c = 5\nfloor_c = 42\ncap_c = 40\n'
        "[mix]\ncatalyst_pct = [2.0, 1.0]\n",
        encoding="utf-8",
    )
    said = layupwatch("sheet", "check", path)
    assert said.code == 2
    what, remedy = said.two_lines
    assert "3 things to put right" in what
    for key in ("kind", "count.floor_c", "mix.catalyst_pct"):
        assert f"{key}: " in remedy
    problems = layupwatch("sheet", "check", path, "--json")
    assert problems.code == 2
    assert len(problems.json["problems"]) == 3


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("time,humidity_pct\n2026-05-02T10:00:00Z,60\n", "no column temperature_c"),
        ("when,temperature_c\n2026-05-02T10:00:00Z,20\n", "no column time"),
        ("time,temperature_c\n2026-05-02T10:00:00Z,warm\n", "line 2: 'warm'"),
        ("time,temperature_c\nyesterday,20\n", "line 2: 'yesterday'"),
        ("time,temperature_c\n", "holds no readings"),
        ("", "is not a readings file"),
    ],
)
def test_a_file_that_is_no_readings_file(
    layupwatch: Layupwatch, tmp_path: Path, text: str, what: str
) -> None:
    """Named by line where there is one, and neither sensor nor reading is stored."""
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    said = layupwatch("import", path, "--sensor", "shed")
    assert said.code == 2
    assert what in said.two_lines[0]
    assert layupwatch("sensor", "list", "--json").json == []


def test_a_time_in_the_future(layupwatch: Layupwatch) -> None:
    """Nothing was mixed tomorrow; the batch is not stored."""
    layupwatch("layup", "add", 3, "hatch lid", "--sheet", "demo-laminating")
    said = layupwatch("batch", "add", "3/skin-a", "--mixed-at", "2026-05-04T10:00:00Z")
    assert said.code == 2
    assert said.two_lines[0].startswith("2026-05-04 10:00 UTC is still to come")
    assert layupwatch("layup", "show", 3, "--json").json["batches"] == []


def test_a_sensor_that_never_spoke(layupwatch: Layupwatch) -> None:
    """A part can't stand beside a sensor that has never given a reading."""
    layupwatch("layup", "add", 3, "hatch lid", "--sheet", "demo-laminating")
    layupwatch("sensor", "add", "shed", "/dev/ttyUSB0")
    said = layupwatch("stay", "3", "shed")
    assert said.code == 2
    assert said.two_lines[0] == "Sensor shed has never given a reading."
    assert "listen /dev/ttyUSB0" in said.two_lines[1]
    assert layupwatch("layup", "show", 3, "--json").json["stays"] == []


@pytest.mark.parametrize(
    "asked",
    [
        ("ready", "9"),
        ("ready", "three"),
        ("ready", "3/keel"),
        ("layup", "add", "3", "lid", "--sheet", "no-such-sheet"),
        ("layup", "add", "3", "", "--sheet", "demo-laminating"),
        ("stay", "3", "nowhere"),
        ("mark", "3", "danced"),
        ("correct", "cup-7", "mixed_at", "10:15"),
        ("batch", "add", "3/skin-a", "--resin-g", "200"),
        ("batch", "add", "3/skin-a", "--mixed-at", "25:61"),
        ("sensor", "add", "shed", "/dev/ttyUSB0", "--format", "smoke-signals"),
        ("export", "readings"),
        ("no-such-command",),
        ("ready",),
    ],
)
def test_every_refusal_is_two_lines(layupwatch: Layupwatch, asked: tuple[str, ...]) -> None:
    """Whatever is wrong with the words, two lines and exit code 2."""
    said = layupwatch(*asked)
    assert said.code == 2
    assert all(line.strip() for line in said.two_lines)


def test_a_demo_sheet_does_not_judge_real_work(
    layupwatch: Layupwatch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a shop that is no demo the shipped sheets are to look at only."""
    monkeypatch.setenv("LAYUPWATCH_SHOP", str(tmp_path / "real"))
    said = layupwatch("layup", "add", 1, "lid", "--sheet", "demo-laminating")
    assert said.code == 2
    assert "demo sheet" in said.two_lines[0]
    assert layupwatch("layup", "list", "--json").json == []


def test_a_shop_that_is_not_there(
    layupwatch: Layupwatch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reading doesn't make a shop; it says how one is started."""
    monkeypatch.setenv("LAYUPWATCH_SHOP", str(tmp_path / "nowhere"))
    said = layupwatch("ready", "3")
    assert said.code == 2
    assert "layupwatch run" in said.two_lines[1]
    assert not (tmp_path / "nowhere").exists()
