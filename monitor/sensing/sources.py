"""What every source of readings offers: the serial one, the replayed and the simulated."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from monitor.records import Reading
from monitor.sensing.framing import Reject
from monitor.sensing.line_reader import Heard

Deliver = Callable[[Reading], None]
Hear = Callable[[Heard], None]
DeliverNamed = Callable[[str, Reading], None]
HearNamed = Callable[[str, Heard], None]


@dataclass(frozen=True, slots=True)
class SourceStatus:
    """How a source is doing, as of its last bytes. A whole new record each time."""

    name: str
    port: str
    connected_since: datetime | None = None
    identity: str | None = None
    baud: int | None = None
    format: str | None = None
    unit_stated: str | None = None
    """The unit that the sensor's own lines state, where they do."""
    last_line: str | None = None
    last_line_at: datetime | None = None
    lines: int = 0
    readings: int = 0
    rejects: tuple[tuple[str, int], ...] = ()
    """Refused lines by reason, most frequent first."""
    last_reject: Reject | None = None
    error: tuple[str, str] | None = None
    """What is wrong and what to do; None while it is well."""


class Source(Protocol):
    """`run` works in the caller's thread until the source ends or `stop` is called.

    `hear`, if given, gets every line with how it was read, the refused ones too.
    """

    name: str

    @property
    def status(self) -> SourceStatus: ...

    def run(self, deliver: Deliver, hear: Hear | None = None) -> None: ...

    def stop(self) -> None: ...


def nobody_hears(heard: Heard) -> None:
    """For a source whose refused lines nobody watches."""


class Feed(Protocol):
    """Several sensors over one wire: as a source, with the sensor's name before each reading."""

    name: str

    @property
    def statuses(self) -> tuple[SourceStatus, ...]: ...

    def run(self, deliver: DeliverNamed, hear: HearNamed | None = None) -> None: ...

    def stop(self) -> None: ...


def nobody_hears_names(sensor: str, heard: Heard) -> None:
    """As above."""
