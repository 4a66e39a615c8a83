"""Heat lost: a part that was held warm is on its own."""

from collections.abc import Iterator

import numpy as np

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, soft
from monitor.alerts.rules.cold import short_said
from monitor.cautions import HEAT
from monitor.cure.damp import HOLD_S
from monitor.records import Aloud, FloatArray, MarkKind, Stage
from monitor.times import from_unix
from monitor.units import SECONDS_PER_HOUR

NAME = "heat-lost"
LOST_C = 3.0
WITHIN_S = 30 * 60.0
FLAT_C = 1.5
"""A thermostat's own swing, about its middle."""

MARKED_H, UNMARKED_H = 1.0, 2.0
"""How long it must have been flat: with a heater marked as on, and without. The air of a day is
never flat for two hours to then fall 3 °C in half an hour. This project's rules."""

_STEP_S = 300.0


def _find(look: Look) -> Iterator[Due]:
    """3 °C in 30 minutes off a plateau, for 20 minutes."""
    for near in look.counted:
        if not soft(near.batch, look.now) or near.latest_c is None:
            continue
        lost = _lost(near)
        if lost is None:
            continue
        began_s, held_c = lost
        yield Due(
            NAME,
            near.place,
            from_unix(began_s),
            (near.part,),
            f"{look.degrees(near.latest_c)} at {near.sensor}, which was held at "
            f"{look.degrees(held_c)} until {look.at(began_s)}.",
            f"See to the heater, or bring the part where it is warm. {HEAT}",
            _left(near, look),
            Aloud.ANY_HOUR,
        )


def _left(near: Near, look: Look) -> str:
    floor_c, drawn = near.batch.sheet.floor_c, near.slope(near.now_s)
    short = f"it is {short_said(near, look)}"
    if near.batch.worked.assessment.stage(Stage.FLIP).opens.late is not None:
        short = "it is not past sand yet"
    if floor_c is None or drawn is None or drawn[1] >= 0.0 or drawn[0] <= floor_c:
        return f"{short[0].upper()}{short[1:]}."
    floor_s = near.now_s + (drawn[0] - floor_c) / -drawn[1] * SECONDS_PER_HOUR
    return f"Under the floor of {look.degrees(floor_c)} about {look.at(floor_s)}; {short}."


def _lost(near: Near) -> tuple[float, float] | None:
    """When the plateau was left, and what it held."""
    time_s, value_c = near.warmth
    if value_c.max() < value_c[-1] + LOST_C:
        return None
    heater = _heater(near)
    if heater is False:
        return None
    flat_s = (MARKED_H if heater else UNMARKED_H) * SECONDS_PER_HOUR
    for left_s in np.arange(near.now_s - HOLD_S - _STEP_S, time_s[0] + flat_s, -_STEP_S):
        held_c = _held(time_s, value_c, float(left_s), flat_s)
        if held_c is not None and _fell(time_s, value_c, float(left_s), held_c, near.now_s):
            inside = time_s <= left_s + _STEP_S
            still = time_s[inside][value_c[inside] >= held_c - FLAT_C]
            return float(still[-1]), held_c
    return None


def _held(time_s: FloatArray, value_c: FloatArray, until_s: float, flat_s: float) -> float | None:
    inside = (time_s >= until_s - flat_s) & (time_s <= until_s)
    plateau = value_c[inside]
    if plateau.size < 4 or time_s[inside][-1] - time_s[inside][0] < 0.75 * flat_s:
        return None
    held_c = float(np.median(plateau))
    return held_c if float(np.abs(plateau - held_c).max()) <= FLAT_C else None


def _fell(
    time_s: FloatArray, value_c: FloatArray, left_s: float, held_c: float, now_s: float
) -> bool:
    """Whether it was 3 °C down within half an hour, and has stayed down for 20 minutes."""
    after = time_s > left_s
    down = np.flatnonzero(value_c[after] <= held_c - LOST_C)
    if down.size == 0:
        return False
    down_s = float(time_s[after][down[0]])
    stayed = bool((value_c[after][down[0] :] <= held_c - LOST_C + 1.0).all())
    return stayed and down_s - left_s <= WITHIN_S + _STEP_S and now_s - down_s >= HOLD_S


def _heater(near: Near) -> bool | None:
    """Whether it was marked as on; off again, somebody did it. None: nobody said."""
    kinds = (MarkKind.HEATER_ON, MarkKind.HEATER_OFF)
    marks = [mark for mark in near.batch.case.marks if mark.kind in kinds]
    if not marks:
        return None
    return max(marks, key=lambda mark: mark.at).kind is MarkKind.HEATER_ON


RULE = Rule(_find, NAME)
