"""A sensor carried to another place: temperature and dew point leap together, and stay there.

This is a question to the person and flags nothing: the readings are true of wherever it is.
"""

from collections.abc import Iterator

import numpy as np

from monitor.records import FloatArray, SuspectKind, Suspicion
from monitor.sensing.leaps import leaps
from monitor.sensing.recent import Air, Recent
from monitor.times import from_unix

LEAP_C = 5.0
LEAP_WITHIN_S = 600.0
DEW_LEAP_C = 2.0
STAYS_S = 20 * 60.0
STAYS_SHARE = 0.7
"""Common practice, no source; an opened door comes back within minutes."""
LOOKED_BEFORE_S = 30 * 60.0
HEATER_BEFORE_S = 30 * 60.0


def find(recent: Recent) -> Iterator[Suspicion]:
    """Each leap that stayed, from the reading before it to the one that ended it."""
    air = recent.air()
    found = sorted(
        (foot, seen)
        for sign in (1.0, -1.0)
        for foot, seen in leaps(air.time_s, sign * air.temperature_c, LEAP_C, LEAP_WITHIN_S)
    )
    done_s = -np.inf
    for foot, seen in found:
        foot_s, seen_s = float(air.time_s[foot]), float(air.time_s[seen])
        if foot_s < done_s or not _stays(air, foot, seen):
            continue
        if recent.heated(foot_s - HEATER_BEFORE_S, seen_s):
            continue
        done_s = seen_s + STAYS_S
        yield Suspicion(SuspectKind.MOVED, from_unix(foot_s), from_unix(seen_s))


def _stays(air: Air, foot: int, seen: int) -> bool:
    """Both leapt, away from where they had been for a while, and for a while stay there."""
    if float(air.time_s[-1]) < float(air.time_s[seen]) + STAYS_S:
        return False
    first = int(np.searchsorted(air.time_s, air.time_s[foot] - LOOKED_BEFORE_S))
    last = int(np.searchsorted(air.time_s, air.time_s[seen] + STAYS_S, "right"))
    return all(
        _stayed(value[seen:last] - np.median(value[first : foot + 1]), by)
        for value, by in ((air.temperature_c, LEAP_C), (air.dew_c, DEW_LEAP_C))
    )


def _stayed(away: FloatArray, by: float) -> bool:
    return bool(abs(away[0]) >= by and np.all(np.sign(away[0]) * away >= STAYS_SHARE * by))
