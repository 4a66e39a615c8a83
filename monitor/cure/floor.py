"""Time below the floor: parked spans, and how long before gel."""

from dataclasses import dataclass

import numpy as np

from monitor.cure.exposure import Exposure
from monitor.cure.trace import GAP_S
from monitor.records import FloatArray
from monitor.units import SECONDS_PER_HOUR

HELD_S = 20 * 60.0
"""At or above the floor this long ends a parked span. This project's rule."""


@dataclass(frozen=True)
class Below:
    """Spans of the middle line below a temperature, as columns of Unix seconds.

    `open`: the last one still runs at the exposure's end.
    """

    start_s: FloatArray
    end_s: FloatArray
    open: bool

    def hours_until(self, time_s: float) -> float:
        """Hours spent below until then. Valid for any time. Source: straight lines, exact."""
        ends = np.minimum(self.end_s, time_s)
        return float(np.maximum(ends - self.start_s, 0.0).sum()) / SECONDS_PER_HOUR


def below(exposure: Exposure, floor_c: float) -> Below:
    """When the middle line was below `floor_c` °C, from mixing until now.

    Gaps follow the middle's straight line. Valid for any exposure. Source: straight lines, exact.
    """
    time_s, line_c = _middle_line(exposure)
    cold = line_c < floor_c
    turns = np.flatnonzero(cold[1:] != cold[:-1])
    if turns.size:
        step_c = line_c[turns + 1] - line_c[turns]
        share = (floor_c - line_c[turns]) / step_c
        at_s = time_s[turns] + share * (time_s[turns + 1] - time_s[turns])
    else:
        at_s = np.empty(0)
    if cold.size and cold[0]:
        at_s = np.concatenate((time_s[:1], at_s))
    still = bool(cold.size and cold[-1])
    if still:
        at_s = np.concatenate((at_s, time_s[-1:]))
    return Below(at_s[0::2], at_s[1::2], still)


def joined(before: Below, after: Below) -> Below:
    """Spans until a knot and from it on, as one, in Unix seconds.

    Valid for spans that meet at the same knot. Source: this project's rule.
    """
    if before.start_s.size == 0:
        return after
    if not before.open or after.start_s.size == 0:
        return Below(
            np.concatenate((before.start_s, after.start_s)),
            np.concatenate((before.end_s, after.end_s)),
            after.open,
        )
    return Below(
        np.concatenate((before.start_s, after.start_s[1:])),
        np.concatenate((before.end_s[:-1], after.end_s)),
        after.open,
    )


def parked_spans(spans: Below, exposure: Exposure, until_s: float | None) -> Below:
    """Below-floor spans, those less than 20 minutes apart made one, none begun after `until_s`.

    A span not yet left for 20 minutes is still open. Valid for `spans` of the same exposure.
    Source: this project's rule.
    """
    start, end = spans.start_s, spans.end_s
    if until_s is not None:
        keep = start < until_s
        start, end = start[keep], end[keep]
    if start.size == 0:
        return Below(start, end, False)
    apart = start[1:] - end[:-1] >= HELD_S
    merged_start = start[np.concatenate(([True], apart))]
    merged_end = end[np.concatenate((apart, [True]))]
    still = exposure.now_s - float(merged_end[-1]) < HELD_S
    return Below(merged_start, merged_end, still)


def fresh(exposure: Exposure) -> bool:
    """Whether the last reading is at most 15 minutes old. Valid for any exposure.

    Source: this project's rule.
    """
    return exposure.time_s.size > 0 and exposure.now_s - float(exposure.time_s[-1]) <= GAP_S


def _middle_line(exposure: Exposure) -> tuple[FloatArray, FloatArray]:
    edge = exposure.middle
    time_s = exposure.time_s[edge.first :]
    line_c = exposure.temperature_c[edge.first :]
    if edge.head is not None:
        time_s = np.concatenate(([edge.head.start_s], time_s))
        line_c = np.concatenate(([edge.head.start_c], line_c))
    if edge.tail is not None:
        if time_s.size == 0:
            time_s, line_c = np.array([edge.tail.start_s]), np.array([edge.tail.start_c])
        time_s = np.concatenate((time_s, [edge.tail.end_s]))
        line_c = np.concatenate((line_c, [edge.tail.end_c]))
    return time_s, line_c
