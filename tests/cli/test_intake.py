"""A borrowed logger's file: its clock, its original, and what a second time does."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from monitor.csvfile import write_readings
from tests.cli.conftest import Layupwatch, Said
from tests.scenarios import from_unix, near, series, story

NOW = "2026-05-02T16:00:00Z"
JOB = story("A6")
SLOW = timedelta(minutes=JOB["expected"]["clock_off_minutes"])


def logger_file(path: Path) -> Path:
    """A6's readings as a logger writes them whose clock is an hour slow."""
    readings = series("A6")
    lines = ["Logger;A", "", "Date;Time;Temp °C;RH %"]
    for time_s, air_c in zip(readings.time_s, readings.temperature_c, strict=True):
        when = from_unix(time_s) - SLOW
        lines.append(f"{when:%Y-%m-%d;%H:%M};{air_c:.2f};55,0".replace(".", ","))
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.fixture
def slow(tmp_path: Path) -> Path:
    return logger_file(tmp_path / "borrowed.csv")


def took(layupwatch: Layupwatch, path: Path, *more: str, now: str = NOW) -> Said:
    return layupwatch("import", path, "--sensor", "borrowed", *more, now=now)


def live(layupwatch: Layupwatch, tmp_path: Path) -> None:
    path = tmp_path / "live.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A6"), out)
    assert layupwatch("import", path, "--sensor", "shed", now=NOW).code == 0


def knife_shut(layupwatch: Layupwatch) -> dict[str, str | None]:
    for command in (
        ("layup", "add", "1", "rudder", "--sheet", "demo-laminating"),
        ("batch", "add", "1/skin-a", "--resin-g", "200", "--catalyst-g", "3", "--mixed-at"),
        ("stay", "1", "borrowed", "--from", JOB["mixed_at"]),
    ):
        more = (JOB["mixed_at"],) if command[0] == "batch" else ()
        assert layupwatch(*command, *more, now=NOW).code == 0
    (batch,) = layupwatch("ready", "1", "--json", now=NOW).json["batches"]
    return next(s for s in batch["stages"] if s["stage"] == "knife_trim")["shuts"]


def test_a_slow_clock_is_seen_beside_a_live_sensor(
    layupwatch: Layupwatch, tmp_path: Path, slow: Path
) -> None:
    """Refused with the length it is off by; nothing is stored of it."""
    live(layupwatch, tmp_path)
    what, remedy = took(layupwatch, slow).two_lines
    assert "looks 1 h slow beside shed" in what
    assert "--clock-off 60m" in remedy
    assert "borrowed" not in layupwatch("sensor", "list", now=NOW).out


@pytest.mark.parametrize("told", [("--clock-off", "60m"), ("--clock-shows", "15:00")])
def test_its_clock_put_right(
    layupwatch: Layupwatch, tmp_path: Path, slow: Path, told: tuple[str, str]
) -> None:
    """The knife window had shut at 15:10, which at face value nobody saw."""
    live(layupwatch, tmp_path)
    said = took(layupwatch, slow, *told, "--json").json
    assert (said["clock_off_minutes"], said["last"]) == (60.0, NOW)
    shuts = knife_shut(layupwatch)
    for edge, expected in JOB["expected"]["knife_shuts"].items():
        moment = shuts[edge]
        assert moment is not None
        assert near(datetime.fromisoformat(moment), expected)


def test_the_file_is_kept_and_a_second_time_adds_nothing(
    layupwatch: Layupwatch, tmp_path: Path, slow: Path
) -> None:
    """Byte for byte, readable by its owner alone."""
    first = took(layupwatch, slow, "--clock-off", "60m", "--json").json
    again = took(layupwatch, slow, "--clock-off", "60m", "--json").json
    assert (first["kept"], first["passed_over"]) == (421, 1)
    assert (again["kept"], again["left_out"]) == (0, 421)
    (kept,) = (tmp_path / "shop" / "imports").iterdir()
    assert kept.read_bytes() == slow.read_bytes()
    assert kept.stat().st_mode & 0o777 == 0o600


def test_the_same_file_by_another_clock_is_refused(layupwatch: Layupwatch, slow: Path) -> None:
    """Its readings would stand there twice."""
    took(layupwatch, slow, "--clock-off", "60m")
    what, _ = took(layupwatch, slow, "--clock-off", "30m").two_lines
    assert "by another clock" in what


def test_two_ways_to_say_it(layupwatch: Layupwatch, slow: Path) -> None:
    """One of them."""
    what, _ = took(layupwatch, slow, "--clock-off", "60m", "--clock-shows", "15:00").two_lines
    assert "same thing" in what


def test_a_file_that_ends_in_the_future(layupwatch: Layupwatch, slow: Path) -> None:
    """Never taken for real."""
    what, _ = took(layupwatch, slow, now="2026-05-02T14:00:00Z").two_lines
    assert "ends in the future" in what


def test_a_sunned_day_from_a_file_is_doubted(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """Told at once, asked in the list, and answered."""
    path = tmp_path / "sun.csv"
    with path.open("w", encoding="utf-8") as out:
        write_readings(series("A5read"), out)
    late = "2026-05-03T10:00:00Z"
    said = layupwatch("import", path, "--sensor", "shed", "--json", now=late).json
    (doubt,) = said["doubts"]
    assert doubt == {
        "doubt": "sunned",
        "since": "2026-05-02T10:40:00Z",
        "until": "2026-05-02T14:00:00Z",
    }
    flagged = layupwatch("export", "readings", "--csv", now=late).out.count("sunned")
    assert flagged == 2 * 199
    assert layupwatch("sensor", "answer", "shed", "no", now=late).code == 0
    assert "sunned" not in layupwatch("export", "readings", "--csv", now=late).out


def test_an_open_doubt_stands_in_the_list(layupwatch: Layupwatch, tmp_path: Path) -> None:
    """With what to do; and nothing to answer where nothing is doubted."""
    path = tmp_path / "sun.csv"
    readings = series("A5read")
    noon = "2026-05-02T12:00:00Z"
    with path.open("w", encoding="utf-8") as out:
        write_readings(readings.between(0.0, datetime.fromisoformat(noon).timestamp()), out)
    layupwatch("import", path, "--sensor", "shed", now=noon)
    listed = layupwatch("sensor", "list", now=noon).out
    assert "in the sun" in listed
    assert "sensor answer shed no" in listed
    assert layupwatch("sensor", "answer", "shed", "yes", "--json", now=noon).json["until"] is None
    assert "in the sun" not in layupwatch("sensor", "list", now=noon).out
