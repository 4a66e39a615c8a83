"""Each batch's count over time, with its band, against the stages of its own sheet."""

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

import numpy as np

from dashboards.figures.parts.degrees import count_in, count_sign, unit_of
from dashboards.figures.parts.frame import (
    BLUE,
    GREY,
    ORANGE,
    Panel,
    framed,
    hidden,
    y_name,
)
from dashboards.figures.parts.spans import hatch, mark_lines, shade_parked, unmeasured
from dashboards.figures.parts.timeline import Timeline, numbers, pen
from dashboards.figures.parts.told import Told, evenly, figure, moment_said
from monitor.answers.views import CountSeries, LayupHistory
from monitor.answers.wording import STAGE_WORDS
from monitor.records import FloatArray, Stage, Verdict
from monitor.units import Unit

TITLE = "The count"
KEY = (
    "Line: the count. Band: its low and high edge. Flat lines: what the sheet's stages need. "
    "Orange bars: while a window was open. Hatched: nobody measured. "
    "Shaded: parked, below the floor."
)

_HEIGHT_PX = 300
_LANE = 0.085
"""Height of a window's lane, as a share of the panel's."""
_LABEL_SHARE = 0.062
"""Stage lines nearer to each other than this share of the height share one label."""


def draw(history: LayupHistory) -> "Figure":
    """One strip a batch, in the order in which they were mixed."""
    timeline = Timeline.of(history)
    unit = unit_of(history)
    panels = tuple(_panel(series, unit) for series in history.counts)
    chart = framed(timeline, panels or (Panel("no batch mixed yet", 0.0, 100.0, _HEIGHT_PX),))
    for number, (series, panel) in enumerate(zip(history.counts, panels, strict=True)):
        _stage_lines(chart, series, number, panel, unit)
        shade_parked(chart, timeline, series.parked, number, panel)
        hatch(chart, timeline, unmeasured(series.gaps), number, panel)
        _curves(chart, timeline, series, number, unit)
        _windows(chart, timeline, series, number, panel.high)
    mark_lines(chart, timeline, history.marks)
    return chart


def tell(history: LayupHistory) -> Told:
    """Where each count stands, and some points along the way."""
    unit = unit_of(history)
    rows, sentences = [], []
    for series in history.counts:
        low, middle, high = _edges(series, unit)
        if not middle.size:
            continue
        sentences.append(
            f"{series.address}: {figure(middle[-1], 0)} "
            f"({figure(low[-1], 0)} to {figure(high[-1], 0)}) "
            f"{count_sign(series.unit, unit)} at {moment_said(series.time_s[-1], history)}."
        )
        rows += [
            (
                moment_said(series.time_s[i], history),
                series.address,
                figure(low[i], 0),
                figure(middle[i], 0),
                figure(high[i], 0),
            )
            for i in evenly(series.time_s)
        ]
    sentence = " ".join(sentences) or "Nothing has been counted yet."
    return Told(sentence, ("Time", "Batch", "Low", "Middle", "High"), tuple(rows))


def _edges(series: CountSeries, unit: Unit) -> tuple[FloatArray, FloatArray, FloatArray]:
    factor = count_in(1.0, series.unit, unit)
    return series.low * factor, series.middle * factor, series.high * factor


def _lines(series: CountSeries, unit: Unit) -> list[tuple[float, str]]:
    """What each stage needs to open, lowest first, with its word.

    Where a window shuts is no line here: that runs on a count without floor and cap.
    """
    lines = []
    for stage, needs in series.sheet.needs.items():
        value = count_in(needs[0], series.unit, unit)
        lines.append((value, f"{_word(stage)} {value:.0f}"))
    return sorted(lines)


def _panel(series: CountSeries, unit: Unit) -> Panel:
    """High enough for what was counted and the next stage above it."""
    reached = np.concatenate([np.zeros(1), *_edges(series, unit)])
    most = float(np.nanmax(reached))
    above = [value for value, _ in _lines(series, unit) if value > most]
    top = max(most, min(above, default=most), 1.0)
    title = f"{escape(series.address)}: {count_sign(series.unit, unit)}"
    return Panel(title, 0.0, 1.3 * top, _HEIGHT_PX, grid=False)


def _stage_lines(
    chart: "Figure", series: CountSeries, number: int, panel: Panel, unit: Unit
) -> None:
    shown = [(value, text) for value, text in _lines(series, unit) if value <= panel.high]
    for value in sorted({value for value, _ in shown}):
        chart.add_shape(
            type="line", xref="paper", x0=0, x1=1, yref=y_name(number), y0=value, y1=value,
            line={"color": GREY, "width": 1}, layer="below", name="stage",
        )  # fmt: skip
    for value, text in _labels(shown, panel.high):
        chart.add_annotation(
            x=1, xref="paper", xanchor="right", y=value, yref=y_name(number), yanchor="bottom",
            text=text, showarrow=False, font_size=12,
        )  # fmt: skip


def _labels(lines: list[tuple[float, str]], high: float) -> list[tuple[float, str]]:
    """One label a line, or one for several that lie too near each other to be read."""
    groups: list[list[tuple[float, str]]] = []
    for line in lines:
        if groups and line[0] - groups[-1][0][0] < _LABEL_SHARE * high:
            groups[-1].append(line)
        else:
            groups.append([line])
    return [(group[-1][0], " · ".join(text for _, text in group)) for group in groups]


def _windows(
    chart: "Figure", timeline: Timeline, series: CountSeries, number: int, top: float
) -> None:
    """A bar under the top edge for as long as each window was open, one lane each."""
    for lane, stage in enumerate((Stage.KNIFE_TRIM, Stage.RECOAT)):
        answer = next((a for a in series.stages if a.stage is stage), None)
        if answer is None or answer.opens.late is None:
            continue
        opened = answer.opens.late
        shut = answer.shuts.early if answer.shuts is not None else None
        if shut is None and answer.verdict is Verdict.SHUT:
            continue  # no longer clean: nobody can say until when it was open
        end_s = timeline.end_s if shut is None else shut.timestamp()
        if end_s <= opened.timestamp():
            continue
        high = (0.985 - lane * _LANE) * top
        x1 = timeline.x([end_s])[0]
        chart.add_shape(
            type="rect", xref="x", x0=timeline.at(opened), x1=x1, yref=y_name(number),
            y0=high - 0.6 * _LANE * top, y1=high, line_width=0, fillcolor=hidden(ORANGE, 0.75),
            name=f"{stage} open",
        )  # fmt: skip
        inside = end_s - opened.timestamp() > 0.5 * (timeline.end_s - timeline.start_s)
        chart.add_annotation(
            x=timeline.at(opened) if inside else x1, xref="x", xanchor="left",
            y=high - 0.3 * _LANE * top, yref=y_name(number), yanchor="middle",
            text=f"{_word(stage)} open", showarrow=False,
            font={"size": 12, "color": "#000000"} if inside else {"size": 12},
        )  # fmt: skip


def _word(stage: Stage) -> str:
    return STAGE_WORDS[stage].removesuffix(" without sanding")


def _curves(
    chart: "Figure", timeline: Timeline, series: CountSeries, number: int, unit: Unit
) -> None:
    time_s = series.time_s
    low, middle, high = _edges(series, unit)
    degrees = count_sign(series.unit, unit)
    common = {"yaxis": y_name(number), "hovertemplate": f"%{{y:.0f}} {degrees}"}
    x = timeline.x(time_s)
    thin = {"width": 0.8, "color": BLUE}
    chart.add_scatter(x=x, y=numbers(low), name="low", mode="lines", line=thin, **common)
    chart.add_scatter(
        x=x, y=numbers(high), name="high", mode="lines", line=thin, fill="tonexty",
        fillcolor=hidden(BLUE, 0.22), **common,
    )  # fmt: skip
    chart.add_scatter(
        x=x, y=numbers(middle), name="middle",
        mode=pen(middle),
        line={"width": 2.5, "color": BLUE}, **common,
    )  # fmt: skip


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
