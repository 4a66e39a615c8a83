"""Humidity, dew point, and how far the part is above it: will dew lie on it?"""

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

import numpy as np

from dashboards.figures.parts.degrees import (
    difference,
    differences,
    sign,
    temperatures,
    unit_of,
)
from dashboards.figures.parts.frame import GREY, LINES, VERMILLION, Panel, framed, y_name
from dashboards.figures.parts.sheets import sheets_of
from dashboards.figures.parts.silences import silences
from dashboards.figures.parts.spans import hatch, mark_lines
from dashboards.figures.parts.timeline import Timeline, broken, numbers, pen
from dashboards.figures.parts.told import Told, evenly, figure, moment_said
from monitor.answers.views import LayupHistory, StaySeries
from monitor.records import FloatArray
from monitor.units import Unit

TITLE = "Humidity and dew"
KEY = (
    "Spread: how far the temperature stands above the dew point; at 0 dew forms. "
    "The line across it is the least your sheet allows. Hatched: nobody measured."
)

_HEIGHT_PX = 130


def draw(history: LayupHistory) -> "Figure":
    """Three strips: humidity, dew point, spread."""
    timeline = Timeline.of(history)
    unit = unit_of(history)
    panels = _panels(history, unit)
    chart = framed(timeline, panels)
    for number, panel in enumerate(panels):
        hatch(chart, timeline, silences(history), number, panel)
    for number, stay in enumerate(history.stays):
        for strip, column in enumerate(_columns(stay, unit)):
            _line(chart, timeline, stay, column, number, strip, unit)
    _limits(chart, history, unit)
    mark_lines(chart, timeline, history.marks)
    return chart


def tell(history: LayupHistory) -> Told:
    """The dampest and the newest, and some readings along the way."""
    unit = unit_of(history)
    rows, sentences = [], []
    for stay in history.stays:
        humidity, dew, spread = _columns(stay, unit)
        if not np.isfinite(spread).any():
            continue
        least = int(np.nanargmin(spread))
        sentences.append(
            f"{stay.sensor}: humidity up to {np.nanmax(humidity):.0f} %, least spread "
            f"{spread[least]:.1f} {sign(unit)} at {moment_said(stay.time_s[least], history)}."
        )
        rows += [
            (
                moment_said(stay.time_s[i], history),
                stay.sensor,
                figure(humidity[i], 0),
                figure(dew[i]),
                figure(spread[i]),
            )
            for i in evenly(stay.time_s)
        ]
    degrees = sign(unit)
    return Told(
        " ".join(sentences) or "No humidity has been read yet.",
        ("Time", "Sensor", "Humidity, %", f"Dew point, {degrees}", f"Spread, {degrees}"),
        tuple(rows),
    )


def _columns(stay: StaySeries, unit: Unit) -> tuple[FloatArray, FloatArray, FloatArray]:
    return (
        stay.humidity_pct,
        temperatures(stay.dew_point_c, unit),
        differences(stay.spread_c, unit),
    )


def _panels(history: LayupHistory, unit: Unit) -> tuple[Panel, ...]:
    humidity, dew, spread = (
        (
            np.concatenate([np.empty(0), *columns])
            for columns in zip(*(_columns(stay, unit) for stay in history.stays), strict=True)
        )
        if history.stays
        else (np.empty(0),) * 3
    )
    limits = [s.dew_spread_min_c for s in sheets_of(history) if s.dew_spread_min_c is not None]
    least = [0.0, *(difference(limit, unit) for limit in limits)]
    dampest = [s.humidity_max_pct for s in sheets_of(history) if s.humidity_max_pct is not None]
    return (
        _strip("humidity, %", humidity, [*dampest], (40.0, 80.0)),
        _strip(f"dew point, {sign(unit)}", dew, [], (5.0, 15.0)),
        _strip(f"spread above the dew point, {sign(unit)}", spread, least, (0.0, 10.0)),
    )


def _strip(title: str, column: FloatArray, also: list[float], empty: tuple[float, float]) -> Panel:
    values = [*column[np.isfinite(column)].tolist(), *also] or list(empty)
    low, high = min(values), max(values)
    pad = max(1.0, 0.12 * (high - low))
    return Panel(title, low - pad, high + pad, _HEIGHT_PX)


def _line(
    chart: "Figure",
    timeline: Timeline,
    stay: StaySeries,
    column: FloatArray,
    number: int,
    strip: int,
    unit: Unit,
) -> None:
    colour, dash = LINES[number % len(LINES)]
    known = np.isfinite(column)
    time_s, values = broken(stay.time_s[known], column[known])
    chart.add_scatter(
        x=timeline.x(time_s),
        y=numbers(values),
        yaxis=y_name(strip),
        name=escape(stay.sensor),
        mode=pen(values),
        line={"color": colour, "dash": dash, "width": 2},
        marker={"color": colour, "size": 4},
        hovertemplate=f"%{{y:.1f}} {'%' if strip == 0 else sign(unit)}",
    )


def _limits(chart: "Figure", history: LayupHistory, unit: Unit) -> None:
    sheets = sheets_of(history)
    for sheet in sheets:
        of = f", {escape(sheet.name)}" if len(sheets) > 1 else ""
        if sheet.humidity_max_pct is not None:
            _limit(chart, 0, sheet.humidity_max_pct, f"at most {sheet.humidity_max_pct:g} %{of}")
        if sheet.dew_spread_min_c is not None:
            least = difference(sheet.dew_spread_min_c, unit)
            _limit(chart, 2, least, f"at least {least:.1f} {sign(unit)}{of}")
    _rule(chart, 2, 0.0, {"color": GREY, "width": 1})


def _limit(chart: "Figure", strip: int, y: float, text: str) -> None:
    _rule(chart, strip, y, {"color": VERMILLION, "width": 1.5, "dash": "dash"})
    chart.add_annotation(
        x=1, xref="paper", xanchor="right", y=y, yref=y_name(strip), yanchor="bottom", text=text,
        showarrow=False, font_size=12,
    )  # fmt: skip


def _rule(chart: "Figure", strip: int, y: float, line: dict[str, object]) -> None:
    chart.add_shape(
        type="line", xref="paper", x0=0, x1=1, yref=y_name(strip), y0=y, y1=y, line=line
    )


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
