"""What is worth saying aloud: pure functions from everything open to what is due now.

Each rule names parts, one fact and one action; where there is nothing to do there is no alert.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

from monitor.alerts.spells import spell_began
from monitor.cautions import HEAT, HOT_CUP
from monitor.cure.beside import StayRead, good, spread_of, trace_of
from monitor.cure.damp import HOLD_S
from monitor.cure.trace import GAP_S
from monitor.overview import BatchView, Beside, LayupView, Overview
from monitor.records import (
    FloatArray,
    Stage,
    Verdict,
)
from monitor.times import from_unix, length_said, said_lasting
from monitor.units import Unit, difference_said, temperature_said

HOT_HOLD_S = 60.0
MARGIN_C = 1.0


@dataclass(frozen=True, slots=True)
class Due:
    """An alert that holds now. One of a rule and key is open at a time."""

    rule: str
    key: str
    began_at: datetime
    parts: tuple[int, ...]
    fact: str
    action: str


@dataclass(frozen=True, slots=True)
class Telling:
    """How the shop wants to read it."""

    zone: tzinfo
    unit: Unit


Rule = Callable[[Overview, Telling], Iterator[Due]]


def out_of_range(seen: Overview, telling: Telling) -> Iterator[Due]:
    """Colder or warmer beside a soft part than its sheet's working range, for 20 minutes."""
    for view, batch, beside in _soft_besides(seen):
        limits = batch.sheet.working_c
        if limits is None:
            continue
        time_s, value_c = _good(beside)
        for cold, limit_c, beyond in (
            (True, limits[0], limits[0] - value_c),
            (False, limits[1], value_c - limits[1]),
        ):
            began_s = _began(time_s, beyond, HOLD_S, seen.at)
            if began_s is None:
                continue
            side = "under" if cold else "over"
            yield Due(
                "out-of-range",
                f"{beside.sensor.name}:{beside.stay.channel}:{side}",
                from_unix(began_s),
                (view.layup.number,),
                f"{temperature_said(float(value_c[-1]), telling.unit)} at {beside.sensor.name}, "
                f"{side} {temperature_said(limit_c, telling.unit)} "
                f"since {said_lasting(from_unix(began_s), telling.zone)}.",
                f"Bring it inside, or tent it and warm it. {HEAT}"
                if cold
                else "Shade it and let air past it; mix smaller cups.",
            )


def dew_near(seen: Overview, telling: Telling) -> Iterator[Due]:
    """A soft part's surface nearer the dew point than its sheet allows, for 20 minutes."""
    for view, batch, beside in _soft_besides(seen):
        limit_c = batch.sheet.dew_spread_min_c
        if limit_c is None:
            continue
        time_s, spread = spread_of(_read(beside))
        began_s = _began(time_s, limit_c - spread, HOLD_S, seen.at)
        if began_s is not None:
            yield Due(
                "dew-near",
                f"{beside.sensor.name}:{beside.stay.channel}",
                from_unix(began_s),
                (view.layup.number,),
                f"{difference_said(float(spread[-1]), telling.unit)} above the dew point at "
                f"{beside.sensor.name}; the sheet wants {difference_said(limit_c, telling.unit)}.",
                f"Tent it and warm it gently: dew spoils a soft surface. {HEAT}",
            )


def silent_sensor(seen: Overview, telling: Telling) -> Iterator[Due]:
    """No usable reading beside a soft part for 15 minutes, or 2.5 of the sensor's own steps."""
    for view, _, beside in _soft_besides(seen):
        trace = trace_of(_read(beside))
        time_s = trace.time_s
        if time_s.size == 0:
            continue
        quiet_s = seen.at.timestamp() - float(time_s[-1])
        if quiet_s > trace.silence_s():
            yield Due(
                "silent-sensor",
                f"{beside.sensor.name}:{beside.stay.channel}",
                from_unix(float(time_s[-1])),
                (view.layup.number,),
                f"No reading from {beside.sensor.name} for {length_said(quiet_s)}.",
                "Look at its plug and its power; nothing is counted at the careful edge meanwhile.",
            )


def hot_part(seen: Overview, telling: Telling) -> Iterator[Due]:
    """Hotter than the sheet lets the part get, for one minute."""
    for view, batch, beside in _besides(seen):
        limit_c = batch.sheet.part_max_c
        if limit_c is None:
            continue
        time_s, value_c = _good(beside)
        began_s = _began(time_s, value_c - limit_c, HOT_HOLD_S, seen.at)
        if began_s is not None:
            yield Due(
                "hot-part",
                f"{beside.sensor.name}:{beside.stay.channel}",
                from_unix(began_s),
                (view.layup.number,),
                f"{temperature_said(float(value_c[-1]), telling.unit)} at {beside.sensor.name}, "
                f"over the sheet's {temperature_said(limit_c, telling.unit)}.",
                f"Clear anything that burns and don't breathe it. {HOT_CUP}",
            )


RULES: tuple[Rule, ...] = (hot_part, dew_near, out_of_range, silent_sensor)


def due_now(seen: Overview, telling: Telling) -> tuple[Due, ...]:
    """Everything due, one for each rule and key with all its parts."""
    merged: dict[tuple[str, str], Due] = {}
    for rule in RULES:
        for due in rule(seen, telling):
            known = merged.get((due.rule, due.key))
            if known is None:
                merged[due.rule, due.key] = due
                continue
            first = known if known.began_at <= due.began_at else due
            parts = tuple(sorted({*known.parts, *due.parts}))
            merged[due.rule, due.key] = replace(first, parts=parts)
    return tuple(merged.values())


def _besides(seen: Overview) -> Iterator[tuple[LayupView, BatchView, Beside]]:
    """Every batch of every open layup with each stay that lasts now, since it was mixed."""
    for view in seen.layups:
        for batch in view.batches:
            start_s = batch.batch.mixed_at.timestamp()
            for beside in batch.watched:
                if beside.since <= seen.at and (beside.until is None or beside.until > seen.at):
                    since_mixed = beside.readings.between(start_s, seen.at.timestamp())
                    yield view, batch, replace(beside, readings=since_mixed)


def _soft_besides(seen: Overview) -> Iterator[tuple[LayupView, BatchView, Beside]]:
    """As `_besides`, for the batches that the weather can still hurt."""
    for view, batch, beside in _besides(seen):
        answer = batch.worked.assessment.stage(Stage.SAND)
        if answer.verdict not in (Verdict.READY, Verdict.WONT_CURE) and answer.opens.late is None:
            yield view, batch, beside


def _good(beside: Beside) -> tuple[FloatArray, FloatArray]:
    read = _read(beside)
    keep = good(read)
    return beside.readings.time_s[keep], read.column_c[keep]


def _read(beside: Beside) -> StayRead:
    return StayRead(beside.readings, beside.stay.channel, beside.stay.nearness)


def _began(time_s: FloatArray, beyond: FloatArray, hold_s: float, now: datetime) -> float | None:
    """The spell that holds, where the readings are recent enough to speak of now."""
    now_s = now.timestamp()
    if time_s.size == 0 or now_s - float(time_s[-1]) > GAP_S:
        return None
    return spell_began(time_s, beyond, hold_s=hold_s, margin=MARGIN_C, now_s=now_s)
