"""Below the sheet's floor while a part is short of flip: parked, and rubbery in the morning."""

from collections.abc import Iterator

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, flip_of, gelled, short_of_flip, soft
from monitor.cautions import HEAT
from monitor.cure.damp import HOLD_S
from monitor.cure.verdict import COLD_BEFORE_GEL_HOURS
from monitor.records import Aloud
from monitor.times import from_unix, length_said
from monitor.units import SECONDS_PER_HOUR

NAME = "below-floor"
EVENING_H, MORNING_H = 15, 6


def _find(look: Look) -> Iterator[Due]:
    """For 20 minutes."""
    for near in look.counted:
        floor_c = near.batch.sheet.floor_c
        if floor_c is None or not soft(near.batch, look.now) or not short_of_flip(near.batch):
            continue
        time_s, value_c = near.warmth
        began_s = near.spell_s(floor_c - value_c, time_s, HOLD_S)
        if began_s is not None:
            yield Due(
                NAME,
                near.place,
                from_unix(began_s),
                (near.part,),
                f"{look.degrees(float(value_c[-1]))} at {near.sensor}, under the floor of "
                f"{look.degrees(floor_c)} since {look.at(began_s)}.",
                keep_warm(near, look),
                _left(near, look, began_s),
                Aloud.ANY_HOUR,
            )


def keep_warm(near: Near, look: Look) -> str:
    """The one thing to do, with the warmth that the sheet names."""
    working = near.batch.sheet.working_c
    at_least = "" if working is None else f" and keep it at {look.degrees(working[0])} or more"
    return f"Bring it inside, or tent it{at_least}. {HEAT}"


def _left(near: Near, look: Look, began_s: float) -> str:
    if not gelled(near.batch, look.now):
        by_s = began_s + COLD_BEFORE_GEL_HOURS * SECONDS_PER_HOUR
        return f"It has not kicked by the count: after {look.at(by_s)} it may stay soft for good."
    clock = look.now.astimezone(look.telling.zone).hour
    until = "by morning" if clock >= EVENING_H or clock < MORNING_H else "until it is warm again"
    return f"Parked {short_said(near, look)}: it will be rubbery {until}."


def short_said(near: Near, look: Look) -> str:
    """`43 short of flip at the careful edge, 4 h 47 min at 15.0 °C`"""
    stage, working = flip_of(near.batch), near.batch.sheet.working_c
    missing = near.short_of(stage)
    if missing is None:
        return "before it is hard"
    hours = None if working is None else near.hours_to(stage, working[0])
    at = ""
    if hours is not None and working is not None:
        at = f", {length_said(hours * SECONDS_PER_HOUR)} at {look.degrees(working[0])}"
    return f"{missing:.0f} short of {stage.value} at the careful edge{at}"


RULE = Rule(_find, NAME)
