"""When dew is likely: from the last nights' dew points, never from relative humidity.

Relative humidity swings with the warmth of the air; the dew point of a place changes with its air,
slowly. So the hours to come are taken to have the dew points of the same hours before.
"""

import numpy as np

from monitor.cure.outlook import Course, NoOutlook, Outlook, course
from monitor.records import FloatArray

LOOKED_AHEAD_S = 24 * 3600.0
"""Past a day a dew is only a season. This project's rule."""


def dew_course(time_s: FloatArray, dew_c: FloatArray, now_s: float) -> Course | NoOutlook:
    """The dew points (°C) to come, from those until `now_s` (Unix seconds).

    Valid as `course`. Source: the same hour's dew points of the recent days.
    """
    return course(time_s, dew_c, now_s)


def dew_expected(outlook: Outlook, dew: Course, limit_c: float) -> float | None:
    """When the spread is expected to fall below `limit_c` °C within a day (Unix seconds).

    Now, where it already is. None: not within a day. `outlook` is the surface's own where it has
    a probe. Valid for courses that begin at the same moment. Source: the middle of both guesses.
    """
    spread = outlook.middle_c - np.interp(outlook.time_s, dew.time_s, dew.value)
    near = (spread < limit_c) & (outlook.time_s <= outlook.time_s[0] + LOOKED_AHEAD_S)
    held = near[:-1] & near[1:]  # two quarters of an hour, as a spell takes twenty minutes
    if not held.any():
        return None
    at = int(np.argmax(held))
    if at == 0:
        return float(outlook.time_s[0])
    before, after = float(spread[at - 1]), float(spread[at])
    share = (before - limit_c) / (before - after)
    return float(outlook.time_s[at - 1] + share * (outlook.time_s[at] - outlook.time_s[at - 1]))
