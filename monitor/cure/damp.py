"""Damp spells: when a surface stood too near the dew point for long enough to matter."""

import numpy as np

from monitor.cure.trace import GAP_S
from monitor.records import FloatArray

HOLD_S = 20 * 60.0
"""Shorter than this is a breath of air. This project's rule."""


def damp_spells(
    time_s: FloatArray, spread_c: FloatArray, limit_c: float
) -> tuple[tuple[float, float], ...]:
    """Spells of 20 minutes and more with the spread below `limit_c` °C: (start, end) Unix seconds.

    `time_s` and `spread_c` are of equal length in time order; nan is passed over, and a silence
    over 15 minutes ends a spell. Valid for any length. Source: this project's rule.
    """
    return spells(time_s, limit_c - spread_c)


def spells(time_s: FloatArray, beyond: FloatArray) -> tuple[tuple[float, float], ...]:
    """Spells of 20 minutes and more with `beyond` above 0: (start, end) in Unix seconds.

    Valid for columns of equal length in time order. Source: this project's rule.
    """
    known = np.isfinite(beyond)
    time_s, past = time_s[known], beyond[known] > 0.0
    if not past.any():
        return ()
    broken = np.concatenate(([True], np.diff(time_s) > GAP_S))
    turned = np.concatenate(([True], past[1:] != past[:-1])) | broken
    starts = np.flatnonzero(turned)
    stops = np.append(starts[1:], past.size)
    # A spell lasts until the first reading that ends it, or its own last where silence follows.
    ends = np.where(
        (stops < past.size) & ~broken[np.minimum(stops, past.size - 1)], stops, stops - 1
    )
    kept = past[starts] & (time_s[ends] - time_s[starts] >= HOLD_S)
    return tuple(
        (float(time_s[start]), float(time_s[end]))
        for start, end in zip(starts[kept], ends[kept], strict=True)
    )
