"""One strip of a printed plot as SVG: a time axis below, values at the left, and what is drawn.

Ink only: every line is told by its dash, every area by its hatching, so a copy in grey still says
it. Colours are Okabe and Ito's (2008), as on the pages.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import tzinfo

import numpy as np

from dashboards.figures.parts.words import as_words
from dashboards.printed.axis import round_ticks, time_ticks
from monitor.records import FloatArray

WIDTH = 720.0
LEFT, RIGHT = 40.0, 8.0
_TITLE, _FOOT = 15.0, 30.0
INK, QUIET, RULE = "#16150f", "#55524a", "#b9b4a6"


@dataclass(slots=True)
class Strip:
    """A drawing in the making. Times are Unix seconds, values in the strip's own unit."""

    title: str
    start_s: float
    end_s: float
    low: float
    high: float
    height: float
    zone: tzinfo
    above: float = 0.0
    """Room over the title for the numbers of the marks."""
    _parts: list[str] = field(default_factory=list)

    @property
    def top(self) -> float:
        return self.above + _TITLE

    @property
    def bottom(self) -> float:
        return self.top + self.height

    def x(self, time_s: float) -> float:
        share = (time_s - self.start_s) / (self.end_s - self.start_s)
        return LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.bottom - min(max(share, 0.0), 1.0) * self.height

    def add(self, part: str) -> None:
        self._parts.append(part)

    def text(self, x: float, y: float, words: str, anchor: str = "start", style: str = "") -> None:
        look = f' class="{style}"' if style else ""
        self.add(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{look}>{as_words(words)}</text>'
        )

    def area(self, start_s: float, end_s: float, look: str, low: float, high: float) -> None:
        """A rectangle between two times and two values."""
        left, right = self.x(start_s), self.x(end_s)
        if right <= left:
            return
        top, bottom = self.y(high), self.y(low)
        self.add(
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" '
            f'height="{bottom - top:.1f}" {look}/>'
        )

    def hatched(self, spans: Iterable[tuple[float, float]]) -> None:
        """Times that nobody measured."""
        for start_s, end_s in spans:
            self.area(start_s, end_s, 'class="hatch" fill="url(#hatch)"', self.low, self.high)

    def across(self, value: float, words: str, dash: str = "") -> None:
        """A line at a value, with its words at the right end."""
        if not self.low <= value <= self.high:
            return
        y = self.y(value)
        self.add(
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" '
            f'stroke="{QUIET}" stroke-width="0.8"{_dashed(dash)}/>'
        )
        self.text(WIDTH - RIGHT - 2, y - 2.5, words, "end", "small over")

    def upright(self, time_s: float) -> None:
        """A thin line at a time: a mark."""
        x = self.x(time_s)
        self.add(
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{self.top:.1f}" y2="{self.bottom:.1f}" '
            f'stroke="{QUIET}" stroke-width="0.7" stroke-dasharray="1 2"/>'
        )

    def line(
        self,
        time_s: FloatArray,
        values: FloatArray,
        colour: str,
        width: float = 1.4,
        dash: str = "",
    ) -> None:
        """A line through the values, lifted from the paper wherever one is nan."""
        strokes: list[str] = []
        down = False
        for t, value in zip(time_s.tolist(), values.tolist(), strict=True):
            if value != value:
                down = False
                continue
            strokes.append(f"{'L' if down else 'M'}{self.x(t):.1f} {self.y(value):.1f}")
            down = True
        if strokes:
            self.add(
                f'<path d="{"".join(strokes)}" fill="none" stroke="{colour}" '
                f'stroke-width="{width}" stroke-linejoin="round" stroke-linecap="round"'
                f"{_dashed(dash)}/>"
            )

    def between(self, time_s: FloatArray, low: FloatArray, high: FloatArray, colour: str) -> None:
        """The area between two columns, where both are known."""
        known = np.isfinite(low) & np.isfinite(high)
        if not known.any():
            return
        there = [
            f"{self.x(t):.1f},{self.y(v):.1f}"
            for t, v in zip(time_s[known].tolist(), high[known].tolist(), strict=True)
        ]
        back = [
            f"{self.x(t):.1f},{self.y(v):.1f}"
            for t, v in zip(time_s[known].tolist(), low[known].tolist(), strict=True)
        ][::-1]
        self.add(f'<polygon points="{" ".join(there + back)}" fill="{colour}" fill-opacity="0.2"/>')

    def hollow(self, time_s: FloatArray, values: FloatArray, colour: str) -> None:
        """Suspect readings: circles with nothing in them."""
        for t, value in zip(time_s.tolist(), values.tolist(), strict=True):
            self.add(
                f'<circle class="suspect" cx="{self.x(t):.1f}" cy="{self.y(value):.1f}" r="2.4" '
                f'fill="#ffffff" stroke="{colour}" stroke-width="0.9"/>'
            )

    def svg(self, told: str) -> str:
        """The strip as one SVG element; `told` says it to those who don't see it."""
        height = self.bottom + _FOOT
        return (
            f'<svg viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" '
            f'aria-label="{as_words(told)}" xmlns="http://www.w3.org/2000/svg">'
            f"{self._grid()}{''.join(self._parts)}{self._frame()}</svg>"
        )

    def _grid(self) -> str:
        rules = []
        for value in round_ticks(self.low, self.high, max(3, int(self.height // 22))):
            y = self.y(value)
            rules.append(
                f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" '
                f'stroke="{RULE}" stroke-width="0.4"/>'
                f'<text x="{LEFT - 5}" y="{y + 3:.1f}" text-anchor="end" class="small">'
                f"{value:g}</text>"
            )
        return "".join(rules)

    def _frame(self) -> str:
        parts = [
            f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{self.bottom:.1f}" '
            f'y2="{self.bottom:.1f}" stroke="{INK}" stroke-width="0.9"/>',
            f'<text x="{LEFT}" y="{self.top - 5:.1f}" class="title">{as_words(self.title)}</text>',
        ]
        for tick in time_ticks(self.start_s, self.end_s, self.zone):
            x = self.x(tick.time_s)
            anchor = "middle" if LEFT + 22 < x < WIDTH - RIGHT - 22 else _edge(x)
            parts.append(
                f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{self.bottom:.1f}" '
                f'y2="{self.bottom + 4:.1f}" stroke="{INK}" stroke-width="0.9"/>'
            )
            words = [word for word in (tick.clock, tick.day) if word]
            parts += [
                f'<text x="{x:.1f}" y="{self.bottom + 14 + 11 * row:.1f}" '
                f'text-anchor="{anchor}" class="small">{as_words(word)}</text>'
                for row, word in enumerate(words)
            ]
        return "".join(parts)


def _edge(x: float) -> str:
    return "start" if x < WIDTH / 2 else "end"


def _dashed(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""
