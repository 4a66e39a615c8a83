"""A band between two lines, broken wherever its line is, so that nothing is filled in a silence."""

import numpy as np

from dashboards.figures.parts.frame import Drawing
from dashboards.figures.parts.timeline import longest_line_s, numbers
from monitor.records import FloatArray


def fill_between(
    drawing: Drawing,
    panel: int,
    time_s: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    step_s: float,
    fill: str,
    name: str,
    across: bool = False,
) -> None:
    """Each stretch a closed outline; a point that stands for `step_s` seconds is as wide as that.

    `across`: also over silences, for what is known in them.
    """
    x: list[str | None] = []
    y: list[float | None] = []
    for piece in _stretches(time_s, low, high, across):
        along = _widened(time_s[piece], step_s)
        bottom, top = _ends_held(low[piece]), _ends_held(high[piece])
        x += [*drawing.timeline.x(np.concatenate([along, along[::-1], along[:1]])), None]
        y += [*numbers(np.concatenate([bottom, top[::-1], bottom[:1]])), None]
    if x:
        drawing.line(
            panel, x=x, y=y, name=name, fill="toself", mode="none", fillcolor=fill,
            hoverinfo="skip",
        )  # fmt: skip


def _stretches(time_s: FloatArray, low: FloatArray, high: FloatArray, across: bool) -> list[slice]:
    known = np.isfinite(low) & np.isfinite(high)
    apart = np.diff(time_s) > (np.inf if across else longest_line_s(time_s))
    if not known.size:
        return []
    begins = known & ~np.append(False, known[:-1] & ~apart)
    ends = known & ~np.append(known[1:] & ~apart, False)
    return [
        slice(first, last + 1)
        for first, last in zip(np.flatnonzero(begins), np.flatnonzero(ends), strict=True)
    ]


def _widened(time_s: FloatArray, step_s: float) -> FloatArray:
    return np.concatenate([time_s[:1] - step_s / 2.0, time_s, time_s[-1:] + step_s / 2.0])


def _ends_held(column: FloatArray) -> FloatArray:
    return np.concatenate([column[:1], column, column[-1:]])
