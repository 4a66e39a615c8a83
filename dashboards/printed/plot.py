"""The plots of a printed record: temperature, humidity, spread, and each batch's count."""

from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import numpy as np

from dashboards.figures.parts.degrees import (
    count_in,
    count_sign,
    difference,
    differences,
    sign,
    temperature,
    temperatures,
    unit_of,
)
from dashboards.figures.parts.timeline import broken
from dashboards.printed.strip import Strip
from monitor.answers.history import thinned
from monitor.answers.views import CountSeries, LayupHistory, StaySeries
from monitor.answers.wording import STAGE_WORDS
from monitor.records import Channel, FloatArray, Sheet
from monitor.units import Unit

PENS = (("#0072B2", ""), ("#D55E00", "6 3"), ("#009E73", "2 2"), ("#CC79A7", "8 3 2 3"))
"""Colour and dash go together: a grey copy still tells them apart. Okabe and Ito 2008."""

HATCH = (
    '<svg width="0" height="0" aria-hidden="true" class="defs"><defs>'
    '<pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="5" stroke="#55524a" '
    'stroke-width="0.9"/></pattern></defs></svg>'
)

_SHORTEST_S = 1800.0
_HOLLOW = 150
_LETTER = 5.4


@dataclass(frozen=True, slots=True)
class Plot:
    """One strip, drawn, and how it is read."""

    svg: str
    key: str


def plots(history: LayupHistory) -> tuple[Plot, ...]:
    """Every strip of a history over the same time axis. The marks are numbered in their order."""
    unit = unit_of(history)
    return (
        _temperature(history, unit),
        _humidity(history),
        _spread(history, unit),
        *(_count(history, series, unit) for series in history.counts[:1]),
        *(replace(_count(history, series, unit), key="") for series in history.counts[1:]),
    )


def _strip(
    history: LayupHistory, title: str, values: list[float], height: float, above: float = 0.0
) -> Strip:
    finite = [value for value in values if np.isfinite(value)] or [0.0, 1.0]
    low, high = min(finite), max(finite)
    pad = max(0.08 * (high - low), 0.5)
    start_s = history.start_s
    end_s = max(history.end_s, start_s + _SHORTEST_S)
    return Strip(
        title, start_s, end_s, low - pad, high + pad, height, ZoneInfo(history.zone), above
    )


def _gaps(history: LayupHistory) -> tuple[tuple[float, float], ...]:
    """What no batch's readings cover, each time once."""
    spans = sorted(
        (gap.start.timestamp(), gap.end.timestamp()) for c in history.counts for gap in c.gaps
    )
    joined: list[tuple[float, float]] = []
    for start_s, end_s in spans:
        if joined and start_s <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(end_s, joined[-1][1])
        else:
            joined.append((start_s, end_s))
    return tuple(joined)


def _sheets(history: LayupHistory) -> tuple[Sheet, ...]:
    return tuple({series.sheet.name: series.sheet for series in history.counts}.values())


def _name(stay: StaySeries) -> str:
    return f"{stay.sensor}, {'on the surface' if stay.channel is Channel.SURFACE else 'air'}"


def _named(history: LayupHistory) -> str:
    names = dict.fromkeys(_name(stay) for stay in history.stays)
    dashes = ("full line", "long dashes", "dots", "dash and dot")
    if len(names) < 2:
        return ""
    told = (f"{name}: {dashes[n % len(dashes)]}" for n, name in enumerate(names))
    return " " + "; ".join(told) + "."


def _pen(history: LayupHistory, stay: StaySeries) -> tuple[str, str]:
    names = list(dict.fromkeys(_name(other) for other in history.stays))
    return PENS[names.index(_name(stay)) % len(PENS)]


def _temperature(history: LayupHistory, unit: Unit) -> Plot:
    measured = [
        value
        for stay in history.stays
        for column in (stay.temperature_c, stay.suspect_temperature_c)
        for value in temperatures(column, unit).tolist()
    ]
    limits = [
        temperature(value, unit)
        for sheet in _sheets(history)
        for value in (*(sheet.working_c or ()), *((sheet.floor_c,) if sheet.floor_c else ()))
    ]
    strip = _strip(history, f"Temperature, {sign(unit)}", measured + limits, 150.0, above=16.0)
    for sheet in _sheets(history):
        if sheet.working_c is not None:
            low, high = (temperature(value, unit) for value in sheet.working_c)
            strip.area(
                strip.start_s, strip.end_s, 'class="range" fill="#009E73" fill-opacity="0.1"',
                low, high,
            )  # fmt: skip
            strip.text(strip.x(strip.end_s) - 2, strip.y(high) + 9, "working range", "end", "small")
    strip.hatched(_gaps(history))
    for sheet in _sheets(history):
        if sheet.floor_c is not None:
            floor = temperature(sheet.floor_c, unit)
            strip.across(floor, f"floor {floor:.0f} {sign(unit)}", "5 3")
    for stay in history.stays:
        colour, dash = _pen(history, stay)
        strip.line(*broken(stay.time_s, temperatures(stay.temperature_c, unit)), colour, 1.4, dash)
        shown = thinned(stay.suspect_temperature_c, stay.suspect_time_s, _HOLLOW)
        strip.hollow(
            stay.suspect_time_s[shown],
            temperatures(stay.suspect_temperature_c[shown], unit),
            colour,
        )
    _marks(strip, history, numbered=True)
    return Plot(
        strip.svg("Temperature beside the part over time"),
        "Shaded: the sheet's working range. Dashed across: its floor, below which nothing is "
        "earned. Hatched: nobody measured. Hollow circles: suspect readings, not counted. "
        f"Numbers: what was seen and done, listed below.{_named(history)}",
    )


def _humidity(history: LayupHistory) -> Plot:
    limits = [s.humidity_max_pct for s in _sheets(history) if s.humidity_max_pct is not None]
    values = [v for stay in history.stays for v in stay.humidity_pct.tolist()]
    strip = _strip(history, "Humidity, %", [*values, *limits], 62.0)
    strip.hatched(_gaps(history))
    for limit in dict.fromkeys(limits):
        strip.across(limit, f"at most {limit:g} %", "5 3")
    _columns(strip, history, [stay.humidity_pct for stay in history.stays])
    _marks(strip, history)
    return Plot(strip.svg("Relative humidity over time"), "")


def _spread(history: LayupHistory, unit: Unit) -> Plot:
    limits = [
        difference(sheet.dew_spread_min_c, unit)
        for sheet in _sheets(history)
        if sheet.dew_spread_min_c is not None
    ]
    columns = [differences(stay.spread_c, unit) for stay in history.stays]
    values = [value for column in columns for value in column.tolist()]
    strip = _strip(history, f"Above the dew point, {sign(unit)}", [*values, *limits, 0.0], 78.0)
    strip.hatched(_gaps(history))
    for limit in dict.fromkeys(limits):
        strip.across(limit, f"at least {limit:.1f} {sign(unit)}", "5 3")
    _columns(strip, history, columns)
    _marks(strip, history)
    return Plot(
        strip.svg("How far the part stood above the dew point over time"),
        "Dashed across: what the sheet allows. At 0 dew forms.",
    )


def _columns(strip: Strip, history: LayupHistory, columns: list[FloatArray]) -> None:
    for stay, column in zip(history.stays, columns, strict=True):
        known = np.isfinite(column)
        colour, dash = _pen(history, stay)
        strip.line(*broken(stay.time_s[known], column[known]), colour, 1.2, dash)


def _count(history: LayupHistory, series: CountSeries, unit: Unit) -> Plot:
    factor = count_in(1.0, series.unit, unit)
    low, middle, high = (edge * factor for edge in (series.low, series.middle, series.high))
    needs = sorted(
        (count_in(n[0], series.unit, unit), stage) for stage, n in series.sheet.needs.items()
    )
    reached = np.concatenate([np.zeros(1), low, middle, high])
    most = float(np.nanmax(reached))
    top = max(most, min((need for need, _ in needs if need > most), default=most), 1.0)
    title = f"Count of {series.address}, {count_sign(series.unit, unit)}"
    strip = _strip(history, title, [0.0, 1.05 * top], 120.0)
    strip.low = 0.0
    strip.hatched((g.start.timestamp(), g.end.timestamp()) for g in series.gaps)
    for span in series.parked:
        end_s = strip.end_s if span.end is None else span.end.timestamp()
        strip.area(
            span.start.timestamp(), end_s, 'class="parked" fill="#56B4E9" fill-opacity="0.25"',
            strip.low, strip.high,
        )  # fmt: skip
        strip.text(strip.x(span.start.timestamp()) + 3, strip.top + 9, "parked", style="small over")
    _stage_lines(strip, [(need, STAGE_WORDS[stage]) for need, stage in needs])
    strip.between(series.time_s, low, high, "#0072B2")
    strip.line(series.time_s, low, "#0072B2", 0.6)
    strip.line(series.time_s, high, "#0072B2", 0.6)
    strip.line(series.time_s, middle, "#0072B2", 1.6)
    _marks(strip, history)
    return Plot(
        strip.svg(f"The count of {series.address} over time, with its band"),
        "Band: the same count with the sensor taken colder and warmer. Level lines: what each "
        "stage needs on the sheet; ready only where the band's lower edge has passed it.",
    )


def _stage_lines(strip: Strip, needs: list[tuple[float, str]]) -> None:
    """A line for each need; those too near each other share their words."""
    groups: list[list[tuple[float, str]]] = []
    for need in (need for need in needs if need[0] <= strip.high):
        if groups and strip.y(groups[-1][0][0]) - strip.y(need[0]) < 10.0:
            groups[-1].append(need)
        else:
            groups.append([need])
    for group in groups:
        for value in dict.fromkeys(value for value, _ in group[:-1]):
            strip.across(value, "")
        words = " · ".join(f"{stage} {value:.0f}" for value, stage in group)
        strip.across(group[-1][0], words)


def _marks(strip: Strip, history: LayupHistory, *, numbered: bool = False) -> None:
    shown = [
        (number, mark.at.timestamp())
        for number, mark in enumerate(history.marks, start=1)
        if strip.start_s <= mark.at.timestamp() <= strip.end_s
    ]
    for _, time_s in shown:
        strip.upright(time_s)
    for x, words in _laid_out([(number, strip.x(t)) for number, t in shown]) if numbered else ():
        strip.text(x, strip.above - 4.0, words, "middle", "mark")


def _laid_out(marks: list[tuple[int, float]]) -> list[tuple[float, str]]:
    """Numbers over their lines; where they would lie on each other, `3–5` over the middle."""
    groups: list[list[tuple[int, float]]] = []
    for number, x in marks:
        if groups and x - groups[-1][-1][1] < 3.2 * _LETTER:
            groups[-1].append((number, x))
        else:
            groups.append([(number, x)])
    laid = []
    for group in groups:
        first, last = group[0][0], group[-1][0]
        words = f"{first}" if first == last else f"{first}–{last}"
        laid.append(((group[0][1] + group[-1][1]) / 2.0, words))
    return laid
