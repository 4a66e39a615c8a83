"""The short form of the soak run: pulled and plugged in again, on a real pseudo-terminal."""

from tests.soak.replug import replug


def test_a_sensor_pulled_again_and_again_is_heard_each_time_and_nothing_twice() -> None:
    """Three readings in each of six cycles, in order, each its own."""
    waits, readings, _ = replug(6)
    assert len(waits) == 6
    seen = [(reading.temperature_c, reading.humidity_pct) for reading in readings]
    assert len(set(seen)) == len(seen) == 18
    assert [temperature for temperature, _ in seen] == [n / 10 for n in range(6) for _ in range(3)]
    assert [reading.at for reading in readings] == sorted(reading.at for reading in readings)


def test_one_that_was_away_for_long_is_waited_for() -> None:
    """Longer than the longest rest between two tries to open it."""
    waits, readings, _ = replug(2, away_s=2.5)
    assert (len(waits), len(readings)) == (2, 6)
