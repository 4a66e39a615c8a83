"""What was measured beside the part: against the working range, floor, cap and hot limit."""

import numpy as np
from numpy.typing import NDArray

from dashboards.figures.parts.bands import fill_between
from dashboards.figures.parts.degrees import sign, temperature, temperatures, unit_of
from dashboards.figures.parts.frame import (
    GREEN,
    GREY,
    LINES,
    VERMILLION,
    Drawing,
    Panel,
    hidden,
)
from dashboards.figures.parts.spans import events, hatch
from dashboards.figures.parts.timeline import Timeline, broken, numbers, pen
from dashboards.figures.parts.told import (
    Told,
    evenly,
    extremes,
    figure,
    moment_said,
    summed_said,
)
from dashboards.figures.parts.words import as_words
from monitor.answers.views import LayupHistory, StaySeries
from monitor.records import Channel, FloatArray
from monitor.units import Unit

TITLE = "Temperature"
KEY = (
    "Green band: the sheet's working range. Dashed across: its floor, below which nothing is "
    "earned, and its cap, above which no more is. Hatched: nobody measured. Hollow: suspect, not "
    "counted. From far off the line is the mean, and the band about it the lowest and highest. "
    "After now: a guess, dotted."
)

_HEIGHT_PX = 260
_DOTS = 50
"""So many hollow dots side by side fill a phone's width without touching."""
_NEAR_C = 25.0
"""A limit further off than this from anything measured is told, not drawn."""


def draw(history: LayupHistory) -> Drawing:
    """Every good reading joined, suspect ones hollow, and the sheet's lines behind them."""
    unit = unit_of(history)
    drawing = Drawing(Timeline.of(history), (_panel(history, unit),), history.width_px)
    _sheet_lines(drawing, history, unit)
    hatch(drawing, history.silences, 0)
    for number, stay in enumerate(history.stays):
        _line(drawing, stay, number, unit)
    _ahead(drawing, history, unit)
    events(drawing, history)
    return drawing


def tell(history: LayupHistory) -> Told:
    """The lowest, the highest and the newest, and some readings along the way."""
    unit = unit_of(history)
    rows = []
    sentences = []
    for stay in history.stays:
        column = temperatures(stay.temperature_c, unit)
        if not column.size:
            continue
        low, high = (
            temperature(value_c, unit)
            for value_c in extremes(stay.temperature_c, stay.temperature_band_c)
        )
        sentences.append(
            f"{_name(stay)}: from {low:.1f} to {high:.1f} {sign(unit)}, "
            f"{column[-1]:.1f} {sign(unit)} at {moment_said(stay.time_s[-1], history)}."
        )
        rows += [
            (moment_said(stay.time_s[i], history), _name(stay), figure(column[i]))
            for i in evenly(stay.time_s)
        ]
    sentence = " ".join(sentences) or "No temperature has been read yet."
    sentence += summed_said(history)
    return Told(sentence, ("Time", "Sensor", f"Temperature, {sign(unit)}"), tuple(rows))


def _name(stay: StaySeries) -> str:
    return f"{stay.sensor}, {'on the surface' if stay.channel is Channel.SURFACE else 'air'}"


def _measured_c(history: LayupHistory) -> FloatArray:
    columns = [np.empty(0)]
    for stay in history.stays:
        seen = (stay.time_s >= history.start_s) & (stay.time_s <= history.end_s)
        columns += [stay.temperature_c[seen], stay.suspect_temperature_c]
        if stay.temperature_band_c is not None:
            columns += [stay.temperature_band_c.low[seen], stay.temperature_band_c.high[seen]]
    return np.concatenate(columns)


def _panel(history: LayupHistory, unit: Unit) -> Panel:
    measured = _measured_c(history)
    wanted = measured.tolist()
    for ahead in history.warmth if history.end_s > history.at.timestamp() else ():
        wanted += ahead.temperature_c.tolist()
    for sheet in history.sheets:
        wanted += list(sheet.working_c or ())
        wanted += [] if sheet.floor_c is None else [sheet.floor_c]
        for limit in (sheet.cap_c, sheet.part_max_c):
            if limit is not None and measured.size and measured.max() > limit - _near_c(limit):
                wanted.append(limit)
    low, high = (min(wanted), max(wanted)) if wanted else (0.0, 30.0)
    pad = max(1.0, 0.08 * (high - low))
    basis = history.warmth[0].basis if history.warmth else ""
    ahead_of_now = history.end_s > history.at.timestamp()
    return Panel(
        sign(unit),
        temperature(low - pad, unit),
        temperature(high + pad, unit),
        _HEIGHT_PX,
        under=f"dotted after now: a guess, {as_words(basis)}" if basis and ahead_of_now else "",
    )


def _near_c(limit_c: float) -> float:
    return min(_NEAR_C, 0.3 * limit_c)


def _line(drawing: Drawing, stay: StaySeries, number: int, unit: Unit) -> None:
    colour, dash = LINES[number % len(LINES)]
    time_s, column = broken(stay.time_s, temperatures(stay.temperature_c, unit))
    name = as_words(_name(stay))
    band = stay.temperature_band_c
    if band is not None:
        fill_between(
            drawing, 0, stay.time_s, temperatures(band.low, unit), temperatures(band.high, unit),
            step_s=stay.step_s, fill=hidden(colour, 0.22), name=f"{name}, lowest to highest",
        )  # fmt: skip
    drawing.line(
        x=drawing.timeline.x(time_s),
        y=numbers(column),
        name=name,
        mode=pen(column),
        line={"color": colour, "dash": dash, "width": 2},
        marker={"color": colour, "size": 4},
        hovertemplate=f"%{{y:.1f}} {sign(unit)}",
    )
    shown = _apart(drawing.timeline, stay)
    if shown.size:
        drawing.line(
            x=drawing.timeline.x(stay.suspect_time_s[shown]),
            y=numbers(temperatures(stay.suspect_temperature_c[shown], unit)),
            name=f"{name}, suspect",
            mode="markers",
            marker={"color": colour, "symbol": "circle-open", "size": 7, "line": {"width": 1}},
            hovertemplate=f"%{{y:.1f}} {sign(unit)}, suspect",
        )


def _ahead(drawing: Drawing, history: LayupHistory, unit: Unit) -> None:
    """What is guessed, in a manner of its own, from now on."""
    for ahead in history.warmth if drawing.timeline.has_ahead else ():
        drawing.line(
            x=drawing.timeline.x(ahead.time_s),
            y=numbers(temperatures(ahead.temperature_c, unit)),
            name=f"guess for {as_words(ahead.sensor)}",
            mode="lines",
            line={"color": GREY, "dash": "1px,5px", "width": 2.5},
            hovertemplate=f"%{{y:.0f}} {sign(unit)}",
        )


def _apart(timeline: Timeline, stay: StaySeries) -> NDArray[np.int64]:
    """Suspect readings to draw: of those that would lie on each other, the lowest and highest."""
    slot = (stay.suspect_time_s - timeline.start_s) // (timeline.length_s / _DOTS)
    order = np.lexsort((stay.suspect_temperature_c, slot))
    first = np.flatnonzero(np.diff(slot[order], prepend=-np.inf))
    last = np.append(first[1:], order.size) - 1
    return np.unique(order[np.concatenate([first, last])]) if order.size else order


def _sheet_lines(drawing: Drawing, history: LayupHistory, unit: Unit) -> None:
    for sheet in history.sheets:
        of = f", {as_words(sheet.name)}" if len(history.sheets) > 1 else ""
        if sheet.working_c is not None:
            low, high = (temperature(value, unit) for value in sheet.working_c)
            drawing.shape(
                type="rect", xref="paper", x0=0, x1=1, yref="y", y0=low, y1=high, layer="below",
                fillcolor=hidden(GREEN, 0.14), line={"width": 0}, name="working range",
            )  # fmt: skip
            _word(drawing, high, "top", f"working range{of}")
        for value, word, line in (
            (sheet.floor_c, "floor", {"color": GREY, "width": 1.5, "dash": "dash"}),
            (sheet.cap_c, "cap", {"color": GREY, "width": 1.5, "dash": "dash"}),
            (sheet.part_max_c, "hot limit", {"color": VERMILLION, "width": 1.5}),
        ):
            if value is not None:
                y = temperature(value, unit)
                drawing.shape(
                    type="line", xref="paper", x0=0, x1=1, yref="y", y0=y, y1=y, line=line,
                    name=word,
                )  # fmt: skip
                _word(drawing, y, "bottom", f"{word} {y:.0f} {sign(unit)}{of}")


def _word(drawing: Drawing, y: float, above: str, text: str) -> None:
    if drawing.panels[0].low < y < drawing.panels[0].high:
        drawing.note(
            x=0, xref="paper", xanchor="left", xshift=3, y=y, yref="y", yanchor=above, text=text
        )


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
