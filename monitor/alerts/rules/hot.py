"""Hotter than the sheet lets a part get."""

from collections.abc import Iterator

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near
from monitor.cautions import HOT_CUP
from monitor.records import Aloud
from monitor.times import from_unix

NAME = "hot-part"
HOLD_S = 60.0
RISING_C_PER_MIN = 2.0
RISING_OVER_S = 300.0


def _find(look: Look) -> Iterator[Due]:
    """For one minute; whatever the hour, however hard the part."""
    for near in look.watched:
        limit_c = near.batch.sheet.part_max_c
        if limit_c is None:
            continue
        time_s, value_c = near.warmth
        began_s = near.spell_s(value_c - limit_c, time_s, HOLD_S)
        if began_s is not None:
            rising = " and rising fast" if _rising(near) else ""
            yield Due(
                NAME,
                near.place,
                from_unix(began_s),
                (near.part,),
                f"{look.degrees(float(value_c[-1]))} at {near.sensor}{rising}, "
                f"over the sheet's {look.degrees(limit_c)}.",
                f"Clear anything that burns and don't breathe it. {HOT_CUP}",
                "No time to lose.",
                Aloud.ANY_HOUR,
            )


def _rising(near: Near) -> bool:
    time_s, value_c = near.warmth
    recent = time_s >= time_s[-1] - RISING_OVER_S
    minutes = (time_s[recent][-1] - time_s[recent][0]) / 60.0
    gained_c = float(value_c[recent][-1] - value_c[recent][0])
    return bool(minutes > 0.0 and gained_c / minutes >= RISING_C_PER_MIN)


RULE = Rule(_find, NAME)
