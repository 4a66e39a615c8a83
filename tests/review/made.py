"""Layups made for a review: straight lines of warmth and humidity, marks at hours after mixing."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from monitor.assess import Case, assess
from monitor.cure.beside import StayRead, damp_times, spread_of
from monitor.cure.mixing import Weighed, judge_mix
from monitor.records import (
    Channel,
    Count,
    Edges,
    Mark,
    MarkKind,
    Nearness,
    Readings,
    Role,
    Sheet,
    Stage,
)
from monitor.review.parts.facts import (
    BatchFacts,
    CoatUnder,
    Extreme,
    Facts,
    Span,
    Tin,
    TinJob,
    Weather,
)
from monitor.review.parts.symptoms import Answers
from monitor.times import from_unix
from tests.scenarios import at, sheet

MIXED = at("2026-05-02T08:00:00Z")
Knots = Sequence[tuple[float, float]]
"""(hours after mixing, value), straight lines between."""

STEADY: Knots = ((0, 20), (72, 20))
COLD_NIGHT: Knots = ((0, 17), (4, 11), (10, 6), (16, 5))
"""Gelled in time, then 10 hours below 10 °C."""
COLD_AT_ONCE: Knots = ((0, 12), (0.5, 9), (10, 6), (16, 5))
DRY: Knots = ((0, 50), (72, 50))
DAMP: Knots = ((0, 97), (72, 97))

LAMINATING = sheet("P1", air_inhibited=True)
GEL_COAT = sheet("G1", wax_temperature_c=(18.0, 32.0), wet_film_mm=(0.4, 0.6))
THICKENED = sheet("B1", depth_max_mm=12.0)
EPOXY = sheet("E1")


def hour(hours: float) -> datetime:
    return MIXED + timedelta(hours=hours)


def mark(kind: MarkKind, hours: float, note: str | None = None) -> Mark:
    return Mark(1, 1, None, kind, hour(hours), note)


def _readings(warmth: Knots, humidity: Knots, now_h: float, silent: Knots) -> Readings:
    """One a minute until now, with none during the `silent` (from, to) hours."""
    hours = np.arange(0.0, now_h + 1e-9, 1.0 / 60.0)
    for start, end in silent:
        hours = hours[(hours < start) | (hours > end)]
    values_c = np.interp(hours, *np.array(warmth, float).T)
    return Readings(
        MIXED.timestamp() + hours * 3600.0,
        values_c,
        np.interp(hours, *np.array(humidity, float).T),
        values_c,
        np.zeros(hours.size, np.int64),
    )


def _weather(stay: StayRead, judged_by: Sheet, since_s: float, until_s: float) -> Weather:
    readings = stay.readings.between(since_s, until_s)
    span = Span(from_unix(since_s), from_unix(until_s))
    if not len(readings):
        return Weather(span)
    spread_s, spread = spread_of(replace(stay, readings=readings))

    def extreme(time_s: Any, values: Any, i: Any) -> Extreme:
        return Extreme(float(values[i]), from_unix(time_s[i]))

    def spells(limit_c: float) -> tuple[Span, ...]:
        found = damp_times((stay,), limit_c, since_s, until_s)
        return tuple(Span(from_unix(a), from_unix(b)) for a, b in found)

    time_s, warmth = readings.time_s, stay.column_c[: len(readings)]
    return Weather(
        span,
        extreme(time_s, warmth, int(np.argmin(warmth))),
        extreme(time_s, warmth, int(np.argmax(warmth))),
        extreme(spread_s, spread, int(np.argmin(spread))),
        extreme(time_s, readings.humidity_pct, int(np.argmax(readings.humidity_pct))),
        spells(judged_by.dew_spread_min_c or 0.0),
        spells(1.0),
        stay.channel is Channel.SURFACE,
    )


def batch(
    judged_by: Sheet = LAMINATING,
    *,
    name: str = "3/skin-a",
    role: Role = Role.SKIN_A,
    now_h: float = 26.0,
    warmth: Knots = STEADY,
    humidity: Knots = DRY,
    silent: Knots = (),
    probed: bool = False,
    weighed: tuple[float, float] | str | None = "aim",
    marks: Iterable[Mark] = (),
    waxed: bool = False,
    **more: Any,
) -> BatchFacts:
    """A batch mixed at 08:00 and looked at `now_h` hours later; at its sheet's aim unless told."""
    if weighed == "aim":
        weighed = (200.0, 200.0 * _aim_pct(judged_by) / 100.0)
    resin_g, second_g = weighed if isinstance(weighed, tuple) else (None, None)
    epoxy = judged_by.kind == "epoxy"
    scale = Weighed(resin_g, None if epoxy else second_g, second_g if epoxy else None)
    stay = StayRead(
        _readings(warmth, humidity, now_h, silent),
        Channel.SURFACE if probed else Channel.AIR,
        Nearness.PROBE if probed else Nearness.BESIDE,
    )
    seen = tuple(marks)
    a = assess(
        Case(
            judged_by,
            MIXED,
            scale,
            counted=(stay,),
            watched=(stay,),
            waxed=waxed,
            marks=seen,
        ),
        hour(now_h),
    )
    done = Stage.SEALED if waxed and Stage.SEALED in judged_by.needs else Stage.GEL
    start_s, now_s = MIXED.timestamp(), hour(now_h).timestamp()
    open_s, green_s = (
        moment.timestamp() if moment is not None else now_s
        for moment in (a.stage(done).opens.late, a.stage(Stage.SAND).opens.late)
    )
    whole = _weather(stay, judged_by, start_s, now_s)
    return BatchFacts(
        address=name,
        role=role,
        sheet=judged_by,
        mixed_at=MIXED,
        mix=judge_mix(judged_by, scale),
        assessment=a,
        marks=seen,
        early=_weather(stay, judged_by, start_s, min(start_s + 3 * 3600.0, now_s)),
        open_=_weather(stay, judged_by, start_s, open_s),
        green=_weather(stay, judged_by, start_s, green_s),
        mixed_in=Extreme(float(np.interp(0.0, *np.array(warmth, float).T)), MIXED),
        hottest=whole.warmest,
        resin_g=resin_g,
        second_g=second_g,
        waxed=waxed,
        **more,
    )


def _aim_pct(judged_by: Sheet) -> float:
    if judged_by.ratio_by_weight is not None:
        return 100.0 * judged_by.ratio_by_weight[1] / judged_by.ratio_by_weight[0]
    return judged_by.aim_pct or 1.5


def under(count: float, *, waxed: bool = False, needs: float = 30.0, **more: Any) -> CoatUnder:
    """The coat below, mixed two hours before, at that count when the next went on."""
    given: dict[str, Any] = {"thickness_mm": None, "sanded_at": None, **more}
    opened = Edges(late=hour(-0.5) if count >= needs else hour(1.5))
    return CoatUnder(
        "3/plain-coat",
        waxed,
        hour(-2),
        Count(count, count + 2.0, count + 4.0),
        needs,
        opened,
        given["thickness_mm"],
        given["sanded_at"],
    )


def facts(
    last: BatchFacts,
    *others: BatchFacts,
    on_hull: bool = False,
    tins: tuple[Tin, ...] = (),
    first_deadline: datetime | None = None,
    **answers: Any,
) -> Facts:
    """Facts about `last`, with the layup's other batches before it and the answers by name."""
    return Facts(
        last.assessment.now,
        "c",
        Answers(**answers),
        (*others, last),
        last,
        on_hull,
        tins,
        first_deadline,
    )


def tin(*slow: bool | None) -> Tin:
    """A tin of resin and what came from it, a day apart, the last of them now."""
    jobs = [
        TinJob(f"{i + 1}/skin-a", hour(24.0 * (i - len(slow) + 1)), told, "kicked after 1 h 40 min")
        for i, told in enumerate(slow)
    ]
    return Tin("R7", "resin", tuple(jobs))
