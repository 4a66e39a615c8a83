"""The wrong weather while somebody is mixing: there is still a cup that needn't be mixed."""

from collections.abc import Iterator
from datetime import timedelta

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, gelled
from monitor.cure.trace import GAP_S
from monitor.records import Aloud, Channel, Nearness
from monitor.times import from_unix
from monitor.units import difference_said

NAME = "mixing-weather"
WHILE = timedelta(minutes=30)


def _find(look: Look) -> Iterator[Due]:
    """At once, for half an hour from mixing: nobody mixes for twenty minutes to find out."""
    for near in look.surfaces:
        mixed_at = near.batch.batch.mixed_at
        if not mixed_at <= look.now < mixed_at + WHILE or gelled(near.batch, look.now):
            continue
        against = _wet(near, look) or _outside(near, look)
        if against is not None:
            fact, action = against
            yield Due(
                NAME,
                near.place,
                from_unix(mixed_at.timestamp()),
                (near.part,),
                fact,
                action,
                "There is time: the next cup is not mixed yet.",
                Aloud.BY_DAY,
            )


def _wet(near: Near, look: Look) -> tuple[str, str] | None:
    limit_c, (time_s, spread) = near.batch.sheet.dew_spread_min_c, near.spread
    if limit_c is None or time_s.size == 0 or near.now_s - float(time_s[-1]) > GAP_S:
        return None
    spread_c = float(spread[-1])
    if spread_c >= limit_c:
        return None
    unit = look.telling.unit
    if spread_c <= 0.0:
        where = "surface is" if near.beside.stay.channel is Channel.SURFACE else "air is"
        return f"The {where} at the dew point at {near.sensor}: wet.", "Don't bond: dry it first."
    return (
        f"{difference_said(spread_c, unit)} above the dew point at {near.sensor}; the sheet wants "
        f"{difference_said(limit_c, unit)}.",
        "Wait with the next cup until it is drier, or warm the surface first.",
    )


def _outside(near: Near, look: Look) -> tuple[str, str] | None:
    limits, warm_c = near.batch.sheet.working_c, near.latest_c
    if near.beside.stay.nearness is Nearness.PROBE:
        return None  # it feels the part's own heat
    if limits is None or warm_c is None or limits[0] <= warm_c <= limits[1]:
        return None
    cold = warm_c < limits[0]
    limit_c = limits[0] if cold else limits[1]
    return (
        f"{look.degrees(warm_c)} at {near.sensor}, {'under' if cold else 'over'} the sheet's "
        f"{look.degrees(limit_c)}.",
        "Wait with the next cup, or warm the place first."
        if cold
        else "Shade it, and mix smaller cups.",
    )


RULE = Rule(_find, NAME, passes=True)
