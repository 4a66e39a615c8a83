"""Figures ten times too big or too small: a decimal point that got lost on the way."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from monitor.records import Readings, SuspectKind, Suspicion
from monitor.sensing.recent import Recent
from monitor.times import from_unix

IN_A_ROW = 20
TIMES_TEN_PCT = (150.0, 1000.0)
A_TENTH_PCT = (0.0, 10.0)
A_TENTH_C = 6.0
"""Under 10 % and within 6 degrees of frost: no air of a workplace. Common practice, no source."""


def find(recent: Recent) -> Iterator[Suspicion]:
    """Where twenty readings in a row are so, all of them; asked once."""
    readings = recent.readings
    odd = np.concatenate(([False], _odd(readings), [False]))
    edges = np.flatnonzero(np.diff(odd.astype(np.int8)))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if stop - start >= IN_A_ROW:
            since_s = float(readings.time_s[start - 1]) if start else float(readings.time_s[0]) - 1
            until = from_unix(readings.time_s[stop]) if stop < len(readings) else None
            yield Suspicion(SuspectKind.SCALED, from_unix(since_s), until)


def _odd(readings: Readings) -> NDArray[np.bool_]:
    air_c, humidity_pct = readings.temperature_c, readings.humidity_pct
    big = (humidity_pct > TIMES_TEN_PCT[0]) & (humidity_pct <= TIMES_TEN_PCT[1])
    small = (humidity_pct > A_TENTH_PCT[0]) & (humidity_pct < A_TENTH_PCT[1])
    odd: NDArray[np.bool_] = (big & np.isfinite(air_c)) | (small & (np.abs(air_c) <= A_TENTH_C))
    return odd
