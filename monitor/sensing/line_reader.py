"""From a line to a reading: its format, its unit, its plausibility. No port, no clock."""

from collections import Counter, deque
from dataclasses import dataclass
from datetime import datetime

from monitor.records import Reading
from monitor.sensing.formats import (
    FORMATS,
    LOOKED_AT,
    Recognised,
    format_named,
    parsed,
    reads,
    recognise,
)
from monitor.sensing.measured import DamagedLine, LineFormat, Measured, OthersLine
from monitor.sensing.plausibility import Plausibility
from monitor.units import Unit, c_from_f
from monitor.wires import Columns

NOT_UNDERSTOOD = "not-understood"
MAY_BE_CUT = "may-be-cut"


@dataclass(frozen=True, slots=True)
class Heard:
    """One line and how it was read: a reading, or the reason why not.

    `harmless`: a whole line about something else, which nobody need look after.
    """

    at: datetime
    line: str
    reading: Reading | None
    reason: str | None = None
    harmless: bool = False

    def said(self) -> str:
        """`air 18.4 °C, humidity 65.2 %` with its doubts, or `refused: checksum`."""
        if self.reading is not None:
            return said(self.reading)
        return f"{'passed over' if self.harmless else 'refused'}: {self.reason}"


class LineReader:
    """Reads one sensor's lines. Every line comes back exactly once, as a Heard.

    `unit`: what the person said it speaks; a unit that the line itself states goes before it.
    `format`: None to find out. While that is open, a line that some format could read waits for
    the next, so nothing is lost; a format found by itself is looked for anew after ten lines in
    a row that it can't read. `columns`: which value is which, where the person told it.
    """

    def __init__(
        self,
        *,
        unit: Unit | None = None,
        format: str | None = None,
        columns: Columns | None = None,
    ) -> None:
        self.rejects: Counter[str] = Counter()
        self.recognised: Recognised | None = None
        self._unit, self._columns = unit, columns
        told = columns is not None and None not in (columns.temperature, columns.humidity)
        self._plausibility = Plausibility(unit, upright=told)
        self._format: LineFormat | None = format_named(format) if format else None
        self._told = format is not None
        self.unit_stated: Unit | None = None
        self._window: deque[str] = deque(maxlen=LOOKED_AT)
        self._waiting: deque[tuple[datetime, str]] = deque()
        self._misses = 0

    @property
    def format_name(self) -> str | None:
        return self._format.name if self._format else None

    def read(self, line: str, at: datetime) -> list[Heard]:
        """What came of this line, and of lines that waited for it."""
        if self._format is None:
            return self._look(line, at)
        heard = self._judge(self._format, line, at)
        self._misses = 0 if heard.reason != NOT_UNDERSTOOD else self._misses + 1
        if self._misses >= LOOKED_AT and not self._told:
            self._format, self._misses = None, 0
            self._window.clear()
        return [heard]

    def restarted(self, line: str, at: datetime) -> list[Heard]:
        """The first line after a port was opened in mid-stream: its front may be missing.

        `1.4,56.0` is a likely reading and a wrong one, so only a format whose lines prove
        themselves is trusted with it.
        """
        forms = FORMATS if self._format is None else (self._format,)
        form = next((form for form in forms if reads(form, line, self._columns)), None)
        if form is None or form.proves_itself:
            return self.read(line, at)
        return [self._refused(at, line, MAY_BE_CUT)]

    def _look(self, line: str, at: datetime) -> list[Heard]:
        self._window.append(line)
        self._waiting.append((at, line))
        self.recognised = recognise(tuple(self._window), self._columns)
        if self.recognised:
            self._format = format_named(self.recognised.name)
            waiting, self._waiting = self._waiting, deque()
            return [self._judge(self._format, text, when) for when, text in waiting]
        if not any(reads(form, line, self._columns) for form in FORMATS):
            self._waiting.pop()
            return [self._unread(at, line)]
        if len(self._waiting) > LOOKED_AT:
            when, text = self._waiting.popleft()
            return [self._refused(when, text, NOT_UNDERSTOOD)]
        return []

    def _unread(self, at: datetime, line: str) -> Heard:
        for form in FORMATS:
            try:
                parsed(form, line, self._columns)
            except DamagedLine as damaged:
                return self._not_taken(at, line, damaged)
        return self._refused(at, line, NOT_UNDERSTOOD)

    def _judge(self, form: LineFormat, line: str, at: datetime) -> Heard:
        try:
            measured = parsed(form, line, self._columns)
        except DamagedLine as damaged:
            return self._not_taken(at, line, damaged)
        if measured is None:
            return self._refused(at, line, NOT_UNDERSTOOD)
        self.unit_stated = measured.unit or self.unit_stated
        reading = in_celsius(measured, measured.unit or self._unit, at, line)
        return Heard(at, line, self._plausibility.check(reading, measured.unit))

    def _not_taken(self, at: datetime, line: str, damaged: DamagedLine) -> Heard:
        if isinstance(damaged, OthersLine):
            return Heard(at, line, None, damaged.reason, harmless=True)
        return self._refused(at, line, damaged.reason)

    def _refused(self, at: datetime, line: str, reason: str) -> Heard:
        self.rejects[reason] += 1
        return Heard(at, line, None, reason)


def in_celsius(measured: Measured, unit: Unit | None, at: datetime, line: str) -> Reading:
    """The values as a reading; without a unit they are taken as °C."""
    air, surface = measured.temperature, measured.surface
    if unit == "f":
        air = None if air is None else c_from_f(air)
        surface = None if surface is None else c_from_f(surface)
    return Reading(at, air, measured.humidity_pct, surface, raw=line)


def said(reading: Reading) -> str:
    """The reading in words, with its doubts."""
    values = (
        ("air", reading.temperature_c, "°C"),
        ("humidity", reading.humidity_pct, "%"),
        ("surface", reading.surface_c, "°C"),
    )
    parts = [_value_said(*value) for value in values if value[1] is not None]
    text = ", ".join(parts)
    return f"{text} ({reading.flags.text()})" if reading.flags else text


def _value_said(name: str, value: float | None, unit: str) -> str:
    # nan is the only number that differs from itself.
    return f"{name} no value" if value is None or value != value else f"{name} {value:.1f} {unit}"
