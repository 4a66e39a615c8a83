"""A recorded stream played again, at any speed."""

import threading
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from monitor.errors import BadInput
from monitor.records import Reading
from monitor.sensing.framing import Reject
from monitor.sensing.line_reader import Heard, LineReader
from monitor.sensing.sources import Deliver, Hear, SourceStatus, nobody_hears
from monitor.units import Unit

Recorded = tuple[datetime, str] | Reading


class ReplaySource:
    """Plays lines with the times they came at, or readings as they stand.

    `speed`: 1 as it was, 60 an hour a minute; None without any waiting.
    """

    def __init__(
        self,
        name: str,
        recorded: Iterable[Recorded],
        *,
        speed: float | None = None,
        unit: Unit | None = None,
        format: str | None = None,
    ) -> None:
        if speed is not None and not speed > 0:
            raise BadInput(f"A replay can't run at {speed} times.", "Give a speed over 0.")
        self.name = name
        self._recorded, self._speed = recorded, speed
        self._reader = LineReader(unit=unit, format=format)
        self._status = SourceStatus(name, "replay")
        self._stopping = threading.Event()

    @property
    def status(self) -> SourceStatus:
        return self._status

    def stop(self) -> None:
        """End `run` at once, from any thread."""
        self._stopping.set()

    def run(self, deliver: Deliver, hear: Hear | None = None) -> None:
        before: datetime | None = None
        for entry in self._recorded:
            at = entry.at if isinstance(entry, Reading) else entry[0]
            if self._stopped_while_waiting(before, at):
                return
            before = at
            for heard in self._heard(entry):
                self._note(heard)
                (hear or nobody_hears)(heard)
                if heard.reading is not None:
                    deliver(heard.reading)

    def _stopped_while_waiting(self, before: datetime | None, at: datetime) -> bool:
        if self._speed is None or before is None:
            return self._stopping.is_set()
        return self._stopping.wait(max(0.0, (at - before).total_seconds() / self._speed))

    def _heard(self, entry: Recorded) -> list[Heard]:
        if isinstance(entry, Reading):
            return [Heard(entry.at, entry.raw, entry)]
        at, line = entry
        return self._reader.read(line, at)

    def _note(self, heard: Heard) -> None:
        before = self._status
        refused = heard.reason is not None and not heard.harmless
        self._status = replace(
            before,
            connected_since=before.connected_since or heard.at,
            format=self._reader.format_name,
            unit_stated=self._reader.unit_stated,
            last_line=heard.line,
            last_line_at=heard.at,
            lines=before.lines + 1,
            readings=before.readings + (heard.reading is not None),
            rejects=tuple(self._reader.rejects.most_common()),
            last_reject=Reject(heard.reason or "", heard.line) if refused else before.last_reject,
        )


def recorded_line(at: datetime, line: str) -> str:
    """One line of a recording: the time in ISO 8601 with its offset, a blank, the line."""
    return f"{at.isoformat()} {line}\n"


def recording(path: Path) -> Iterator[tuple[datetime, str]]:
    """A recording's lines with their times, in the file's order. Raises BadInput."""
    try:
        with path.open(encoding="utf-8") as lines:
            for count, text in enumerate(lines, 1):
                if text.strip():
                    yield _entry(text.rstrip("\r\n"), f"{path.name}, line {count}")
    except (OSError, UnicodeDecodeError) as trouble:
        raise BadInput(
            f"{path.name} can't be read: {trouble}.", "Check the file's name and that it is text."
        ) from trouble


def _entry(text: str, where: str) -> tuple[datetime, str]:
    stamp, _, line = text.partition(" ")
    try:
        at = datetime.fromisoformat(stamp)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise BadInput(
            f"{where}: {stamp!r} is not a time with its offset.",
            "Begin each line as 2026-05-02T14:05:00Z, then a blank and what the sensor sent.",
        )
    return at, line
