"""Two sensors that say the same to the last digit: one address, or one port, read twice."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from monitor.records import FloatArray, Readings, SuspectKind, Suspicion
from monitor.sensing.recent import Recent
from monitor.times import from_unix

ALIKE = 30
"""So many readings in a row, and among them so many different ones: more than chance."""
TRIED = ALIKE // 2
"""Of so many readings one is tried first: two that are alike for long are alike there too."""
DIFFERENT = 5
TOGETHER_S = 2.0


def find(recent: Recent) -> Iterator[Suspicion]:
    """Of two alike the one that was there first is believed; the other is doubted while it lasts.

    Two sensors whose lines come less than 2 s apart can be told to be one; slower ones can't.
    """
    own = recent.readings
    for other in recent.others:
        if not _alike(_every(own, TRIED), other).any():
            continue
        alike = _alike(own, other)
        edges = np.flatnonzero(np.diff(np.concatenate(([False], alike, [False])).astype(np.int8)))
        for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            values = np.unique(_values(own)[start:stop], axis=0)
            if stop - start >= ALIKE and len(values) >= DIFFERENT:
                until = from_unix(own.time_s[stop]) if stop < len(own) else None
                since_s = float(own.time_s[start - 1]) if start else float(own.time_s[0]) - 1e-6
                yield Suspicion(SuspectKind.SAME_STREAM, from_unix(since_s), until)


def _alike(own: Readings, other: Readings) -> NDArray[np.bool_]:
    """Which of its readings the other has too, within two seconds."""
    alike = np.zeros(len(own), bool)
    if not len(other):
        return alike
    right = np.searchsorted(other.time_s, own.time_s)
    for place in (right - 1, right):
        near = np.minimum(np.maximum(place, 0), len(other) - 1)
        together = np.abs(other.time_s[near] - own.time_s) <= TOGETHER_S
        for mine, theirs in zip(_columns(own), _columns(other), strict=True):
            if not together.any():
                break
            together &= (mine == theirs[near]) | (np.isnan(mine) & np.isnan(theirs[near]))
        alike |= together
    return alike


def _every(readings: Readings, step: int) -> Readings:
    return Readings(
        readings.time_s[::step],
        readings.temperature_c[::step],
        readings.humidity_pct[::step],
        readings.surface_c[::step],
        readings.flags[::step],
    )


def _columns(readings: Readings) -> tuple[FloatArray, FloatArray, FloatArray]:
    return readings.temperature_c, readings.humidity_pct, readings.surface_c


def _values(readings: Readings) -> FloatArray:
    return np.column_stack([np.nan_to_num(column, nan=-1e9) for column in _columns(readings)])
