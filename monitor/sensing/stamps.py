"""When a line arrived."""

from collections.abc import Callable
from datetime import datetime, timedelta

Clock = Callable[[], datetime]

STEP = timedelta(microseconds=1)
JITTER = timedelta(seconds=1)


class Stamps:
    """The clock's time, made strictly increasing.

    Lines of one block share one look at the clock and are set a microsecond apart. A clock set
    back by more than a second is followed: it was wrong before.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._last: datetime | None = None

    def block(self) -> datetime:
        """The time of the block that just arrived; its first line's stamp."""
        now = self._clock()
        if self._last is not None and now <= self._last and self._last - now < JITTER:
            now = self._last + STEP
        self._last = now
        return now

    def line(self) -> datetime:
        """The stamp of the next line of the same block."""
        if self._last is None:
            return self.block()
        stamp, self._last = self._last, self._last + STEP
        return stamp
