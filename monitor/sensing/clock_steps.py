"""Whether the host's own clock was set while it ran, and what it had stamped by then."""

from array import array
from collections.abc import Iterable
from datetime import datetime, timedelta

SET = timedelta(minutes=2)
"""A clock that is kept right by small steps stays under this."""

REMEMBERED = 200_000
"""Of one sensor, at least: at a reading every ten seconds three weeks, in 8 bytes each."""


class Stamped:
    """When one sensor's readings were stamped in this run, the latest of them, in microseconds."""

    def __init__(self) -> None:
        self.times_us = array("q")

    def add(self, times_us: Iterable[int]) -> None:
        self.times_us.extend(times_us)
        if len(self.times_us) > REMEMBERED + REMEMBERED // 4:
            del self.times_us[:-REMEMBERED]

    def move(self, shift_us: int) -> None:
        self.times_us = array("q", (time_us + shift_us for time_us in self.times_us))


class ClockWatch:
    """Holds the wall clock against one that only ever runs on, also while the host sleeps."""

    def __init__(self) -> None:
        self._last: tuple[datetime, float] | None = None

    def step(self, wall: datetime, steady_s: float) -> timedelta | None:
        """By how much the wall clock was set since the last call; None where it just ran."""
        last, self._last = self._last, (wall, steady_s)
        if last is None:
            return None
        moved = wall - last[0] - timedelta(seconds=steady_s - last[1])
        return moved if abs(moved) > SET else None
