"""Gaps hatched, parked times shaded, marks, alerts and now as thin lines: alike on every chart."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from dashboards.figures.parts.frame import GREY, SKY, VERMILLION, Drawing, hidden, y_name
from dashboards.figures.parts.timeline import Timeline
from dashboards.figures.parts.words import as_words
from monitor.answers.views import LayupHistory
from monitor.records import Gap, Parked

_LANES = 3
_LANE_PX = 16
_LETTER_PX = 6.2
_GAP_PX = 8.0
_MARGINS_PX = 54.0


def hatch(drawing: Drawing, spans: Iterable[tuple[float, float]], panel: int) -> None:
    """Hatch the times (Unix seconds) that nobody measured. None lies after now."""
    timeline, of = drawing.timeline, drawing.panels[panel]
    x: list[str | None] = []
    y: list[float | None] = []
    low, high = round(of.low, 2), round(of.high, 2)
    for start_s, end_s in spans:
        begin, end = max(start_s, timeline.start_s), min(end_s, timeline.end_s, timeline.now_s)
        if begin < end:
            left, right = timeline.x([begin, end])
            x += [left, left, right, right, left, None]
            y += [low, high, high, low, low, None]
    if x:
        drawing.line(
            panel,
            x=x,
            y=y,
            name="not measured",
            fill="toself",
            mode="none",
            hoverinfo="skip",
            fillcolor=hidden(GREY, 0.06),
            fillpattern={
                "shape": "/",
                "size": 9,
                "solidity": 0.16,
                "fgcolor": GREY,
                "bgcolor": hidden(GREY, 0.06),
            },
        )


def unmeasured(gaps: Iterable[Gap]) -> tuple[tuple[float, float], ...]:
    return tuple((gap.start.timestamp(), gap.end.timestamp()) for gap in gaps)


def shade_parked(drawing: Drawing, parked: Iterable[Parked], panel: int) -> None:
    """Shade the times below the floor; one that lasts ends at now."""
    timeline, of = drawing.timeline, drawing.panels[panel]
    until_s = min(timeline.end_s, timeline.now_s)
    word_px = len("parked") * _LETTER_PX
    for span in parked:
        begin = max(span.start.timestamp(), timeline.start_s)
        end = until_s if span.end is None else min(span.end.timestamp(), until_s)
        if begin >= end:
            continue
        left, right = timeline.x([begin, end])
        drawing.shape(
            type="rect", xref="x", yref=y_name(panel), x0=left, x1=right, y0=of.low, y1=of.high,
            layer="below", line={"width": 0}, fillcolor=hidden(SKY, 0.28), name="parked",
        )  # fmt: skip
        if (end - begin) / timeline.length_s * drawing.width_px >= word_px:
            drawing.note(
                x=left, xref="x", xanchor="left", y=of.high, yref=y_name(panel), yanchor="top",
                text="parked",
            )  # fmt: skip


def events(drawing: Drawing, history: LayupHistory) -> None:
    """A thin line through each panel at each mark and alert and at now, and its word above all."""
    timeline = drawing.timeline
    marks = [_Event(m.at, m.kind.replace("-", " ")) for m in history.marks]
    alerts = [
        _Event(a.raised_at, f"! {as_words(a.rule.replace('-', ' '))}") for a in history.alerts
    ]
    now = [_Event(history.at, "now")] if timeline.has_ahead else []
    for name, of, line in (
        ("marks", marks, {"width": 1, "color": GREY, "dash": "dot"}),
        ("alerts", alerts, {"width": 1, "color": VERMILLION, "dash": "dash"}),
        ("now", now, {"width": 1.5, "color": GREY}),
    ):
        _lines(drawing, [event.at for event in of if timeline.inside(event.at)], name, line)
    seen = sorted((e for e in (*marks, *alerts, *now) if timeline.inside(e.at)), key=_when)
    words = _laid_out(seen, timeline, drawing.width_px - _MARGINS_PX)
    for word in words:
        drawing.note(
            x=word.x, xref="x", y=1, yref="paper", yanchor="bottom", xanchor=word.anchor,
            yshift=drawing.panels[0].head_px + word.lane * _LANE_PX, text=word.text,
        )  # fmt: skip
    drawing.above_px += (1 + max((word.lane for word in words), default=-1)) * _LANE_PX


@dataclass(frozen=True, slots=True)
class _Event:
    at: datetime
    word: str


def _when(event: _Event) -> datetime:
    return event.at


def _lines(drawing: Drawing, moments: list[datetime], name: str, line: dict[str, object]) -> None:
    if not moments:
        return
    x = [text for moment in moments for text in (drawing.timeline.at(moment),) * 2]
    for number, panel in enumerate(drawing.panels):
        low, high = round(panel.low, 2), round(panel.high, 2)
        drawing.line(
            number,
            x=[part for i in range(0, len(x), 2) for part in (x[i], x[i + 1], None)],
            y=[low, high, None] * len(moments),
            name=name,
            mode="lines",
            line=line,
            hoverinfo="skip",
        )


@dataclass(slots=True)
class _Word:
    x: str
    anchor: str
    lane: int
    text: str
    more: int = 0


def _laid_out(seen: list[_Event], timeline: Timeline, width_px: float) -> list[_Word]:
    """Words in as many lanes as it takes at this width, three at most, none over another."""
    words: list[_Word] = []
    ends = [-_GAP_PX] * _LANES
    for event in seen:
        left, width = timeline.share(event.at) * width_px, len(event.word) * _LETTER_PX
        anchor = "left" if left + width < width_px else "right"
        begin = left if anchor == "left" else left - width
        lane = next((i for i, end in enumerate(ends) if end + _GAP_PX <= begin), None)
        if lane is None:
            _add_to(words[-1])
            continue
        words.append(_Word(timeline.at(event.at), anchor, lane, event.word))
        ends[lane] = begin + width
    return words


def _add_to(word: _Word) -> None:
    word.more += 1
    word.text = f"{word.text.split(' +')[0]} +{word.more}"
