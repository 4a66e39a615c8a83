"""Sources without a port: a recording played again, and a made-up sensor."""

import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from monitor.errors import BadInput
from monitor.records import Reading
from monitor.sensing.replay import ReplaySource, recorded_line, recording
from monitor.sensing.simulated import (
    SimulatedPort,
    SimulatedSensor,
    SimulatedSource,
    Weather,
    made_up_day,
)
from monitor.sensing.sources import Source

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def test_a_recording_is_played_at_its_own_times() -> None:
    """Refused lines are heard too, and counted."""
    lines = [(AT, "21.4,56.0"), (AT + MINUTE, "what?"), (AT + 2 * MINUTE, "21.5,56.0")]
    source: Source = ReplaySource("shed", lines, format="delimited")
    readings: list[Reading] = []
    reasons: list[str | None] = []
    source.run(readings.append, lambda heard: reasons.append(heard.reason))
    assert [(r.at, r.temperature_c) for r in readings] == [(AT, 21.4), (AT + 2 * MINUTE, 21.5)]
    assert reasons == [None, "not-understood", None]
    assert (source.status.lines, source.status.readings) == (3, 2)
    assert dict(source.status.rejects) == {"not-understood": 1}


def test_readings_are_played_as_they_stand() -> None:
    """Flags and all: they were judged before."""
    reading = Reading(AT, 85.0, 56.0)
    played: list[Reading] = []
    ReplaySource("shed", [reading]).run(played.append)
    assert played == [reading]


def test_a_recording_written_reads_back(tmp_path: Path) -> None:
    """Time, a blank, the line as it came."""
    entries = [(AT, "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR*44"), (AT + MINUTE, "21.4\t56.0 odd °")]
    path = tmp_path / "day.txt"
    path.write_text("".join(recorded_line(*entry) for entry in entries) + "\n", encoding="utf-8")
    assert list(recording(path)) == entries


@pytest.mark.parametrize("text", ["soon 21.4,56.0\n", "2026-05-02T09:00:00 21.4,56.0\n"])
def test_a_recording_without_times_says_where(tmp_path: Path, text: str) -> None:
    """A time needs its offset."""
    path = tmp_path / "day.txt"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=r"day\.txt, line 1"):
        list(recording(path))


def test_a_recording_that_is_not_there_says_so(tmp_path: Path) -> None:
    """Like any file the person named."""
    with pytest.raises(BadInput, match=r"none\.txt can't be read"):
        list(recording(tmp_path / "none.txt"))


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan")])
def test_a_replay_needs_a_speed(speed: float) -> None:
    """Standing still is not one."""
    with pytest.raises(BadInput, match="can't run at"):
        ReplaySource("shed", [], speed=speed)


def test_a_replay_at_lifes_own_pace_can_be_stopped() -> None:
    """In the middle of its wait for the next line."""
    source = ReplaySource("shed", [(AT, "21.4,56"), (AT + 24 * 60 * MINUTE, "21.5,56")], speed=1.0)
    thread = threading.Thread(target=source.run, args=(lambda reading: None,))
    thread.start()
    source.stop()
    thread.join(20)
    assert not thread.is_alive()


def test_a_made_up_day_gives_undoubted_readings_in_its_own_step() -> None:
    """A whole day a minute apart, no wait, nothing flagged."""
    source = SimulatedSource(
        "demo", SimulatedSensor(), start=AT, step=MINUTE, count=24 * 60, speed=None
    )
    readings: list[Reading] = []
    source.run(readings.append)
    assert [reading.at for reading in readings] == [AT + n * MINUTE for n in range(24 * 60)]
    assert not any(reading.flags for reading in readings)
    temperatures = [r.temperature_c for r in readings if r.temperature_c is not None]
    assert 11.0 < min(temperatures) < 13.0 < 21.0 < max(temperatures) < 23.0


def test_a_sensor_says_the_weather_it_is_given() -> None:
    """To a tenth, with the part where there is a probe."""
    sensor = SimulatedSensor(lambda at: Weather(18.4, 65.2, 16.9))
    assert sensor.sentence(AT) == "$WIXDR,C,18.4,C,AIR,H,65.2,P,AIR,C,16.9,C,PART*43"
    assert made_up_day(AT).surface_c is None


def test_a_simulated_port_loses_what_nobody_reads_and_never_waits() -> None:
    """As a wire does."""
    with SimulatedPort() as port:
        sent = [port.send(b"U" * 1000) for _ in range(100)]
        assert sent[0] == 1000
        assert sent[-1] == 0
    port.unplug()
