"""An empty chart in our dress: panels under one time axis, and the colours.

Grounds are transparent and text has no colour of its own, so that a page sets both by its scheme.
Colours: Okabe and Ito, "Color Universal Design", 2008; those that stand out on white and black.
"""

from dataclasses import dataclass, field
from typing import Any

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

_BETWEEN_PX = 22
TITLE_PX = 24
_UNDER_PX = 17
_BOTTOM_PX = 66
_LEFT_PX, _RIGHT_PX = 46, 8


@dataclass(frozen=True, slots=True)
class Panel:
    """One strip of a chart: what stands above it in one line or two, and its range of values."""

    title: str
    low: float
    high: float
    height_px: int = 240
    grid: bool = True
    numbers: bool = True
    under: str = ""

    @property
    def head_px(self) -> int:
        return TITLE_PX + (_UNDER_PX if self.under else 0)


def hidden(colour: str, opacity: float) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({red},{green},{blue},{opacity:g})"


def y_name(panel: int) -> str:
    """How a trace or a shape names the panel's axis: y, y2, y3 …"""
    return "y" if panel == 0 else f"y{panel + 1}"


@dataclass(slots=True)
class Drawing:
    """What a chart is made of, to be told to the plotting library in its own words."""

    timeline: Timeline
    panels: tuple[Panel, ...]
    width_px: int
    above_px: float = 0.0
    """Room for words above the first panel."""
    _traces: list[dict[str, Any]] = field(default_factory=list)
    _shapes: list[dict[str, Any]] = field(default_factory=list)
    _notes: list[dict[str, Any]] = field(default_factory=list)

    def line(self, panel: int = 0, **given: Any) -> None:
        """A trace of points against time in one panel."""
        self._traces.append({"type": "scatter", "yaxis": y_name(panel), **given})

    def shape(self, **given: Any) -> None:
        self._shapes.append(given)

    def note(self, **given: Any) -> None:
        self._notes.append({"showarrow": False, "font": {"size": 12}, **given})

    def spec(self) -> dict[str, Any]:
        """Data and layout, as plotly takes them."""
        inner = sum(p.height_px for p in self.panels)
        inner += sum(p.head_px + _BETWEEN_PX for p in self.panels[1:])
        head_px = self.above_px + self.panels[0].head_px + 6
        bottom_px = _BOTTOM_PX + (_UNDER_PX if self.timeline.changes else 0)
        return {
            "data": self._traces,
            "layout": {
                "template": "none",
                "paper_bgcolor": "rgba(0,0,0,0)",
                "plot_bgcolor": "rgba(0,0,0,0)",
                "font": {"family": FONT, "size": 14},
                "height": inner + head_px + bottom_px,
                "margin": {"l": _LEFT_PX, "r": _RIGHT_PX, "t": head_px, "b": bottom_px},
                "showlegend": False,
                "hovermode": "x unified",
                "hoversubplots": "axis",
                "dragmode": "zoom",
                "xaxis": _time_axis(self.timeline, y_name(len(self.panels) - 1)),
                "shapes": self._shapes,
                "annotations": [*self._axes_titles(inner), *self._notes],
                "meta": _meta(self.timeline),
                **self._axes(inner),
            },
        }

    def _tops(self, inner: float) -> list[float]:
        tops, top = [], inner
        for panel, following in zip(self.panels, (*self.panels[1:], None), strict=True):
            tops.append(top)
            top -= panel.height_px + _BETWEEN_PX
            top -= 0 if following is None else following.head_px
        return tops

    def _axes(self, inner: float) -> dict[str, Any]:
        return {
            "yaxis" + y_name(number)[1:]: {
                "domain": [max((top - panel.height_px) / inner, 0.0), top / inner],
                "range": [round(panel.low, 2), round(panel.high, 2)],
                "fixedrange": True,
                "zeroline": False,
                "showgrid": panel.grid,
                "gridcolor": hidden(GREY, 0.25),
                "nticks": max(3, panel.height_px // 42),
                "ticksuffix": " ",
                "showticklabels": panel.numbers,
            }
            for number, (panel, top) in enumerate(zip(self.panels, self._tops(inner), strict=True))
        }

    def _axes_titles(self, inner: float) -> list[dict[str, Any]]:
        return [
            {
                "text": f"<i>{panel.title}</i>"
                + (f'<br><span style="font-size:12px">{panel.under}</span>' if panel.under else ""),
                "x": 0,
                "xref": "paper",
                "xanchor": "left",
                "align": "left",
                "y": top / inner,
                "yref": "paper",
                "yanchor": "bottom",
                "yshift": 3,
                "showarrow": False,
            }
            for panel, top in zip(self.panels, self._tops(inner), strict=True)
        ]


def _meta(timeline: Timeline) -> dict[str, Any]:
    """What the page needs to read times off the axis."""
    return {
        "start_s": timeline.start_s,
        "end_s": timeline.end_s,
        "now_s": timeline.now_s,
        "offset_s": timeline.offset_s,
        "whole_s": list(timeline.whole_s),
        "said": timeline.said,
        "shifts": [[timeline.x([at_s])[0], by_s] for at_s, by_s in timeline.shifts],
    }


def _time_axis(timeline: Timeline, anchor: str) -> dict[str, Any]:
    first, last = timeline.x([timeline.start_s, timeline.end_s])
    changes = f"<br>{timeline.changes}" if timeline.changes else ""
    return {
        "type": "date",
        "range": [first, last],
        "anchor": anchor,
        "tickmode": "array",
        "tickvals": timeline.x([time_s for time_s, _ in timeline.ticks]),
        "ticktext": [text for _, text in timeline.ticks],
        "tickangle": 0,
        "hoverformat": "%H:%M %a %-d %b",
        "gridcolor": hidden(GREY, 0.25),
        "zeroline": False,
        "showline": True,
        "linecolor": GREY,
        "ticks": "outside",
        "tickcolor": GREY,
        # No standoff: with one, a chart drawn anew at times places its title at minus infinity.
        "title": {"text": f"Clock of {timeline.zone}{changes}", "font": {"size": 12}},
    }
