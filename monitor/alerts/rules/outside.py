"""Outside the sheet's working range: slower or quicker than it says. The page alone has it."""

from collections.abc import Iterator

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, soft
from monitor.cautions import HEAT
from monitor.cure.damp import HOLD_S
from monitor.records import Aloud, Nearness
from monitor.times import from_unix

NAME = "out-of-range"


def _find(look: Look) -> Iterator[Due]:
    """For 20 minutes, beside a soft part."""
    for near in look.counted:
        limits = near.batch.sheet.working_c
        if limits is None or not soft(near.batch, look.now):
            continue
        time_s, value_c = near.warmth
        for cold, limit_c, beyond in (
            (True, limits[0], limits[0] - value_c),
            (False, limits[1], value_c - limits[1]),
        ):
            began_s = near.spell_s(beyond, time_s, HOLD_S)
            # A probe in the part feels its own heat, which is not the weather's.
            if began_s is None or (not cold and near.beside.stay.nearness is Nearness.PROBE):
                continue
            side = "under" if cold else "over"
            yield Due(
                NAME,
                f"{near.place}:{side}",
                from_unix(began_s),
                (near.part,),
                f"{look.degrees(float(value_c[-1]))} at {near.sensor}, {side} "
                f"{look.degrees(limit_c)} since {look.at(began_s)}.",
                f"Bring it inside, or tent it and warm it. {HEAT}"
                if cold
                else "Shade it and let air past it; mix smaller cups.",
                "It cures slower than the sheet says." if cold else "Cups and windows are shorter.",
                Aloud.PAGE,
            )


RULE = Rule(_find, NAME, passes=True)
