"""A board that sends times of its own, from a clock that is wrong.

Readings are filed by when they arrived, so nothing is flagged; the line keeps the board's time.
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from monitor.records import SuspectKind, Suspicion
from monitor.sensing.recent import Recent

OFF = timedelta(days=1)
"""Less may be the board's zone, which it doesn't say."""
_STAMP = re.compile(r"(?<!\d)\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?")


def own_time(line: str) -> datetime | None:
    """The time that a line itself states, taken as UTC."""
    found = _STAMP.search(line)
    if found is None:
        return None
    try:
        return datetime.fromisoformat(found[0]).replace(tzinfo=UTC)
    except ValueError:
        return None


def find(recent: Recent) -> Iterator[Suspicion]:
    """A stamp more than a day off, as long as the newest line has one."""
    told = own_time(recent.last_line)
    if told is not None and recent.last_at is not None and abs(told - recent.last_at) > OFF:
        midnight = recent.last_at.replace(hour=0, minute=0, second=0, microsecond=0)
        yield Suspicion(SuspectKind.BOARD_CLOCK, midnight, None)
