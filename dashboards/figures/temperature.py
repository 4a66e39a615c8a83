"""What was measured beside the part: against the sheet's working range, floor and hot limit."""

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

import numpy as np
from numpy.typing import NDArray

from dashboards.figures.parts.degrees import sign, temperature, temperatures, unit_of
from dashboards.figures.parts.frame import GREEN, GREY, LINES, VERMILLION, Panel, framed, hidden
from dashboards.figures.parts.sheets import sheets_of
from dashboards.figures.parts.silences import silences
from dashboards.figures.parts.spans import hatch, mark_lines
from dashboards.figures.parts.timeline import Timeline, broken, numbers, pen
from dashboards.figures.parts.told import Told, evenly, figure, moment_said
from monitor.answers.views import LayupHistory, StaySeries
from monitor.records import Channel, FloatArray
from monitor.units import Unit

TITLE = "Temperature"
KEY = (
    "Green band: the sheet's working range. Dashed: its floor, below which nothing is earned. "
    "Hatched: nobody measured. Hollow: suspect, not counted."
)

_HEIGHT_PX = 260
_DOTS = 50
"""So many hollow dots side by side fill a phone's width without touching."""
_NEAR_C = 25.0
"""A hot limit further off than this from anything measured is told, not drawn."""


def draw(history: LayupHistory) -> "Figure":
    """Every good reading joined, suspect ones hollow, and the sheet's lines behind them."""
    timeline = Timeline.of(history)
    unit = unit_of(history)
    panel = _panel(history, unit)
    chart = framed(timeline, (panel,))
    _sheet_lines(chart, history, unit)
    hatch(chart, timeline, silences(history), 0, panel)
    for number, stay in enumerate(history.stays):
        _line(chart, timeline, stay, number, unit)
    mark_lines(chart, timeline, history.marks)
    return chart


def tell(history: LayupHistory) -> Told:
    """The lowest, the highest and the newest, and some readings along the way."""
    unit = unit_of(history)
    rows = []
    sentences = []
    for stay in history.stays:
        column = temperatures(stay.temperature_c, unit)
        if not column.size:
            continue
        sentences.append(
            f"{_name(stay)}: from {column.min():.1f} to {column.max():.1f} {sign(unit)}, "
            f"{column[-1]:.1f} {sign(unit)} at {moment_said(stay.time_s[-1], history)}."
        )
        rows += [
            (moment_said(stay.time_s[i], history), _name(stay), figure(column[i]))
            for i in evenly(stay.time_s)
        ]
    sentence = " ".join(sentences) or "No temperature has been read yet."
    return Told(sentence, ("Time", "Sensor", f"Temperature, {sign(unit)}"), tuple(rows))


def _name(stay: StaySeries) -> str:
    return f"{stay.sensor}, {'on the surface' if stay.channel is Channel.SURFACE else 'air'}"


def _measured_c(history: LayupHistory) -> FloatArray:
    columns = [c for s in history.stays for c in (s.temperature_c, s.suspect_temperature_c)]
    return np.concatenate(columns) if columns else np.empty(0)


def _panel(history: LayupHistory, unit: Unit) -> Panel:
    measured = _measured_c(history)
    wanted = measured.tolist()
    for sheet in sheets_of(history):
        wanted += list(sheet.working_c or ())
        wanted += [] if sheet.floor_c is None else [sheet.floor_c]
        limit = sheet.part_max_c
        if limit is not None and measured.size and measured.max() > limit - _NEAR_C:
            wanted.append(limit)
    low, high = (min(wanted), max(wanted)) if wanted else (0.0, 30.0)
    pad = max(1.0, 0.08 * (high - low))
    return Panel(
        f"{sign(unit)}",
        temperature(low - pad, unit),
        temperature(high + pad, unit),
        _HEIGHT_PX,
    )


def _line(chart: "Figure", timeline: Timeline, stay: StaySeries, number: int, unit: Unit) -> None:
    colour, dash = LINES[number % len(LINES)]
    time_s, column = broken(stay.time_s, temperatures(stay.temperature_c, unit))
    name = escape(_name(stay))
    chart.add_scatter(
        x=timeline.x(time_s),
        y=numbers(column),
        name=name,
        mode=pen(column),
        line={"color": colour, "dash": dash, "width": 2},
        marker={"color": colour, "size": 4},
        hovertemplate=f"%{{y:.1f}} {sign(unit)}",
    )
    shown = _apart(timeline, stay)
    if shown.size:
        chart.add_scatter(
            x=timeline.x(stay.suspect_time_s[shown]),
            y=numbers(temperatures(stay.suspect_temperature_c[shown], unit)),
            name=f"{name}, suspect",
            mode="markers",
            marker={"color": colour, "symbol": "circle-open", "size": 7, "line": {"width": 1}},
            hovertemplate=f"%{{y:.1f}} {sign(unit)}, suspect",
        )


def _apart(timeline: Timeline, stay: StaySeries) -> NDArray[np.int64]:
    """Suspect readings to draw: of those that would lie on each other, the lowest and highest."""
    slot = (stay.suspect_time_s - timeline.start_s) // (timeline.length_s / _DOTS)
    order = np.lexsort((stay.suspect_temperature_c, slot))
    first = np.flatnonzero(np.diff(slot[order], prepend=-np.inf))
    last = np.append(first[1:], order.size) - 1
    return np.unique(order[np.concatenate([first, last])]) if order.size else order


def _sheet_lines(chart: "Figure", history: LayupHistory, unit: Unit) -> None:
    sheets = sheets_of(history)
    for sheet in sheets:
        of = f", {escape(sheet.name)}" if len(sheets) > 1 else ""
        if sheet.working_c is not None:
            low, high = (temperature(value, unit) for value in sheet.working_c)
            chart.add_hrect(
                y0=low, y1=high, fillcolor=hidden(GREEN, 0.14), line_width=0, layer="below",
                name="working range",
            )  # fmt: skip
            _word(chart, high, "top", f"working range{of}")
        if sheet.floor_c is not None:
            floor = temperature(sheet.floor_c, unit)
            chart.add_hline(y=floor, line={"color": GREY, "width": 1.5, "dash": "dash"})
            _word(chart, floor, "bottom", f"floor {floor:.0f} {sign(unit)}{of}")
        if sheet.part_max_c is not None:
            limit = temperature(sheet.part_max_c, unit)
            chart.add_hline(y=limit, line={"color": VERMILLION, "width": 1.5})
            _word(chart, limit, "bottom", f"hot limit {limit:.0f} {sign(unit)}{of}")


def _word(chart: "Figure", y: float, above: str, text: str) -> None:
    chart.add_annotation(
        x=1, xref="paper", xanchor="right", y=y, yref="y", yanchor=above, text=text,
        showarrow=False, font_size=12,
    )  # fmt: skip


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
