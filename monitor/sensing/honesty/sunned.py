"""A sensor in the sun or in a heater's stream: it gets hot, and the water in the air stays.

Air channels only: a part that cures may run hot by itself.
"""

from collections.abc import Iterator

import numpy as np

from monitor.records import SuspectKind, Suspicion
from monitor.sensing.leaps import leaps
from monitor.sensing.recent import Air, Recent
from monitor.times import from_unix

LEAP_C = 10.0
LEAP_WITHIN_S = 15 * 60.0
DEW_STEADY_C = 1.0
"""Common practice, no source: heated air keeps its dew point, changed air doesn't."""

BACK_WITHIN_C = 2.0
LEVEL_S = 180.0
LEVEL_C = 0.6
"""A fall is over when the next three minutes bring less than this."""
HEATER_BEFORE_S = 30 * 60.0


def find(recent: Recent) -> Iterator[Suspicion]:
    """From the last reading before the leap to the first after an equal fall."""
    air = recent.air()
    done = 0
    for foot, seen in leaps(air.time_s, air.temperature_c, LEAP_C, LEAP_WITHIN_S):
        if foot < done or not _dry_leap(air, foot, seen):
            continue
        foot_s, seen_s = float(air.time_s[foot]), float(air.time_s[seen])
        if recent.heated(foot_s - HEATER_BEFORE_S, seen_s):
            continue
        end = _back(air, foot, seen)
        until = None if end is None else from_unix(air.time_s[end])
        yield Suspicion(SuspectKind.SUNNED, from_unix(foot_s), until)
        if end is None:
            return
        done = end


def _dry_leap(air: Air, foot: int, seen: int) -> bool:
    return abs(float(air.dew_c[seen] - air.dew_c[foot])) <= DEW_STEADY_C


def _back(air: Air, foot: int, seen: int) -> int | None:
    """The first reading in the shade again: as cool as before, or at the end of an equal fall."""
    time_s, value_c = air.time_s[seen:], air.temperature_c[seen:]
    cool = np.flatnonzero(value_c <= air.temperature_c[foot] + BACK_WITHIN_C)
    ends = [int(cool[0])] if cool.size else []
    fall = next(leaps(time_s, -value_c, LEAP_C, LEAP_WITHIN_S), None)
    level = None if fall is None else _levels_off(air, seen + fall[1])
    if level is not None:
        ends.append(level - seen)
    return seen + min(ends) if ends else None


def _levels_off(air: Air, start: int) -> int | None:
    later = np.searchsorted(air.time_s, air.time_s[start:] + LEVEL_S)
    known = later < len(air)
    drop_c = air.temperature_c[start:][known] - air.temperature_c[later[known]]
    level = np.flatnonzero(drop_c < LEVEL_C)
    return start + int(level[0]) if level.size else None
