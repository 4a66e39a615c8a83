"""What was doubted of a sensor, what a person said to it, and what it was held against."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from monitor.records.readings import Doubt, Flags
from monitor.records.words import Channel


class SuspectKind(StrEnum):
    SUNNED = "sunned"
    STUCK_WET = "stuck-wet"
    MOVED = "moved"
    SAME_STREAM = "same-stream"
    SCALED = "scaled"
    BOARD_CLOCK = "board-clock"
    CLOCK_SET = "clock-set"

    @property
    def flags(self) -> Flags:
        """What it puts on a reading; a question to the person puts nothing."""
        return _FLAGS.get(self, Flags())


_FLAGS = {
    SuspectKind.SUNNED: Flags(temperature=Doubt.SUNNED, humidity=Doubt.SUNNED),
    SuspectKind.STUCK_WET: Flags(humidity=Doubt.STUCK_WET),
    SuspectKind.SCALED: Flags(temperature=Doubt.SCALED, humidity=Doubt.SCALED),
    SuspectKind.SAME_STREAM: Flags(Doubt.SAME_STREAM, Doubt.SAME_STREAM, Doubt.SAME_STREAM),
}


class Reply(StrEnum):
    """What a person says to a doubt: it is so; it is over; it was as the sensor said."""

    YES = "yes"
    OVER = "over"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Suspicion:
    """A stretch that can't be as it reads. `since` is the last good reading before it, `until`
    the first good one after it (None: it lasts); the kind's flags go on what is between them.
    """

    kind: SuspectKind
    since: datetime
    until: datetime | None


@dataclass(frozen=True, slots=True)
class SuspectSpan:
    """A suspicion as it is kept, with the person's reply."""

    id: int
    sensor_id: int
    kind: SuspectKind
    since: datetime
    until: datetime | None
    found_at: datetime
    reply: Reply | None = None
    replied_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class SensorCheck:
    """A sensor held against something known: what it read, and what was true there.

    Humidity in a salt's jar has the two `_pct`, a temperature in ice the two `_c`, on `channel`.
    """

    id: int
    sensor_id: int
    standard: str
    channel: Channel
    checked_at: datetime
    temperature_c: float
    read_pct: float | None = None
    true_pct: float | None = None
    read_c: float | None = None
    true_c: float | None = None
