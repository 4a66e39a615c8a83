"""A shop worked as people type it: readings come as files, everything else as commands."""

from dataclasses import dataclass
from pathlib import Path

from monitor.csvfile import write_readings
from monitor.cure.plan import DAY_S
from monitor.records import Readings
from tests.scenarios import at, columns, series
from tests.scenarios.terminal import Layupwatch, Said

CUPS = {
    "demo-laminating": ("--resin-g", 200, "--catalyst-g", 3),
    "demo-gel-coat": ("--resin-g", 100, "--catalyst-g", 1.8),
    "demo-thickened": ("--resin-g", 200, "--catalyst-g", 2.5),
    "demo-epoxy": ("--resin-g", 250, "--hardener-g", 100),
}
"""A cup of each demo sheet, at its aim."""


def two_days(name: str) -> Readings:
    """A series, and the same series a day before it."""
    today = series(name)
    before = columns(today.time_s - DAY_S, today.temperature_c, today.humidity_pct)
    before = before.between(0.0, float(today.time_s[0]) - 1.0)
    return columns(
        [*before.time_s, *today.time_s],
        [*before.temperature_c, *today.temperature_c],
        [*before.humidity_pct, *today.humidity_pct],
    )


@dataclass(frozen=True)
class Typed:
    """Commands on 2 May 2026 at a clock time, or at `03T08:00` on another day of that May."""

    layupwatch: Layupwatch
    folder: Path

    def __call__(self, *words: object, now: str) -> Said:
        return self.layupwatch(*words, now=moment(now))

    def say(self, *words: object, now: str) -> str:
        """What a command that went well printed."""
        said = self(*words, now=now)
        assert said.code == 0, said.err
        return said.out

    def hear(self, sensor: str, readings: Readings, now: str, *options: object) -> str:
        """Take in what a sensor had said by then, as a file; a second time adds what is new."""
        path = self.folder / f"{sensor}.csv"
        with path.open("w", encoding="utf-8") as out:
            write_readings(readings.between(0.0, at(moment(now)).timestamp()), out)
        return self.say("import", path, "--sensor", sensor, *options, now=now)

    def lay_up(self, address: str, what: str, sheet: str, sensor: str, now: str) -> str:
        """A part, its first cup at the sheet's aim, and where it stands. Says what the cup said."""
        number = address.partition("/")[0]
        self.say("layup", "add", number, what, "--sheet", sheet, now=now)
        said = self.say("batch", "add", address, *CUPS[sheet], now=now)
        self.say("stay", number, sensor, now=now)
        return said


def moment(clock: str) -> str:
    day, _, time = clock.rpartition("T")
    return f"2026-05-{day or '02'}T{time}:00Z"
