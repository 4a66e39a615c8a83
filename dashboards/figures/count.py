"""Each batch's count over time, with its band, against the stages of its own sheet."""

import numpy as np

from dashboards.figures.parts.bands import fill_between
from dashboards.figures.parts.degrees import count_in, count_sign, unit_of
from dashboards.figures.parts.frame import BLUE, GREY, PURPLE, Drawing, Panel, hidden, y_name
from dashboards.figures.parts.spans import events, hatch, shade_parked, unmeasured
from dashboards.figures.parts.timeline import Timeline, numbers, pen
from dashboards.figures.parts.told import Told, evenly, figure, moment_said
from dashboards.figures.parts.words import as_words
from monitor.answers.views import CountAhead, CountSeries, LayupHistory
from monitor.answers.wording import STAGE_WORDS
from monitor.records import FloatArray, Stage
from monitor.units import Unit

TITLE = "The count"
KEY = (
    "Line: the count. Band: its low and high edge. Flat lines: what the sheet's stages need. "
    "Hatched: nobody measured. Shaded: parked, below the floor. After now: a guess, dashed, with "
    "a dotted band that holds four times in five."
)

_HEIGHT_PX = 280
_LABEL_SHARE = 0.062
"""Stage lines nearer to each other than this share of the height share one label."""
_LETTER_PX, _MARGIN_PX = 6.2, 60
_WORTH = 2.5
"""A stage further above what is seen than so many times its height is told, not drawn."""
_FIRST = 40.0
"""What is drawn of a count that has only begun: up to the first stages."""


def draw(history: LayupHistory) -> Drawing:
    """One strip a batch, in the order in which they were mixed."""
    timeline = Timeline.of(history)
    unit = unit_of(history)
    panels = tuple(_panel(series, history, unit) for series in history.counts)
    drawing = Drawing(
        timeline,
        panels or (Panel("no batch mixed yet", 0.0, 100.0, _HEIGHT_PX),),
        history.width_px,
    )
    for number, series in enumerate(history.counts):
        _stage_lines(drawing, series, number, unit)
        shade_parked(drawing, series.parked, number)
        hatch(drawing, unmeasured(series.gaps), number)
        _curves(drawing, series, number, unit)
        if series.ahead is not None and timeline.has_ahead:
            _guess(drawing, series, series.ahead, number, unit)
    events(drawing, history)
    return drawing


def tell(history: LayupHistory) -> Told:
    """Where each count stands, how it may go on, and some points along the way."""
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
        if series.ahead is not None and history.end_s > history.at.timestamp():
            low, middle, high = _edges(series.ahead, unit, series.unit)
            sentences.append(
                f"A guess ({series.ahead.basis}): {figure(middle[-1], 0)} "
                f"({figure(low[-1], 0)} to {figure(high[-1], 0)}) "
                f"at {moment_said(series.ahead.time_s[-1], history)}."
            )
            low, middle, high = _edges(series, unit)
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


def _edges(
    of: CountSeries | CountAhead, unit: Unit, count_unit: str = ""
) -> tuple[FloatArray, FloatArray, FloatArray]:
    counted_in = of.unit if isinstance(of, CountSeries) else count_unit
    factor = count_in(1.0, counted_in, unit)
    return of.low * factor, of.middle * factor, of.high * factor


def _lines(series: CountSeries, unit: Unit) -> list[tuple[float, str]]:
    """What each stage needs to open, lowest first, with its word.

    Where a window shuts is no line here: that runs on a count without floor and cap.
    """
    lines = []
    for stage, needs in series.sheet.needs.items():
        value = count_in(needs[0], series.unit, unit)
        lines.append((value, f"{_word(stage)} {value:.0f}"))
    return sorted(lines)


def _word(stage: Stage) -> str:
    return STAGE_WORDS[stage].removesuffix(" without sanding")


def _panel(series: CountSeries, history: LayupHistory, unit: Unit) -> Panel:
    """High enough for what is seen of the count, and the next stage above it where that is near."""
    low, middle, high = _edges(series, unit)
    begun_s = series.mixed_at.timestamp()
    length_s = history.end_s - history.start_s
    whole = history.start_s <= begun_s + 0.02 * length_s or not low.size
    least = 0.0 if whole else float(np.nanmin(low))
    counted = float(np.nanmax(np.concatenate([[least], low, middle, high])))
    guessed = series.ahead is not None and history.end_s > history.at.timestamp()
    most = counted
    if series.ahead is not None and guessed:
        # The guess's edges may run far off the top; its middle is kept in sight.
        most = max(most, float(np.max(_edges(series.ahead, unit, series.unit)[1])))
    next_up = min((value for value, _ in _lines(series, unit) if value > counted), default=most)
    reach = _WORTH * max(most - least, _FIRST if whole else 0.0)
    top = max(most, next_up if next_up - least <= reach else most, least + 1.0)
    basis = ""
    if series.ahead is not None and guessed:
        basis = f"dashed after now: a guess, {as_words(series.ahead.basis)}"
    return Panel(
        f"{as_words(series.address)}: {count_sign(series.unit, unit)}",
        least,
        least + 1.12 * (top - least),
        _HEIGHT_PX,
        grid=False,
        under=basis,
    )


def _stage_lines(drawing: Drawing, series: CountSeries, number: int, unit: Unit) -> None:
    panel = drawing.panels[number]
    lines = _lines(series, unit)
    shown = [(value, text) for value, text in lines if panel.low <= value <= panel.high]
    for value in sorted({value for value, _ in shown}):
        drawing.shape(
            type="line", xref="paper", x0=0, x1=1, yref=y_name(number), y0=value, y1=value,
            line={"color": GREY, "width": 1}, layer="below", name="stage",
        )  # fmt: skip
    for value, text in _labels(shown, panel.high - panel.low, drawing.width_px):
        drawing.note(
            x=0, xref="paper", xanchor="left", xshift=3, y=value, yref=y_name(number),
            yanchor="bottom", text=text,
        )  # fmt: skip


def _labels(
    lines: list[tuple[float, str]], height: float, width_px: int
) -> list[tuple[float, str]]:
    """One label a line, or one for several that lie too near each other to be read.

    Of more than fit in the width, the first and the last.
    """
    groups: list[list[tuple[float, str]]] = []
    for line in lines:
        if groups and line[0] - groups[-1][0][0] < _LABEL_SHARE * height:
            groups[-1].append(line)
        else:
            groups.append([line])
    labels = []
    for group in groups:
        text = " · ".join(word for _, word in group)
        if len(text) * _LETTER_PX > width_px - _MARGIN_PX:
            text = f"{group[0][1]} … {group[-1][1]}"
        labels.append((group[-1][0], text))
    return labels


def _curves(drawing: Drawing, series: CountSeries, number: int, unit: Unit) -> None:
    low, middle, high = _edges(series, unit)
    x = drawing.timeline.x(series.time_s)
    fill_between(
        drawing, number, series.time_s, low, high, step_s=0.0, fill=hidden(BLUE, 0.22),
        name="low to high", across=True,
    )  # fmt: skip
    for name, column, width in (("low", low, 0.8), ("high", high, 0.8), ("middle", middle, 2.5)):
        drawing.line(
            number,
            x=x,
            y=numbers(column),
            name=name,
            mode=pen(column),
            line={"width": width, "color": BLUE},
            hovertemplate=f"%{{y:.0f}} {count_sign(series.unit, unit)}",
        )


def _guess(
    drawing: Drawing, series: CountSeries, ahead: CountAhead, number: int, unit: Unit
) -> None:
    """How the count may go on: lines and a band of their own, from now on."""
    low, middle, high = _edges(ahead, unit, series.unit)
    x = drawing.timeline.x(ahead.time_s)
    fill_between(
        drawing, number, ahead.time_s, low, high, step_s=0.0, fill=hidden(PURPLE, 0.14),
        name="guess, low to high", across=True,
    )  # fmt: skip
    for name, column, line in (
        ("guess, low", low, {"width": 1.2, "color": PURPLE, "dash": "dot"}),
        ("guess, high", high, {"width": 1.2, "color": PURPLE, "dash": "dot"}),
        ("guess", middle, {"width": 2.5, "color": PURPLE, "dash": "dash"}),
    ):
        drawing.line(
            number,
            x=x,
            y=numbers(column),
            name=name,
            mode="lines",
            line=line,
            hovertemplate=f"%{{y:.0f}} {count_sign(series.unit, unit)}",
        )


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
