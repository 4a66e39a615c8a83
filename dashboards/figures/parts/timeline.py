"""The shared time axis: the shop's wall clock, which plotly itself knows nothing of."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from dashboards.figures.parts.ticks import Tick, clock_changes, offset_s, ticks
from monitor.answers.views import LayupHistory
from monitor.records import FloatArray
from monitor.times import from_unix

LONGEST_LINE_S = 15 * 60.0
"""No line is drawn across a longer silence: nobody measured what lies between."""

_STEPS = 2.5
"""Of a sensor that speaks more seldom, or a history summed up, so many steps are one."""

_SHORTEST_S = 120.0
_TICK_PX = 76
"""What a word under the axis takes, with air about it."""


@dataclass(frozen=True, slots=True)
class Timeline:
    """Unix seconds as the shop's clock reads at the end of the chart.

    Where the clocks change on the way, the earlier part keeps the later offset, so that an hour
    is as long as any other and no line runs back over itself. What is written under the axis is
    right on both sides; `shifts`: before the first of a pair the clock was so many seconds off.
    """

    start_s: float
    end_s: float
    now_s: float
    offset_s: float
    zone: str
    changes: str
    """`put forward Sun 29 Mar, put back Sun 25 Oct`; empty where the clock was left alone."""
    ticks: tuple[Tick, ...]
    shifts: tuple[tuple[float, float], ...]
    whole_s: tuple[float, float]
    said: str
    """`15:00 Sat 2 May to 21:00 Sun 3 May`"""
    has_ahead: bool
    """Whether more than what was measured is shown: something past now."""

    @classmethod
    def of(cls, history: LayupHistory) -> "Timeline":
        zone = ZoneInfo(history.zone)
        start_s = history.start_s
        end_s = max(history.end_s, start_s + _SHORTEST_S)
        changes = clock_changes(start_s, end_s, zone)
        last = offset_s(end_s, zone)
        return cls(
            start_s,
            end_s,
            history.at.timestamp(),
            last,
            history.zone,
            _changes_said(changes, zone),
            ticks(start_s, end_s, zone, max(2, (history.width_px - 60) // _TICK_PX)),
            tuple((at_s, before - last) for at_s, before, _ in changes),
            history.whole_s,
            f"{_day_said(start_s, zone)} to {_day_said(end_s, zone)}",
            history.end_s > history.at.timestamp(),
        )

    @property
    def length_s(self) -> float:
        return self.end_s - self.start_s

    def x(self, time_s: FloatArray | list[float]) -> list[str]:
        """Wall-clock times to the second, as plotly reads them."""
        local = np.asarray(time_s, np.float64) + self.offset_s
        # To the nearest second first: a cast cuts off.
        moments = np.rint(local).astype("int64").astype("datetime64[s]")
        texts: list[str] = np.datetime_as_string(moments, unit="s").tolist()
        return texts

    def at(self, moment: datetime) -> str:
        return self.x([moment.timestamp()])[0]

    def inside(self, moment: datetime) -> bool:
        return self.start_s <= moment.timestamp() <= self.end_s

    def share(self, moment: datetime) -> float:
        """Where a moment lies between the start (0) and the end (1)."""
        return (moment.timestamp() - self.start_s) / self.length_s


def _day_said(time_s: float, zone: ZoneInfo) -> str:
    local = from_unix(time_s).astimezone(zone)
    return f"{local:%H:%M %a} {local.day} {local:%b %Y}"


def _changes_said(changes: tuple[tuple[float, float, float], ...], zone: ZoneInfo) -> str:
    words = []
    for at_s, before, after in changes:
        local = from_unix(at_s).astimezone(zone)
        way = "forward" if after > before else "back"
        words.append(f"put {way} {local:%a} {local.day} {local:%b}")
    return ", ".join(words)


def longest_line_s(time_s: FloatArray) -> float:
    """How far apart two neighbours may lie and still be joined, in seconds."""
    if time_s.size < 3:
        return LONGEST_LINE_S
    return max(LONGEST_LINE_S, _STEPS * float(np.median(np.diff(time_s))))


def broken(time_s: FloatArray, column: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Times and values with a nan put into every silence too long to draw a line across."""
    breaks = np.flatnonzero(np.diff(time_s) > longest_line_s(time_s)) + 1
    times = np.insert(time_s, breaks, time_s[breaks - 1] + 1.0)
    return times, np.insert(column, breaks, np.nan)


def pen(column: FloatArray) -> str:
    """How to draw a broken line: with dots too where a point stands alone and would not show."""
    known = np.concatenate([[False], np.isfinite(column), [False]])
    alone = known[1:-1] & ~known[:-2] & ~known[2:]
    return "lines+markers" if alone.any() else "lines"


def numbers(values: FloatArray) -> list[float | None]:
    """A column as JSON takes it: two decimals, and nothing where there is nothing."""
    rounded = np.round(values, 2)
    return [None if value != value else value for value in rounded.tolist()]
