"""Whether the host's own clock was set while it ran."""

from datetime import datetime, timedelta

SET = timedelta(minutes=2)
"""A clock that is kept right by small steps stays under this."""


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
