"""Humidity, dew point, and how far the part is above it: will dew lie on it?"""

import numpy as np

from dashboards.figures.parts.bands import fill_between
from dashboards.figures.parts.degrees import (
    difference,
    differences,
    sign,
    temperatures,
    unit_of,
)
from dashboards.figures.parts.frame import GREY, LINES, VERMILLION, Drawing, Panel, hidden, y_name
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
from monitor.answers.views import Band, LayupHistory, StaySeries
from monitor.records import FloatArray
from monitor.units import Unit

TITLE = "Humidity and dew"
KEY = (
    "Spread: how far the temperature stands above the dew point; at 0 dew forms. "
    "The line across it is the least your sheet allows. Hatched: nobody measured. From far off the "
    "line is the mean, and the band about it the lowest and highest."
)

_HEIGHT_PX = 130
_STRIPS = ("humidity", "dew point", "spread")


def draw(history: LayupHistory) -> Drawing:
    """Three strips: humidity, dew point, spread."""
    unit = unit_of(history)
    drawing = Drawing(Timeline.of(history), _panels(history, unit), history.width_px)
    for strip in range(len(drawing.panels)):
        hatch(drawing, history.silences, strip)
    for number, stay in enumerate(history.stays):
        bands = _bands(stay, unit)
        for strip, column in enumerate(_columns(stay, unit)):
            _line(drawing, stay, column, bands[strip], number, strip, unit)
    _limits(drawing, history, unit)
    events(drawing, history)
    return drawing


def tell(history: LayupHistory) -> Told:
    """The dampest and the newest, and some readings along the way."""
    unit = unit_of(history)
    rows, sentences = [], []
    for stay in history.stays:
        humidity, dew, spread = _columns(stay, unit)
        if not np.isfinite(spread).any():
            continue
        band = _bands(stay, unit)[2]
        lowest = spread if band is None else band.low
        least = int(np.nanargmin(lowest))
        dampest = extremes(humidity, stay.humidity_band_pct)[1]
        sentences.append(
            f"{stay.sensor}: humidity up to {dampest:.0f} %, least spread "
            f"{lowest[least]:.1f} {sign(unit)} at {moment_said(stay.time_s[least], history)}."
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
        (" ".join(sentences) or "No humidity has been read yet.") + summed_said(history),
        ("Time", "Sensor", "Humidity, %", f"Dew point, {degrees}", f"Spread, {degrees}"),
        tuple(rows),
    )


def _columns(stay: StaySeries, unit: Unit) -> tuple[FloatArray, FloatArray, FloatArray]:
    return (
        stay.humidity_pct,
        temperatures(stay.dew_point_c, unit),
        differences(stay.spread_c, unit),
    )


def _bands(stay: StaySeries, unit: Unit) -> tuple[Band | None, Band | None, Band | None]:
    """Lowest and highest of humidity, dew point and spread; a dew point keeps to its mean."""
    spread = stay.spread_band_c
    if spread is not None:
        spread = Band(differences(spread.low, unit), differences(spread.high, unit))
    return stay.humidity_band_pct, None, spread


def _panels(history: LayupHistory, unit: Unit) -> tuple[Panel, ...]:
    humidity, dew, spread = (
        (
            np.concatenate([np.empty(0), *(column for stay in columns for column in stay)])
            for columns in zip(*(_seen(stay, unit) for stay in history.stays), strict=True)
        )
        if history.stays
        else (np.empty(0),) * 3
    )
    limits = [s.dew_spread_min_c for s in history.sheets if s.dew_spread_min_c is not None]
    least = [0.0, *(difference(limit, unit) for limit in limits)]
    dampest = [s.humidity_max_pct for s in history.sheets if s.humidity_max_pct is not None]
    return (
        _strip("humidity, %", humidity, [*dampest], (40.0, 80.0)),
        _strip(f"dew point, {sign(unit)}", dew, [], (5.0, 15.0)),
        _strip(f"spread above the dew point, {sign(unit)}", spread, least, (0.0, 10.0)),
    )


def _seen(stay: StaySeries, unit: Unit) -> tuple[tuple[FloatArray, ...], ...]:
    """All that is drawn of a stay in each strip."""
    return tuple(
        (column,) if band is None else (column, band.low, band.high)
        for column, band in zip(_columns(stay, unit), _bands(stay, unit), strict=True)
    )


def _strip(title: str, column: FloatArray, also: list[float], empty: tuple[float, float]) -> Panel:
    values = [*column[np.isfinite(column)].tolist(), *also] or list(empty)
    low, high = min(values), max(values)
    pad = max(1.0, 0.12 * (high - low))
    return Panel(title, low - pad, high + pad, _HEIGHT_PX)


def _line(
    drawing: Drawing,
    stay: StaySeries,
    column: FloatArray,
    band: Band | None,
    number: int,
    strip: int,
    unit: Unit,
) -> None:
    colour, dash = LINES[number % len(LINES)]
    name = as_words(stay.sensor)
    if band is not None:
        fill_between(
            drawing, strip, stay.time_s, band.low, band.high, step_s=stay.step_s,
            fill=hidden(colour, 0.22), name=f"{name}, lowest to highest",
        )  # fmt: skip
    known = np.isfinite(column)
    time_s, values = broken(stay.time_s[known], column[known])
    drawing.line(
        strip,
        x=drawing.timeline.x(time_s),
        y=numbers(values),
        name=name,
        mode=pen(values),
        line={"color": colour, "dash": dash, "width": 2},
        marker={"color": colour, "size": 4},
        hovertemplate=f"{_STRIPS[strip]} %{{y:.1f}} {'%' if strip == 0 else sign(unit)}",
    )


def _limits(drawing: Drawing, history: LayupHistory, unit: Unit) -> None:
    for sheet in history.sheets:
        of = f", {as_words(sheet.name)}" if len(history.sheets) > 1 else ""
        if sheet.humidity_max_pct is not None:
            _limit(drawing, 0, sheet.humidity_max_pct, f"at most {sheet.humidity_max_pct:g} %{of}")
        if sheet.dew_spread_min_c is not None:
            least = difference(sheet.dew_spread_min_c, unit)
            _limit(drawing, 2, least, f"at least {least:.1f} {sign(unit)}{of}")
    _rule(drawing, 2, 0.0, {"color": GREY, "width": 1})


def _limit(drawing: Drawing, strip: int, y: float, text: str) -> None:
    _rule(drawing, strip, y, {"color": VERMILLION, "width": 1.5, "dash": "dash"})
    drawing.note(
        x=0, xref="paper", xanchor="left", xshift=3, y=y, yref=y_name(strip), yanchor="bottom",
        text=text,
    )  # fmt: skip


def _rule(drawing: Drawing, strip: int, y: float, line: dict[str, object]) -> None:
    drawing.shape(type="line", xref="paper", x0=0, x1=1, yref=y_name(strip), y0=y, y1=y, line=line)


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
