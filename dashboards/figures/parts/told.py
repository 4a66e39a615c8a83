"""A chart for those who don't see it: a sentence and a small table."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from monitor.answers.views import Band, LayupHistory
from monitor.records import FloatArray
from monitor.times import from_unix, length_said

_A_WEEK_S = 6.5 * 86_400.0


@dataclass(frozen=True, slots=True)
class Told:
    sentence: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def day_clock(moment: datetime, zone: ZoneInfo) -> str:
    """`04:54 Sun`: always with the day."""
    return f"{moment.astimezone(zone):%H:%M %a}"


def moment_said(time_s: float, history: LayupHistory) -> str:
    """`04:54 Sun`; with the date where a weekday could be several."""
    local = from_unix(time_s).astimezone(ZoneInfo(history.zone))
    if history.end_s - history.start_s > _A_WEEK_S:
        return f"{local:%H:%M %a} {local.day} {local:%b %Y}"
    return f"{local:%H:%M %a}"


def evenly(time_s: FloatArray, rows: int = 8) -> list[int]:
    """Indexes of at most that many points, about evenly apart in time, the last among them."""
    if time_s.size <= rows:
        return list(range(time_s.size))
    wanted = np.linspace(time_s[0], time_s[-1], rows)
    return sorted({int(i) for i in np.clip(np.searchsorted(time_s, wanted), 0, time_s.size - 1)})


def extremes(column: FloatArray, band: Band | None) -> tuple[float, float]:
    """The lowest and the highest: of the band where the column holds means."""
    if band is None:
        return float(np.nanmin(column)), float(np.nanmax(column))
    return float(np.nanmin(band.low)), float(np.nanmax(band.high))


def summed_said(history: LayupHistory) -> str:
    """` Each figure is the mean of 2 h.`, where that is so."""
    steps = {stay.step_s for stay in history.stays if stay.step_s}
    if not steps:
        return ""
    step_s = max(steps)
    length = f"{step_s / 86_400.0:.0f} days" if step_s > 86_400.0 else length_said(step_s)
    return f" Each figure in the table is the mean of {length}."


def figure(value: float, decimals: int = 1) -> str:
    """A number, or a dash where nothing is known."""
    return "–" if np.isnan(value) else f"{value:.{decimals}f}"
