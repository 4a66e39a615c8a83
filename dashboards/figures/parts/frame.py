"""An empty chart in our dress: panels under one time axis, and the colours.

Grounds are transparent and text has no colour of its own, so that a page sets both by its scheme.
Colours: Okabe and Ito, "Color Universal Design", 2008; those that stand out on white and black.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

from dashboards.figures.parts.timeline import Timeline

BLUE = "#0072B2"
VERMILLION = "#D55E00"
GREEN = "#009E73"
PURPLE = "#CC79A7"
ORANGE = "#E69F00"
SKY = "#56B4E9"

LINES = ((BLUE, "solid"), (VERMILLION, "dash"), (GREEN, "dot"), (PURPLE, "dashdot"))
"""Colour and dash go together: no line is told by its colour alone."""

GREY = "#808080"
FONT = "Palatino, 'Palatino Linotype', 'URW Palladio L', 'Book Antiqua', Georgia, serif"

_BETWEEN_PX = 46
TITLE_PX = 24
"""What a panel's title takes above it."""

_TOP_PX = 30
_BOTTOM_PX = 62


@dataclass(frozen=True, slots=True)
class Panel:
    """One strip of a chart: what stands above it, and its own range of values."""

    title: str
    low: float
    high: float
    height_px: int = 240
    grid: bool = True


def hidden(colour: str, opacity: float) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({red},{green},{blue},{opacity:g})"


def y_name(panel: int) -> str:
    """How a trace or a shape names the panel's axis: y, y2, y3 …"""
    return "y" if panel == 0 else f"y{panel + 1}"


def framed(timeline: Timeline, panels: tuple[Panel, ...]) -> "Figure":
    """A figure with those panels from top to bottom and nothing in them yet."""
    from plotly.graph_objects import Figure

    inner = sum(panel.height_px for panel in panels) + _BETWEEN_PX * (len(panels) - 1)
    axes: dict[str, Any] = {}
    titles = []
    top = float(inner)
    for number, panel in enumerate(panels):
        bottom = top - panel.height_px
        axes["yaxis" + y_name(number)[1:]] = {
            "domain": [max(bottom / inner, 0.0), top / inner],
            "range": [round(panel.low, 2), round(panel.high, 2)],
            "fixedrange": True,
            "zeroline": False,
            "showgrid": panel.grid,
            "gridcolor": hidden(GREY, 0.25),
            "nticks": max(3, panel.height_px // 42),
            "ticksuffix": " ",
        }
        titles.append(_title(panel.title, top / inner))
        top = bottom - _BETWEEN_PX
    return Figure(
        layout={
            "template": "none",
            "paper_bgcolor": "rgba(0,0,0,0)",
            "plot_bgcolor": "rgba(0,0,0,0)",
            "font": {"family": FONT, "size": 14},
            "height": inner + _TOP_PX + _BOTTOM_PX,
            "margin": {"l": 52, "r": 14, "t": _TOP_PX, "b": _BOTTOM_PX},
            "showlegend": False,
            "hovermode": "x unified" if len(panels) == 1 else "x",
            "dragmode": "zoom",
            "xaxis": _time_axis(timeline, y_name(len(panels) - 1)),
            "annotations": titles,
            **axes,
        }
    )


def _title(text: str, y: float) -> dict[str, Any]:
    return {
        "text": f"<i>{text}</i>",
        "x": 0,
        "xref": "paper",
        "xanchor": "left",
        "y": y,
        "yref": "paper",
        "yanchor": "bottom",
        "yshift": 4,
        "showarrow": False,
    }


def _time_axis(timeline: Timeline, anchor: str) -> dict[str, Any]:
    first, last = timeline.x([timeline.start_s, timeline.end_s])
    return {
        "type": "date",
        "range": [first, last],
        "anchor": anchor,
        "nticks": 7,
        "tickformatstops": [
            {"dtickrange": [None, 43_200_000], "value": "%H:%M\n%a %-d %b"},
            {"dtickrange": [43_200_000, None], "value": "%a\n%-d %b"},
        ],
        "hoverformat": "%H:%M %a",
        "gridcolor": hidden(GREY, 0.25),
        "zeroline": False,
        "showline": True,
        "linecolor": GREY,
        "ticks": "outside",
        "tickcolor": GREY,
        # No standoff: with one, a chart drawn anew at times places its title at minus infinity.
        "title": {"text": f"Clock of {timeline.note}", "font": {"size": 12}},
    }
