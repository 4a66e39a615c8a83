"""A chart for those who don't see it: a sentence and a small table."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from monitor.answers.views import LayupHistory
from monitor.records import FloatArray
from monitor.times import from_unix


@dataclass(frozen=True, slots=True)
class Told:
    sentence: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def day_clock(moment: datetime, zone: ZoneInfo) -> str:
    """`04:54 Sun`: always with the day."""
    return f"{moment.astimezone(zone):%H:%M %a}"


def moment_said(time_s: float, history: LayupHistory) -> str:
    return day_clock(from_unix(time_s), ZoneInfo(history.zone))


def evenly(time_s: FloatArray, rows: int = 8) -> list[int]:
    """Indexes of at most that many points, about evenly apart in time, the last among them."""
    if time_s.size <= rows:
        return list(range(time_s.size))
    wanted = np.linspace(time_s[0], time_s[-1], rows)
    return sorted({int(i) for i in np.clip(np.searchsorted(time_s, wanted), 0, time_s.size - 1)})


def figure(value: float, decimals: int = 1) -> str:
    """A number, or a dash where nothing is known."""
    return "–" if np.isnan(value) else f"{value:.{decimals}f}"
