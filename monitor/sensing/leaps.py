"""Where a column of values rises, or falls, faster than the air of a workplace does."""

from collections.abc import Iterator

import numpy as np

from monitor.records import FloatArray


def leaps(
    time_s: FloatArray, value: FloatArray, by: float, within_s: float
) -> Iterator[tuple[int, int]]:
    """Index pairs (foot, seen): value rose by `by` or more within `within_s`, up to `seen`.

    Every reading at which that holds is given, in order. The foot is the last one before the
    steep part: of the readings in the window, the one that lies furthest under the straight line
    from its lowest point to `seen`.
    """
    for seen in _candidates(time_s, value, by, within_s):
        first = int(np.searchsorted(time_s, time_s[seen] - within_s))
        window = value[first : seen + 1]
        low = int(np.argmin(window))
        if value[seen] - window[low] >= by:
            yield first + low + _knee(time_s[first + low : seen + 1], window[low:]), seen


def _candidates(time_s: FloatArray, value: FloatArray, by: float, within_s: float) -> Iterator[int]:
    """Readings in stretches of the window's length that could hold such a rise at all.

    A year goes through here whole, so the slow search is kept for the few that could.
    """
    if len(time_s) < 2:
        return
    bins = np.floor(time_s / within_s)
    starts = np.flatnonzero(np.concatenate(([True], np.diff(bins) > 0)))
    lowest = np.minimum.reduceat(value, starts)
    highest = np.maximum.reduceat(value, starts)
    before = np.concatenate((lowest[:1], lowest[:-1]))
    could = highest - np.minimum(lowest, before) >= by
    ends = np.append(starts[1:], len(time_s))
    for place in np.flatnonzero(could):
        yield from range(int(starts[place]), int(ends[place]))


def _knee(time_s: FloatArray, value: FloatArray) -> int:
    span_s = float(time_s[-1] - time_s[0])
    if span_s <= 0.0:
        return 0
    line = value[0] + (value[-1] - value[0]) * (time_s - time_s[0]) / span_s
    return int(np.argmax(line - value))
