"""A humidity sensor that dew has wetted: it stays at the top while the air warms."""

from collections.abc import Iterator

import numpy as np

from monitor.records import SuspectKind, Suspicion
from monitor.sensing.recent import Recent
from monitor.times import from_unix

WET_PCT = 99.9
WARMED_C = 3.0
WITHIN_S = 6 * 3600.0
"""Common practice, no source. In still air the dew point would have to climb as fast."""


def find(recent: Recent) -> Iterator[Suspicion]:
    """From the coolest reading of the wet spell to the first drier one. Its temperature counts."""
    air = recent.air()
    wet = np.concatenate(([False], air.humidity_pct >= WET_PCT, [False]))
    edges = np.flatnonzero(np.diff(wet.astype(np.int8)))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        time_s, value_c = air.time_s[start:stop], air.temperature_c[start:stop]
        if float(np.ptp(value_c)) <= WARMED_C:
            continue
        coolest = _warmed(time_s.tolist(), value_c.tolist())
        if coolest is not None:
            until = from_unix(air.time_s[stop]) if stop < len(air) else None
            yield Suspicion(SuspectKind.STUCK_WET, from_unix(time_s[coolest]), until)


def _warmed(time_s: list[float], value_c: list[float]) -> int | None:
    """The coolest reading of the last hours at the moment the air has warmed too far."""
    coolest = 0
    for place, value in enumerate(value_c):
        if value <= value_c[coolest]:
            coolest = place
        elif time_s[place] - time_s[coolest] > WITHIN_S:
            coolest = min(range(coolest + 1, place + 1), key=value_c.__getitem__)
        if value - value_c[coolest] > WARMED_C:
            return coolest
    return None
