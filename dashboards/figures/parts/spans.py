"""Gaps hatched, parked times shaded, marks as thin lines with a word: alike on every chart."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

from dashboards.figures.parts.frame import GREY, SKY, TITLE_PX, Panel, hidden, y_name
from dashboards.figures.parts.timeline import Timeline
from monitor.records import Gap, Mark, Parked

_LANES = 3
_LANE_PX = 16
_PHONE_PX = 320.0
_LETTER_PX = 6.2
_GAP_PX = 8.0


def hatch(
    figure: "Figure",
    timeline: Timeline,
    spans: Iterable[tuple[float, float]],
    panel: int,
    of: Panel,
) -> None:
    """Hatch the times (Unix seconds) that nobody measured."""
    x: list[str | None] = []
    y: list[float | None] = []
    low, high = round(of.low, 2), round(of.high, 2)
    for start_s, end_s in spans:
        begin, end = max(start_s, timeline.start_s), min(end_s, timeline.end_s)
        if begin < end:
            left, right = timeline.x([begin, end])
            x += [left, left, right, right, left, None]
            y += [low, high, high, low, low, None]
    if x:
        figure.add_scatter(
            x=x,
            y=y,
            yaxis=y_name(panel),
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


def shade_parked(
    figure: "Figure", timeline: Timeline, parked: Iterable[Parked], panel: int, of: Panel
) -> None:
    """Shade the times below the floor."""
    for span in parked:
        begin = max(span.start.timestamp(), timeline.start_s)
        end = timeline.end_s if span.end is None else min(span.end.timestamp(), timeline.end_s)
        if begin < end:
            left, right = timeline.x([begin, end])
            figure.add_shape(
                type="rect",
                xref="x",
                yref=y_name(panel),
                x0=left,
                x1=right,
                y0=of.low,
                y1=of.high,
                layer="below",
                line_width=0,
                fillcolor=hidden(SKY, 0.28),
                name="parked",
            )
            figure.add_annotation(
                x=left,
                xref="x",
                xanchor="left",
                # Below the lanes of the windows.
                y=of.low + 0.8 * (of.high - of.low),
                yref=y_name(panel),
                yanchor="top",
                text="parked",
                showarrow=False,
                font_size=12,
            )


def mark_lines(figure: "Figure", timeline: Timeline, marks: Iterable[Mark]) -> None:
    """A thin line through all panels at each mark, and its word above the chart."""
    seen = [mark for mark in marks if timeline.inside(mark.at)]
    for mark in seen:
        x = timeline.at(mark.at)
        figure.add_shape(
            type="line",
            xref="x",
            yref="paper",
            x0=x,
            x1=x,
            y0=0,
            y1=1,
            line={"width": 1, "color": GREY, "dash": "dot"},
            name="mark",
        )
    words = _laid_out(seen, timeline)
    for word in words:
        figure.add_annotation(
            x=word.x,
            xref="x",
            y=1,
            yref="paper",
            yshift=TITLE_PX + word.lane * _LANE_PX,
            yanchor="bottom",
            xanchor=word.anchor,
            text=word.text,
            showarrow=False,
            font_size=12,
        )
    lanes = 1 + max((word.lane for word in words), default=-1)
    figure.update_layout(
        margin_t=figure.layout.margin.t + lanes * _LANE_PX,
        height=figure.layout.height + lanes * _LANE_PX,
    )


@dataclass(slots=True)
class _Word:
    x: str
    anchor: str
    lane: int
    text: str
    more: int = 0


def _laid_out(marks: list[Mark], timeline: Timeline) -> list[_Word]:
    """Words of marks in as many lanes as it takes on a phone, three at most, none over another."""
    words: list[_Word] = []
    ends = [-_GAP_PX] * _LANES
    for mark in marks:
        text = mark.kind.replace("-", " ")
        left, width = timeline.share(mark.at) * _PHONE_PX, len(text) * _LETTER_PX
        anchor = "left" if left + width < _PHONE_PX else "right"
        begin = left if anchor == "left" else left - width
        lane = next((i for i, end in enumerate(ends) if end + _GAP_PX <= begin), None)
        if lane is None:
            _add_to(words[-1])
            continue
        words.append(_Word(timeline.at(mark.at), anchor, lane, text))
        ends[lane] = begin + width
    return words


def _add_to(word: _Word) -> None:
    word.more += 1
    word.text = f"{word.text.split(' +')[0]} +{word.more}"
