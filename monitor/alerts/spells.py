"""Spells: how long a value has been beyond a limit, with the wait before it counts and the margin
before it is over."""

from itertools import pairwise

import numpy as np

from monitor.cure.trace import GAP_S
from monitor.records import FloatArray


def spell_began(
    time_s: FloatArray, beyond: FloatArray, *, hold_s: float, margin: float, now_s: float
) -> float | None:
    """When the spell that now holds began, in Unix seconds. None: there is none.

    `beyond` is how far each value is past its limit (negative: inside), in the limit's own unit;
    nan is passed over. A spell holds once `beyond` has been above 0 for `hold_s`, and ends when it
    has come `margin` inside. The last reading stands until
    now; a spell isn't carried over a longer silence, for nobody knows what happened in it.
    """
    known = np.isfinite(beyond)
    time_s, beyond = time_s[known], beyond[known]
    over = np.flatnonzero(beyond <= -margin)
    first = int(over[-1]) + 1 if over.size else 0
    time_s, past = time_s[first:], beyond[first:] > 0.0
    if not past.any():
        return None
    broken = np.concatenate(([False], np.diff(time_s) > GAP_S))
    turned = np.concatenate(([True], past[1:] != past[:-1])) | broken
    bounds = np.append(np.flatnonzero(turned), past.size)
    for start, stop in pairwise(bounds.tolist()):
        if not past[start]:
            continue
        if stop == past.size:
            end_s = now_s
        else:
            end_s = float(time_s[stop - 1] if broken[stop] else time_s[stop])
        if end_s - float(time_s[start]) >= hold_s:
            return float(time_s[start])
    return None
