"""How far a logger's clock is off, by the same warmth that a live sensor felt."""

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from monitor.records import TEMPERATURE_FLAGS, FloatArray, Readings

FURTHEST_MIN = 180
STEP_S = 60.0
LIVELY_C = 1.5
"""A file that hardly changes says nothing about when."""
LEAST_OVERLAP_MIN = 45
BETTER = 0.5
GOOD_C = 1.5
LEAST_MIN = 5
"""Common practice, no source: nearer than this may be the sensors' own lag."""


def clock_off(file: Readings, live: Readings) -> timedelta | None:
    """How slow the file's clock is (below nothing: fast); None where nothing speaks for it.

    Both are compared around their own means, as one may stand warmer. Valid for files that change
    by a few degrees beside the live sensor. Source: this project's rule.
    """
    ours, theirs = _good(file), _good(live)
    if ours is None or theirs is None:
        return None
    start_s, end_s = float(ours[0][0]), float(ours[0][-1])
    grid_s = np.arange(start_s, end_s + 1.0, STEP_S)
    if grid_s.size < LEAST_OVERLAP_MIN:
        return None
    own_c = np.interp(grid_s, *ours)
    if float(np.std(own_c)) < LIVELY_C:
        return None
    miss = {lag: _miss(grid_s + 60.0 * lag, own_c, *theirs) for lag in _LAGS}
    best = min(_LAGS, key=lambda lag: (miss[lag], abs(lag)))
    if abs(best) < LEAST_MIN or miss[best] > min(GOOD_C, BETTER * miss[0]):
        return None
    return timedelta(minutes=best)


_LAGS: Sequence[int] = range(-FURTHEST_MIN, FURTHEST_MIN + 1)


def _good(readings: Readings) -> tuple[FloatArray, FloatArray] | None:
    keep = np.isfinite(readings.temperature_c) & ((readings.flags & TEMPERATURE_FLAGS) == 0)
    if np.count_nonzero(keep) < 2:
        return None
    return readings.time_s[keep], readings.temperature_c[keep]


def _miss(at_s: FloatArray, own_c: FloatArray, time_s: FloatArray, value_c: FloatArray) -> float:
    inside = (at_s >= time_s[0]) & (at_s <= time_s[-1])
    if np.count_nonzero(inside) < max(LEAST_OVERLAP_MIN, own_c.size // 2):
        return float("inf")
    apart = own_c[inside] - np.interp(at_s[inside], time_s, value_c)
    return float(np.std(apart))
