"""A floor that will be crossed soon: said while there is still time to carry the part inside."""

from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, gelled, short_of_flip, soft
from monitor.alerts.rules.cold import NAME as CROSSED
from monitor.alerts.rules.cold import keep_warm, short_said
from monitor.cure.outlook import Outlook
from monitor.records import Alert, Aloud
from monitor.units import SECONDS_PER_HOUR, difference_said

NAME = "floor-ahead"
LEAD_S = 45 * 60.0
"""This soon by the slope, at three moments ten minutes apart: the last half hour's fall goes on."""

STEADY_S = (0.0, 600.0, 1200.0)
KEPT_LEAD_S = 2 * SECONDS_PER_HOUR
"""Once said it stands while it would still come to pass within this."""

SAID_FOR = timedelta(hours=6)
"""Once an evening, however the wind turns."""

AGREED_S = 3 * SECONDS_PER_HOUR
"""The forecast of this place has to go below the floor within this, at its cold edge: a door that
stands open is no nightfall. This project's rules."""


def _find(look: Look) -> Iterator[Due]:
    for near in look.counted:
        floor_c = near.batch.sheet.floor_c
        if floor_c is None or not soft(near.batch, look.now) or not short_of_flip(near.batch):
            continue
        before = look.open(NAME, near.place)
        if before is None and _said_lately(near, look):
            continue
        crossing_s = _crossing(near, floor_c, before, look)
        if crossing_s is None:
            continue
        now = near.slope(near.now_s)
        if now is None:
            continue
        yield Due(
            NAME,
            near.place,
            look.now if before is None else before.began_at,
            (near.part,),
            f"{look.degrees(now[0])} at {near.sensor}, falling "
            f"{difference_said(max(-now[1], 0.0), look.telling.unit)} an hour: under the floor of "
            f"{look.degrees(floor_c)} about {look.at(crossing_s)}.",
            keep_warm(near, look),
            _left(near, look),
            Aloud.ANY_HOUR,
        )


def _said_lately(near: Near, look: Look) -> bool:
    return any(
        (alert.rule, alert.key) == (NAME, near.place) and look.now - alert.raised_at < SAID_FOR
        for alert in look.told
    )


def _left(near: Near, look: Look) -> str:
    if not gelled(near.batch, look.now):
        return "It may not have kicked by then."
    return f"Then it parks {short_said(near, look)}."


def _crossing(near: Near, floor_c: float, before: Alert | None, look: Look) -> float | None:
    """When the floor is crossed, in Unix seconds. None: not soon, or nobody can say."""
    if near.latest_c is None:
        return None
    if before is not None:
        if near.latest_c < floor_c:
            return near.now_s if look.open(CROSSED, near.place) is None else None
        return _by_slope(near, floor_c, near.now_s, KEPT_LEAD_S)
    times = [_by_slope(near, floor_c, near.now_s - ago_s, LEAD_S) for ago_s in STEADY_S]
    if near.latest_c < floor_c or any(at_s is None for at_s in times):
        return None
    by_slope, outlook = times[0], near.batch.case.outlook
    if by_slope is None or not isinstance(outlook, Outlook):
        return by_slope
    soon = outlook.time_s <= near.now_s + AGREED_S
    if not (outlook.low_c[soon] < floor_c).any():
        return None
    below = outlook.middle_c[soon] < floor_c
    if not below.any():
        return by_slope
    return (by_slope + float(outlook.time_s[soon][np.argmax(below)])) / 2.0


def _by_slope(near: Near, floor_c: float, at_s: float, lead_s: float) -> float | None:
    drawn = near.slope(at_s)
    if drawn is None or drawn[1] >= 0.0:
        return None
    ahead_s = max(drawn[0] - floor_c, 0.0) / -drawn[1] * SECONDS_PER_HOUR
    return at_s + ahead_s if ahead_s <= lead_s else None


def _takes_back(look: Look, alert: Alert) -> str | None:
    """It came to pass, or it is hard: no news. Else it falls no more."""
    for near in look.counted:
        floor_c, warm_c = near.batch.sheet.floor_c, near.latest_c
        if near.place == alert.key and floor_c is not None and warm_c is not None:
            if warm_c < floor_c or not short_of_flip(near.batch):
                return None
            return f"{look.degrees(warm_c)} at {near.sensor} and no longer falling."
    return None


RULE = Rule(_find, NAME, _takes_back, passes=True)
