"""When a stage will be reached, guessed from the outlook. Never shown as measured."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from monitor.cure.law import Law
from monitor.cure.outlook import Outlook
from monitor.records import FloatArray
from monitor.units import SECONDS_PER_HOUR


@dataclass(frozen=True)
class Missing:
    """What each edge of a count still lacks, in the count's own unit; None: unknown."""

    low: float | None
    middle: float | None
    high: float | None


@dataclass(frozen=True)
class Expected:
    """Unix seconds at which something is expected: four times in five between early and late.

    None: not within the days looked at, or the count is unknown. An opening is said at its late
    edge, a closing at its early one.
    """

    early_s: float | None
    middle_s: float | None
    late_s: float | None


@dataclass(frozen=True)
class Line:
    """One line of the outlook and what it will have earned at each of its times."""

    time_s: FloatArray
    temperature_c: FloatArray
    total: FloatArray
    law: Law

    def reached(self, missing: float | None) -> float | None:
        """When the line has earned what is missing (Unix seconds). None: not by its end, unknown.

        Now where nothing is missing: the record knows better when that was. Valid for any count.
        Source: exact on straight lines of temperature.
        """
        if missing is None:
            return None
        if missing <= 0.0:
            return float(self.time_s[0])
        at = int(np.searchsorted(self.total, missing, side="left"))
        if at == self.total.size:
            return None
        start_s, end_s = float(self.time_s[at - 1]), float(self.time_s[at])
        share = self.law.share_for(
            (end_s - start_s) / SECONDS_PER_HOUR,
            float(self.temperature_c[at - 1]),
            float(self.temperature_c[at]),
            missing - float(self.total[at - 1]),
        )
        return start_s + share * (end_s - start_s)


@dataclass(frozen=True)
class Ahead:
    """An outlook under one law: made once for a channel and a sheet, asked for every batch."""

    low: Line
    middle: Line
    high: Line

    def reached(self, missing: Missing) -> Expected:
        """When what is missing will have been earned; the edges in the count's own unit.

        Valid for any count. Source: the outlook, integrated.
        """
        return Expected(
            self.high.reached(missing.high),
            self.middle.reached(missing.middle),
            self.low.reached(missing.low),
        )


@lru_cache(maxsize=256)
def look_ahead(outlook: Outlook, law: Law, band_c: float = 0.0) -> Ahead:
    """What the outlook will earn under a law: the law of openings, or that of closings.

    `band_c` (°C) is how far the part may be from its sensor: the low edge goes on that much colder
    and the high edge warmer, as in the count. Kept for the next batch that asks the same.
    Valid for band_c ≥ 0. Source: the sheet's law.
    """
    return Ahead(
        _line(outlook.time_s, outlook.low_c - band_c, law),
        _line(outlook.time_s, outlook.middle_c, law),
        _line(outlook.time_s, outlook.high_c + band_c, law),
    )


def _line(time_s: FloatArray, temperature_c: FloatArray, law: Law) -> Line:
    hours = np.diff(time_s) / SECONDS_PER_HOUR
    earned = law.earned(hours, temperature_c[:-1], temperature_c[1:])
    return Line(time_s, temperature_c, np.concatenate(([0.0], np.cumsum(earned))), law)
