"""Can I start, and until when: tonight taken to be like last night."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

import numpy as np

from monitor.air import dew_point_c
from monitor.answers.here import here_in
from monitor.answers.start import Sealing, StartSaid, start_json, start_said
from monitor.answers.under import Under
from monitor.answers.wording import STAGE_WORDS
from monitor.cautions import HEAT
from monitor.cure.law import Law, opening_law
from monitor.cure.plan import DAY_S, Heat, Nights, Reach, latest_mix, nights_like_last, reach
from monitor.cure.start import Here
from monitor.cure.trace import BAND_C
from monitor.errors import BadInput
from monitor.records import HUMIDITY_FLAGS, TEMPERATURE_FLAGS, Nearness, Readings, Sheet, Stage
from monitor.times import from_unix, iso_utc, parse_instant, said
from monitor.units import (
    Unit,
    c_from_f,
    f_degrees_from_c_degrees,
    temperature_said,
)

GUESS = "A guess: tonight like last night."
_HEAT = re.compile(r"(-?\d+(?:\.\d+)?)\s*(?:from)\s+(\S+)\s+(?:to)\s+(\S+)")


@dataclass(frozen=True, slots=True)
class Latest:
    """The latest time to mix before one cold, at the careful edge and with luck."""

    careful: datetime
    with_luck: datetime
    too_cold_at: datetime
    """When the middle line falls below the floor."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What to know before mixing for a stage. Times are guesses, all on one basis."""

    sheet: Sheet
    stage: Stage
    need: float
    now: datetime
    latest: tuple[Latest, ...]
    """The next cold, and the one after. Empty: no cold is ahead."""
    gel_late: datetime | None
    reached_careful: datetime | None
    reached_middle: datetime | None
    by_cold: tuple[float, float] | None
    """The careful and the middle count when it first gets too cold, if mixed now."""
    start: StartSaid
    """Whether to start now: measured, but for the dew to come."""
    heat: str | None
    start_first: bool
    """Whether the start is what was asked for, or forbids it: else how long it would hold leads."""


@dataclass(frozen=True, slots=True)
class Task:
    """The batch that is about to be mixed: what is measured where, and what it goes over."""

    here: Here
    below: Under | None
    waxed: bool


def parse_heat(text: str, now: datetime, zone: tzinfo, unit: Unit) -> Heat:
    """`21 from 18:00 to 22:00`, in the shop's degrees and zone."""
    found = _HEAT.fullmatch(text.strip())
    if found is None:
        raise BadInput(f"{text!r} is no heat.", 'Write it as "21 from 18:00 to 22:00".')
    held = float(found[1])
    start = parse_instant(found[2], now=now, zone=zone, clock="next")
    end = parse_instant(found[3], now=start, zone=zone, clock="next")
    return Heat(c_from_f(held) if unit == "f" else held, start.timestamp(), end.timestamp())


def plan_for(
    sheet: Sheet,
    stage: Stage,
    readings: Readings,
    now: datetime,
    zone: tzinfo,
    unit: Unit,
    heat: Heat | None = None,
    nearness: Nearness = Nearness.BESIDE,
    task: Task | None = None,
) -> Plan:
    """A plan from the last day's readings. Raises BadInput where nothing can be planned."""
    law = opening_law(sheet)
    needs = sheet.needs.get(stage)
    if law is None or needs is None:
        raise BadInput(
            f"{sheet.name} doesn't say when {STAGE_WORDS[stage]} comes.",
            "Ask the maker, and type it into the sheet.",
        )
    keep = np.isfinite(readings.temperature_c) & ((readings.flags & TEMPERATURE_FLAGS) == 0)
    nights = nights_like_last(readings.time_s[keep], readings.temperature_c[keep], now.timestamp())
    if nights is None:
        raise BadInput(
            "There is less than 12 hours of this place to plan by, or its sensor is silent.",
            "Leave the sensor where you will work, and ask again tomorrow.",
        )
    if heat is not None:
        nights = nights.heated(heat)
    band_c = BAND_C[nearness]
    careful = nights.shifted(-band_c)
    waxed = task.waxed if task else stage is Stage.SEALED
    now_s, floor, need = now.timestamp(), sheet.floor_c, needs[0]
    low = reach(careful, law, floor, now_s, need)
    middle = reach(nights, law, floor, now_s, need)
    start = start_said(
        sheet,
        task.here if task else here_in(readings, now),
        task.below if task else None,
        _sealing(nights, careful, law, sheet, readings) if waxed else None,
        zone,
        unit,
        now,
        waxed=waxed,
    )
    gel = sheet.needs.get(Stage.GEL)
    gel_late = reach(careful, law, floor, now_s, gel[0]).reached_s if gel else None
    return Plan(
        sheet,
        stage,
        need,
        now,
        tuple(_latest(careful, nights, law, sheet, need, now_s)),
        None if gel_late is None else from_unix(gel_late),
        _moment(low),
        _moment(middle),
        None if low.by_stop is None or middle.by_stop is None else (low.by_stop, middle.by_stop),
        start,
        None if heat is None else _heat_said(heat, zone, now, unit),
        task is not None or start.verdict in ("no-go", "not-yet"),
    )


def _moment(told: Reach) -> datetime | None:
    return None if told.reached_s is None else from_unix(told.reached_s)


def _latest(
    careful: Nights, nights: Nights, law: Law, sheet: Sheet, need: float, now_s: float
) -> Iterator[Latest]:
    for after_s in (now_s, now_s + DAY_S):
        low = latest_mix(careful, law, sheet.floor_c, need, after_s)
        middle = latest_mix(nights, law, sheet.floor_c, need, after_s)
        if low is not None and middle is not None:
            yield Latest(from_unix(low[0]), from_unix(middle[0]), from_unix(middle[1]))


def _sealing(
    nights: Nights, careful: Nights, law: Law, sheet: Sheet, readings: Readings
) -> Sealing | None:
    """The first dew within a day, if the dew points come again as they were, against the seal."""
    needs = sheet.needs.get(Stage.SEALED)
    if needs is None:
        return None
    now_s = float(nights.time_s[0])
    low = reach(careful, law, sheet.floor_c, now_s, needs[0])
    middle = reach(nights, law, sheet.floor_c, now_s, needs[0])
    usable = (readings.flags & (TEMPERATURE_FLAGS | HUMIDITY_FLAGS)) == 0
    dew_c = dew_point_c(readings.temperature_c, readings.humidity_pct)
    usable &= np.isfinite(dew_c)
    dews = nights_like_last(readings.time_s[usable], dew_c[usable], now_s)
    dew_at = None
    if dews is not None and sheet.dew_spread_min_c is not None:
        near = nights.temperature_c - dews.temperature_c < sheet.dew_spread_min_c
        near &= nights.time_s <= now_s + DAY_S
        dew_at = from_unix(float(nights.time_s[np.argmax(near)])) if near.any() else None
    return Sealing(dew_at, _moment(middle), _moment(low))


def _heat_said(heat: Heat, zone: tzinfo, now: datetime, unit: Unit) -> str:
    start, end = from_unix(heat.start_s), from_unix(heat.end_s)
    return (
        f"With a heater that holds {temperature_said(heat.held_c, unit)} from "
        f"{said(start, zone, now)} to {said(end, zone, now)}."
    )


def plan_lines(plan: Plan, zone: tzinfo, unit: Unit) -> Iterator[str]:
    """The answer first, then what a cup mixed now would do, then what it rests on."""
    stage = STAGE_WORDS[plan.stage]
    if plan.start_first:
        yield from plan.start.lines
    if plan.latest:
        yield from _deadlines(plan, stage, zone)
    else:
        free = plan.start.verdict not in ("no-go", "not-yet")
        yield f"No cold is ahead that would stop it{': any time will do' if free else ''}."
    yield _mixed_now(plan, stage, zone, unit)
    if not plan.start_first:
        yield from plan.start.lines
    if plan.heat is not None:
        yield f"{plan.heat} {HEAT}"
    yield GUESS


def _deadlines(plan: Plan, stage: str, zone: tzinfo) -> Iterator[str]:
    now, first = plan.now, plan.latest[0]
    careful, luck = said(first.careful, zone, now), said(first.with_luck, zone, now)
    cold = said(first.too_cold_at, zone, now)
    if first.careful >= now:
        yield f"To reach {stage} before it is too cold ({cold}), mix before {careful}."
        return
    if first.with_luck >= now:
        yield (
            f"To reach {stage} before it is too cold ({cold}) it should have been mixed before "
            f"{careful}; until {luck} only with luck."
        )
    else:
        yield (
            f"Only work you can leave soft: to reach {stage} before it is too cold ({cold}) it had "
            f"to be mixed before {careful} ({luck} with luck)."
        )
    if len(plan.latest) > 1:
        yield f"Next time: mix before {said(plan.latest[1].careful, zone, now)}."


def _mixed_now(plan: Plan, stage: str, zone: tzinfo, unit: Unit) -> str:
    def counted(value: float) -> str:
        linear = plan.sheet.count_unit == "dh"
        return f"{f_degrees_from_c_degrees(value) if linear and unit == 'f' else value:.0f}"

    words = "Mixed now"
    if plan.gel_late is not None:
        words += f" it gels about {said(plan.gel_late, zone, plan.now)}"
    reached = plan.reached_careful
    first_cold = plan.latest[0].too_cold_at if plan.latest else None
    if reached is not None and (first_cold is None or reached <= first_cold):
        return f"{words}; {stage} after {said(reached, zone, plan.now)}."
    if plan.by_cold is not None and first_cold is not None:
        low, middle = plan.by_cold
        words += (
            f" and is at about {counted(middle)} ({counted(low)} at the careful edge) of "
            f"{counted(plan.need)} by {said(first_cold, zone, plan.now)}, then parks"
        )
    if reached is None:
        return f"{words}; {stage} not within three days."
    return f"{words}; {stage} after {said(reached, zone, plan.now)}."


def plan_json(plan: Plan) -> dict[str, Any]:
    """The same for scripts."""

    def time(moment: datetime | None) -> str | None:
        return None if moment is None else iso_utc(moment)

    return {
        "sheet": plan.sheet.name,
        "stage": plan.stage.value,
        "needs": plan.need,
        "basis": GUESS,
        "start": start_json(plan.start),
        "latest_mix": [
            {
                "careful": time(latest.careful),
                "with_luck": time(latest.with_luck),
                "too_cold_at": time(latest.too_cold_at),
            }
            for latest in plan.latest
        ],
        "mixed_now": {
            "gel_late": time(plan.gel_late),
            "reached_careful": time(plan.reached_careful),
            "reached_middle": time(plan.reached_middle),
            "count_when_too_cold": None
            if plan.by_cold is None
            else {"careful": plan.by_cold[0], "middle": plan.by_cold[1]},
        },
        "heat": plan.heat,
    }
