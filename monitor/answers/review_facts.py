"""What the record holds about a layup, gathered for a review of what stayed tacky."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from monitor.answers.review_tins import tins_of
from monitor.assess import assess, work
from monitor.cure.beside import StayRead, damp_times, good, spread_of
from monitor.cure.floor import below
from monitor.cure.mixing import Weighed, judge_mix
from monitor.cure.trace import GAP_S
from monitor.errors import BadInput
from monitor.overview import BEFORE_MIXING, BatchView, Beside, LayupView
from monitor.records import (
    HUMIDITY_FLAGS,
    Channel,
    FloatArray,
    MarkKind,
    Stage,
)
from monitor.review.parts.facts import (
    COATS,
    BatchFacts,
    CoatUnder,
    Extreme,
    Facts,
    Span,
    Weather,
)
from monitor.review.parts.symptoms import SOFT, Answers
from monitor.store import Store
from monitor.times import from_unix
from monitor.units import Unit

EARLY = timedelta(hours=3)
WET_C = 1.0
"""Nearer than this to the dew point a surface is wet in places. Common practice, no source."""


def facts_of(
    store: Store, seen: LayupView, answers: Answers, batch: str | None, now: datetime, unit: Unit
) -> Facts:
    """The layup's record at `now`; `batch` names the one asked about, else the last one mixed.

    Raises BadInput where nothing is logged to review, or there is no batch of that name.
    """
    number = seen.layup.number
    if not seen.batches:
        raise BadInput(
            f"Part {number} has no batch, so there is nothing to review.",
            f"Log it first: batch add {number}/skin-a --resin-g … --catalyst-g …",
        )
    gathered = [_Gathered(store, seen, view, now) for view in seen.batches]
    told = tuple(_batch_facts(g, seen, gathered) for g in gathered)
    wanted = f"{number}/{batch}"
    last = told[-1] if batch is None else next((b for b in told if b.address == wanted), None)
    if last is None:
        raise BadInput(
            f"Part {number} has no batch {batch}.",
            f"It has: {', '.join(b.address for b in told)}.",
        )
    return Facts(
        now,
        unit,
        answers,
        told,
        last,
        seen.layup.on == "hull",
        tins_of(store, seen, now),
        _first_deadline(store, seen, last.address),
    )


class _Gathered:
    """A batch with every reading beside it, whatever part of them was loaded before."""

    def __init__(self, store: Store, seen: LayupView, view: BatchView, now: datetime) -> None:
        self.view, self.now = view, now
        self.address = f"{seen.layup.number}/{view.batch.name}"
        since = view.batch.mixed_at - BEFORE_MIXING
        self.counted = tuple(_read(store, b, since, now) for b in view.counted)
        self.watched = tuple(_read(store, b, since, now) for b in view.watched)
        self.case = replace(view.case, counted=self.counted, watched=self.watched, before=None)
        self.worked = work(self.case, now)


def _read(store: Store, beside: Beside, since: datetime, now: datetime) -> StayRead:
    until = now if beside.until is None else min(now, beside.until)
    readings = store.readings.between(beside.sensor.id, max(since, beside.since), until)
    return replace(_as_read(beside), readings=readings)


def _as_read(beside: Beside) -> StayRead:
    return StayRead(beside.readings, beside.stay.channel, beside.stay.nearness)


def _batch_facts(g: _Gathered, seen: LayupView, all_of: list[_Gathered]) -> BatchFacts:
    batch, sheet, a = g.view.batch, g.view.sheet, g.worked.assessment
    mixed_at = batch.mixed_at
    marks = tuple(m for m in seen.marks if m.batch_id in (None, batch.id) and m.at <= g.now)
    done = Stage.SEALED if batch.waxed and Stage.SEALED in sheet.needs else Stage.GEL
    open_until = a.stage(done).opens.late or g.now
    green_until = a.stage(Stage.SAND).opens.late or g.now
    weighed = Weighed(batch.resin_g, batch.catalyst_g, batch.hardener_g)
    return BatchFacts(
        address=g.address,
        role=batch.role,
        sheet=sheet,
        mixed_at=mixed_at,
        mix=judge_mix(sheet, weighed),
        assessment=a,
        marks=marks,
        early=_weather(g, min(mixed_at + EARLY, g.now)),
        open_=_weather(g, open_until),
        green=_weather(g, green_until),
        mixed_in=_mixed_in(g),
        hottest=_extreme(_values(g.watched), mixed_at, g.now, most=True),
        cold_before_gel_h=_cold_before_gel(g),
        resin_g=batch.resin_g,
        second_g=batch.catalyst_g if batch.hardener_g is None else batch.hardener_g,
        scale_step_g=batch.scale_step_g,
        thickness_mm=batch.thickness_mm,
        waxed=batch.waxed,
        under=_coat_under(g, seen, all_of),
    )


Column = tuple[FloatArray, FloatArray]
"""Times (Unix seconds) and values."""


def _values(stays: tuple[StayRead, ...]) -> Iterator[Column]:
    """The good temperatures (°C) of each stay."""
    for stay in stays:
        keep = good(stay)
        yield stay.readings.time_s[keep], stay.column_c[keep]


def _humidities(stays: tuple[StayRead, ...]) -> Iterator[Column]:
    for stay in stays:
        r = stay.readings
        keep = np.isfinite(r.humidity_pct) & ((r.flags & HUMIDITY_FLAGS) == 0)
        yield r.time_s[keep], r.humidity_pct[keep]


def _extreme(
    columns: Iterator[Column], since: datetime, until: datetime, *, most: bool
) -> Extreme | None:
    found: list[Extreme] = []
    for time_s, value in columns:
        inside = (time_s >= since.timestamp()) & (time_s <= until.timestamp())
        if inside.any():
            kept = value[inside]
            i = int(np.argmax(kept) if most else np.argmin(kept))
            found.append(Extreme(float(kept[i]), from_unix(time_s[inside][i])))
    if not found:
        return None
    return (max if most else min)(found, key=lambda extreme: extreme.value)


def _weather(g: _Gathered, until: datetime) -> Weather:
    """What was measured from mixing until then; dew by the surface where it has a probe."""
    since = g.view.batch.mixed_at
    surfaces = tuple(stay for stay in g.watched if stay.channel is Channel.SURFACE)
    spread = surfaces or g.watched
    limit_c = g.view.sheet.dew_spread_min_c

    def spells(limit: float | None) -> tuple[Span, ...]:
        if limit is None:
            return ()
        found = damp_times(g.watched, limit, since.timestamp(), until.timestamp())
        return tuple(Span(from_unix(start), from_unix(end)) for start, end in found)

    return Weather(
        Span(since, until),
        _extreme(_values(g.counted), since, until, most=False),
        _extreme(_values(g.counted), since, until, most=True),
        _extreme((spread_of(stay) for stay in spread), since, until, most=False),
        _extreme(_humidities(g.watched), since, until, most=True),
        spells(limit_c),
        spells(WET_C),
        bool(surfaces),
    )


def _mixed_in(g: _Gathered) -> Extreme | None:
    """The warmth nearest to mixing, at most a quarter of an hour off."""
    mixed_s = g.view.batch.mixed_at.timestamp()
    near = [
        (abs(float(time_s[i]) - mixed_s), Extreme(float(value[i]), from_unix(time_s[i])))
        for time_s, value in _values(g.counted)
        if time_s.size
        for i in (int(np.argmin(np.abs(time_s - mixed_s))),)
    ]
    nearest = min(near, key=lambda found: found[0], default=None)
    return nearest[1] if nearest is not None and nearest[0] <= GAP_S else None


def _cold_before_gel(g: _Gathered) -> float:
    """Hours below the floor before the middle count reached gel."""
    floor_c = g.view.sheet.floor_c
    if floor_c is None or Stage.GEL not in g.view.sheet.needs:
        return 0.0
    gel = g.worked.assessment.stage(Stage.GEL).opens.middle or g.now
    return below(g.worked.exposure, floor_c).hours_until(gel.timestamp())


def _coat_under(g: _Gathered, seen: LayupView, all_of: list[_Gathered]) -> CoatUnder | None:
    """The coat that this one went over: how far it was then, and whether it was sanded between."""
    mine = g.view.batch
    earlier = [
        other
        for other in all_of
        if other.view.batch.role in COATS and other.view.batch.mixed_at < mine.mixed_at
    ]
    if mine.role not in COATS or not earlier:
        return None
    under = earlier[-1]
    recoat = under.worked.assessment.stage(Stage.RECOAT)
    sanded = [
        mark.at
        for mark in seen.marks
        if mark.kind in (MarkKind.SANDED_DUST, MarkKind.SANDED_GUM)
        and under.view.batch.mixed_at < mark.at <= mine.mixed_at
    ]
    return CoatUnder(
        under.address,
        under.view.batch.waxed,
        under.view.batch.mixed_at,
        assess(under.case, mine.mixed_at).count,
        None if recoat.needs is None else recoat.needs[0],
        recoat.opens,
        under.view.batch.thickness_mm,
        sanded[-1] if sanded else None,
    )


def _first_deadline(store: Store, seen: LayupView, address: str) -> datetime | None:
    """When the first review that found this batch soft said to give up."""
    soft = {f"thumbnail={answer.value}" for answer in SOFT}
    mine = {b.batch.id for b in seen.batches if f"{seen.layup.number}/{b.batch.name}" == address}
    return next(
        (
            kept.give_up_by
            for kept in store.book.reviews(seen.layup.id)
            if kept.batch_id in mine and soft & set(kept.answers)
        ),
        None,
    )
