"""The coming night as a small picture in the page itself: a guessed line with its band."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import numpy as np

from dashboards.figures.parts.words import as_words
from monitor.cure.plan import Nights
from monitor.records import FloatArray
from monitor.times import from_unix, said
from monitor.units import Unit, f_from_c, temperature_said

WIDTH, HEIGHT = 360, 190
_LEFT, _RIGHT, _TOP, _BOTTOM = 40, 6, 12, 26
_STEP_S = 900.0


@dataclass(frozen=True, slots=True)
class Drawn:
    """An SVG picture, and the same in a sentence."""

    svg: str
    told: str


@dataclass(frozen=True, slots=True)
class _Scale:
    """From Unix seconds and °C to places in the picture."""

    first_s: float
    last_s: float
    low_c: float
    high_c: float

    def x(self, time_s: float) -> float:
        share = (time_s - self.first_s) / (self.last_s - self.first_s)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def y(self, celsius: float) -> float:
        share = (celsius - self.low_c) / (self.high_c - self.low_c)
        return HEIGHT - _BOTTOM - share * (HEIGHT - _TOP - _BOTTOM)


def nights_drawn(
    nights: Nights, band_c: float, floor_c: float | None, zone: tzinfo, unit: Unit
) -> Drawn:
    """The next 36 hours of a guess, `band_c` to either side, with the floor of the count."""
    ahead = nights.time_s <= nights.time_s[0] + 36 * 3600.0
    grid = np.arange(nights.time_s[0], nights.time_s[ahead][-1] + 1.0, _STEP_S)
    line = np.interp(grid, nights.time_s, nights.temperature_c)
    floors = [] if floor_c is None else [floor_c]
    scale = _Scale(
        float(grid[0]),
        float(grid[-1]),
        float(min(line.min() - band_c, *floors, line.min())) - 1.0,
        float(max(line.max() + band_c, *floors, line.max())) + 1.0,
    )
    told = _told(grid, line, band_c, floor_c, zone, unit)
    parts = [
        f'<polygon class="band" points="{_band(grid, line, band_c, scale)}"/>',
        *_degrees(scale, unit),
        *_hours(grid, scale, zone),
        f'<polyline class="guess" points="{_points(grid, line, scale)}"/>',
    ]
    if floor_c is not None:
        y = scale.y(floor_c)
        parts.append(f'<line class="floor" x1="{_LEFT}" x2="{WIDTH}" y1="{y:.1f}" y2="{y:.1f}"/>')
        words = as_words(f"floor {temperature_said(floor_c, unit)}")
        parts.append(f'<text x="{_LEFT + 4}" y="{y - 4:.1f}">{words}</text>')
    body = "".join(parts)
    svg = (
        f'<svg class="nights" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{as_words(told)}">{body}</svg>'
    )
    return Drawn(svg, told)


def _points(grid: FloatArray, line: FloatArray, scale: _Scale) -> str:
    pairs = zip(grid.tolist(), line.tolist(), strict=True)
    return " ".join(f"{scale.x(t):.1f},{scale.y(v):.1f}" for t, v in pairs)


def _band(grid: FloatArray, line: FloatArray, band_c: float, scale: _Scale) -> str:
    upper = _points(grid, line + band_c, scale)
    return f"{upper} {_points(grid[::-1], line[::-1] - band_c, scale)}"


def _degrees(scale: _Scale, unit: Unit) -> list[str]:
    step_c = 5.0 if scale.high_c - scale.low_c < 30.0 else 10.0
    first = np.ceil(scale.low_c / step_c) * step_c
    drawn = []
    for celsius in np.arange(first, scale.high_c, step_c).tolist():
        y = scale.y(celsius)
        shown = f_from_c(celsius) if unit == "f" else celsius
        drawn.append(f'<line class="rule" x1="{_LEFT}" x2="{WIDTH}" y1="{y:.1f}" y2="{y:.1f}"/>')
        drawn.append(f'<text text-anchor="end" x="{_LEFT - 5}" y="{y + 4:.1f}">{shown:.0f}°</text>')
    return drawn


def _hours(grid: FloatArray, scale: _Scale, zone: tzinfo) -> list[str]:
    """Every sixth hour of the shop's own clock."""
    at = from_unix(float(grid[0])).astimezone(zone).replace(minute=0, second=0, microsecond=0)
    drawn = []
    for hours in range(1, 38):
        moment = (at + timedelta(hours=hours)).timestamp()
        local = from_unix(moment).astimezone(zone)
        if local.hour % 6 or moment > grid[-1]:
            continue
        x = scale.x(moment)
        drawn.append(
            f'<line class="rule" x1="{x:.1f}" x2="{x:.1f}" y1="{_TOP}" y2="{HEIGHT - _BOTTOM}"/>'
        )
        anchor = "end" if x > WIDTH - 20 else "middle"
        drawn.append(
            f'<text text-anchor="{anchor}" x="{x:.1f}" y="{HEIGHT - 8}">{local:%H:%M}</text>'
        )
    return drawn


def _told(
    grid: FloatArray,
    line: FloatArray,
    band_c: float,
    floor_c: float | None,
    zone: tzinfo,
    unit: Unit,
) -> str:
    at = int(np.argmin(line))
    now: datetime = from_unix(float(grid[0]))
    coldest = temperature_said(float(line[at]), unit)
    low = temperature_said(float(line[at]) - band_c, unit)
    high = temperature_said(float(line[at]) + band_c, unit)
    words = f"A guess: coldest {coldest} ({low} to {high}), {said(from_unix(grid[at]), zone, now)}"
    return words + (
        "." if floor_c is None else f"; the floor is {temperature_said(floor_c, unit)}."
    )
