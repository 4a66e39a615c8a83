"""No readings in the hours that matter."""

from collections.abc import Iterator
from datetime import timedelta

from monitor.alerts.due import Due, Rule
from monitor.alerts.look import Look, Near, gelled, soft
from monitor.cure.beside import trace_of
from monitor.overview import COATS
from monitor.records import Aloud
from monitor.times import from_unix

NAME = "silent-sensor"
LATER_S = 3600.0
FIRST_HOURS_OF_A_COAT = timedelta(hours=2)


def _find(look: Look) -> Iterator[Due]:
    """After 15 minutes before gel and in a coat's first two hours, later in the cure after 60;
    never before 2.5 of the sensor's own steps."""
    silent = [near for near in look.counted if soft(near.batch, look.now) and _quiet(near, look)]
    matters = {near.place for near in silent if _early(near, look)}
    for near in silent:
        early = near.place in matters
        if early == _early(near, look):
            yield _due(near, look, early)


def _quiet(near: Near, look: Look) -> bool:
    silence_s = trace_of(near.read).silence_s()
    return near.now_s - _last_s(near) > (
        silence_s if _early(near, look) else max(silence_s, LATER_S)
    )


def _last_s(near: Near) -> float:
    time_s = near.warmth[0]
    since_s = max(near.batch.batch.mixed_at, near.beside.since).timestamp()
    return float(time_s[-1]) if time_s.size else since_s


def _due(near: Near, look: Look, early: bool) -> Due:
    last_s = _last_s(near)
    return Due(
        NAME,
        near.place if early else f"{near.place}:later",
        from_unix(last_s),
        (near.part,),
        f"No reading from {near.sensor} since {look.at(last_s)}.",
        "Look at its plug and its power.",
        f"{near.name} had not kicked by the count: what it goes through now decides."
        if early and not gelled(near.batch, look.now)
        else "Nothing is counted at the careful edge meanwhile.",
        Aloud.ANY_HOUR if early else Aloud.BY_DAY,
    )


def _early(near: Near, look: Look) -> bool:
    """As it stood when it was last heard: a long silence makes nothing later."""
    last_s = _last_s(near)
    coat = near.batch.batch.role in COATS or near.batch.sheet.role == "gel-coat"
    if coat and from_unix(last_s) <= near.batch.batch.mixed_at + FIRST_HOURS_OF_A_COAT:
        return True
    return not gelled(near.batch, look.now)


RULE = Rule(_find, NAME)
