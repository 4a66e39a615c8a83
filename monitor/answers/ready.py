"""Is it ready? Everything open, each part as a sentence, a time, and the one thing against it."""

from dataclasses import replace
from datetime import datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from monitor.air import dew_point_c
from monitor.answers.against import WARMER, against
from monitor.answers.marked import TRIMMED
from monitor.answers.views import BatchNow, Freshness, Now, PartNow
from monitor.answers.wording import (
    MINUTE_S,
    NEARNESS_WORDS,
    STAGE_WORDS,
    VERDICT_WORDS,
    batch_said,
    careful,
    counted,
    guess_said,
    since_said,
)
from monitor.cure.beside import StayRead, good
from monitor.cure.law import closing_law, opening_law
from monitor.cure.steady import hours_at
from monitor.cure.verdict import UNWAXED
from monitor.overview import BatchView, Beside, LayupView, Overview
from monitor.records import (
    HUMIDITY_FLAGS,
    Alert,
    Assessment,
    Channel,
    Mark,
    MarkKind,
    Role,
    Stage,
    StageAnswer,
    Verdict,
)
from monitor.times import length_said, said
from monitor.units import Unit, temperature_said

_OPENINGS = (Stage.SEALED, Stage.FLIP, Stage.SAND, Stage.PROPS_OFF, Stage.LOAD, Stage.FULL)
_DONE = {
    MarkKind.FLIPPED: Stage.FLIP,
    MarkKind.SANDED_DUST: Stage.SAND,
}
"""Marks that put a stage behind a part."""

_FRESH = timedelta(minutes=15)


def now_of(
    seen: Overview, alerts: tuple[Alert, ...], *, zone: tzinfo, unit: Unit, demo: bool
) -> Now:
    """Everything open, laid out for people."""
    parts = tuple(
        PartNow(
            view.layup.number,
            view.layup.what,
            tuple(_batch_now(view, batch, seen.at, zone, unit) for batch in view.batches),
            freshness(view, seen.at),
            tuple(alert for alert in alerts if view.layup.number in alert.parts),
        )
        for view in seen.layups
    )
    return Now(seen.at, str(zone), unit, demo, parts)


def _batch_now(
    view: LayupView, batch: BatchView, now: datetime, zone: tzinfo, unit: Unit
) -> BatchNow:
    assessment = batch.worked.assessment
    answer = headline(
        assessment,
        _marks_of(view, batch),
        safety=view.layup.safety,
        next_coat=awaits_a_coat(batch),
    )
    when = "" if answer is None else when_said(answer, batch, zone, unit)
    sentence = "Nothing left to wait for."
    if answer is not None:
        sentence = f"{STAGE_WORDS[answer.stage]}: {VERDICT_WORDS[answer.verdict]}"
        sentence += f", {when}" if when else ""
    return BatchNow(
        f"{view.layup.number}/{batch.batch.name}",
        batch_said(batch.batch, zone, now),
        None if answer is None else answer.stage,
        Verdict.CANT_TELL if answer is None else answer.verdict,
        sentence,
        when,
        assessment.parked_since is not None or when.endswith(WARMER),
        against(batch, now, zone, unit),
        next_shuts(batch, zone, unit),
        assessment,
    )


def _marks_of(view: LayupView, batch: BatchView) -> tuple[Mark, ...]:
    """Its own, and the whole part's since it was mixed: what was sanded before was another one."""
    mine = batch.batch
    return tuple(
        m
        for m in view.marks
        if m.batch_id == mine.id or (m.batch_id is None and m.at >= mine.mixed_at)
    )


def awaits_a_coat(batch: BatchView) -> bool:
    """Whether it is a coat that the next one is still to go over, in its window."""
    b = batch.batch
    return b.role is Role.PLAIN_COAT and not b.waxed and batch.case.covered_at is None


def headline(
    assessment: Assessment,
    marks: tuple[Mark, ...],
    *,
    safety: bool = False,
    next_coat: bool = False,
) -> StageAnswer | None:
    """The one stage to speak of: the next to test, else the last reached, else the next to come.

    Stages that marks put behind the part are left out, as are those the sheet doesn't give, and
    the load of a part whose loads aren't ours to say. With `next_coat` the window of the next
    coat comes first, until it has shut. None: nothing is left.
    """
    recoat = assessment.stage(Stage.RECOAT)
    if next_coat and recoat.verdict in (Verdict.NOT_YET, Verdict.TEST_IT, Verdict.READY):
        return recoat
    done = max((_OPENINGS.index(_DONE[m.kind]) for m in marks if m.kind in _DONE), default=-1)
    ahead = [
        answer
        for answer in (assessment.stage(stage) for stage in _OPENINGS[done + 1 :])
        if answer.needs is not None and answer.reason != UNWAXED
        if not (safety and answer.stage is Stage.LOAD)
    ]
    reached = [answer for answer in ahead if answer.verdict is Verdict.READY]
    rest = ahead[ahead.index(reached[-1]) + 1 :] if reached else ahead
    if rest and rest[0].verdict is Verdict.TEST_IT:
        return rest[0]
    return reached[-1] if reached else next(iter(rest), None)


def when_said(answer: StageAnswer, batch: BatchView, zone: tzinfo, unit: Unit) -> str:
    """Since when, or after when and on what "if"; empty where nothing can be said."""
    now = batch.worked.assessment.now
    since = since_said(answer, zone, now)
    if since is None and answer.verdict is Verdict.NOT_YET:
        ahead = expected(batch.worked.assessment, answer, zone)
        return ahead or if_steady(batch, answer, now, zone, unit) or ""
    return since or ""


def expected(a: Assessment, answer: StageAnswer, zone: tzinfo) -> str | None:
    """`after about 02:40 Sun, a guess from the last 6 days here`. None: nothing can be guessed."""
    told = a.forecast.stage(answer.stage)
    if told is None:
        return None
    if told.opens.late is None:
        if answer.opens.late is None and a.count.middle is not None:
            return f"not within two weeks, a guess ({a.forecast.basis}){WARMER}"
        return None
    late = guess_said(told.opens.late, zone, a.now, later=True)
    return f"after {late}, a guess ({a.forecast.basis})"


def if_steady(
    batch: BatchView, answer: StageAnswer, now: datetime, zone: tzinfo, unit: Unit
) -> str | None:
    """`after 01:25 Sun if it stays 21.0 °C`, at the careful edge. None: no fresh reading."""
    exposure, law, last_c = batch.worked.exposure, opening_law(batch.sheet), _fresh_c(batch)
    if law is None or answer.needs is None or last_c is None:
        return None
    missing = answer.needs[0] - batch.worked.assessment.count.low
    hours = hours_at(law, last_c - exposure.runs[-1].band_c, max(missing, 0.0))
    warmth = temperature_said(last_c, unit)
    if hours is None:
        return f"not while it stays {warmth}{WARMER}"
    if hours > 24 * 60:
        return f"not within two months if it stays {warmth}"
    at = careful(now + timedelta(hours=hours), MINUTE_S, later=True)
    return f"after {said(at, zone, now)} if it stays {warmth}"


def next_shuts(batch: BatchView, zone: tzinfo, unit: Unit) -> str | None:
    """The window that shuts next, as far as the record can say: a guess, or what is left of it.

    Not the knife's once somebody marked the trimming, nor a coat's once another lies over it.
    """
    sheet, assessment = batch.sheet, batch.worked.assessment
    for stage in (Stage.KNIFE_TRIM, Stage.RECOAT):
        answer = assessment.stage(stage)
        if answer.verdict not in (Verdict.READY, Verdict.TEST_IT) or answer.needs is None:
            continue
        if (answer.shuts is not None and answer.shuts.early is not None) or _done(batch, stage):
            continue
        words = f"{STAGE_WORDS[stage]} is {'open' if answer.verdict is Verdict.READY else 'near'}"
        told = assessment.forecast.stage(stage)
        shuts_at = None if told is None or told.shuts is None else told.shuts.early
        dew = assessment.forecast.dew_at if stage is Stage.RECOAT else None
        if dew is not None and (shuts_at is None or dew < shuts_at):
            dewed = guess_said(dew, zone, assessment.now, later=False)
            return f"{words} until dew, {dewed}, a guess ({assessment.forecast.basis})"
        if shuts_at is not None:
            shut = guess_said(shuts_at, zone, assessment.now, later=False)
            return f"{words} until {shut}, a guess ({assessment.forecast.basis})"
        steady = _shuts_if_steady(batch, answer.needs[1], zone, unit)
        if stage is Stage.KNIFE_TRIM and steady is not None:
            return f"{words} until about {steady}"
        if stage is Stage.RECOAT and sheet.recoat_max_hours is not None:
            latest = assessment.mixed_at + timedelta(hours=sheet.recoat_max_hours)
            words += f", until {said(latest, zone, assessment.now)} at the very latest"
        shuts = counted(answer.needs[1], assessment, unit)
        return words + f": it shuts at {shuts:.0f}"
    return None


def _done(batch: BatchView, stage: Stage) -> bool:
    if stage is Stage.RECOAT:
        return batch.case.covered_at is not None
    return any(m.kind in TRIMMED and m.at >= batch.batch.mixed_at for m in batch.case.marks)


def _shuts_if_steady(batch: BatchView, need: float, zone: tzinfo, unit: Unit) -> str | None:
    """`13:44 today if it stays 27.0 °C`, at the warm edge. None: no fresh reading, no count."""
    law, last_c = closing_law(batch.sheet), _fresh_c(batch)
    a = batch.worked.assessment
    if law is None or last_c is None or a.count.high is None:
        return None
    # Before the window shuts neither floor nor cap has set the two counts apart for long.
    missing = max(need - a.count.high, 0.0)
    hours = hours_at(law, last_c + (a.band_c or 0.0), missing)
    if hours is None:
        return None
    shut = said(a.now + timedelta(hours=hours), zone, a.now)
    return f"{shut} if it stays {temperature_said(last_c, unit)}"


def _fresh_c(batch: BatchView) -> float | None:
    exposure = batch.worked.exposure
    if exposure.time_s.size == 0:
        return None
    fresh = exposure.now_s - float(exposure.time_s[-1]) <= _FRESH.total_seconds()
    return float(exposure.temperature_c[-1]) if fresh else None


def freshness(view: LayupView, now: datetime) -> Freshness:
    """How old the newest reading beside a part is, and what it says."""
    current = [
        replace(b, readings=b.readings.between(0.0, now.timestamp()))
        for b in view.stays
        if b.since <= now and (b.until is None or b.until > now)
    ]
    if not current:
        return Freshness(None, None, None, None, None, None, None, True, "no sensor beside it")
    usable = [(b, np.flatnonzero(_good(b))) for b in current]
    heard = [(b, int(index[-1])) for b, index in usable if index.size]
    if not heard:
        name = current[-1].sensor.name
        words = "suspect readings only" if len(current[-1].readings) else "no reading yet"
        return Freshness(name, None, None, None, None, None, None, True, f"{name}: {words}")
    beside, last = max(heard, key=lambda found: float(found[0].readings.time_s[found[1]]))
    return _newest(beside, last, now)


def _good(beside: Beside) -> NDArray[np.bool_]:
    return good(StayRead(beside.readings, beside.stay.channel, beside.stay.nearness))


def _newest(beside: Beside, last: int, now: datetime) -> Freshness:
    readings, stay = beside.readings, beside.stay
    age_s = now.timestamp() - float(readings.time_s[last])
    at = now - timedelta(seconds=age_s)
    column = readings.surface_c if stay.channel is Channel.SURFACE else readings.temperature_c
    temperature, humidity = float(column[last]), float(readings.humidity_pct[last])
    if int(readings.flags[last]) & HUMIDITY_FLAGS:
        humidity = np.nan
    dew = float(dew_point_c(readings.temperature_c[last], humidity))
    silent = age_s > _FRESH.total_seconds()
    words = (
        f"no reading for {length_said(age_s)}" if silent else f"reading {length_said(age_s)} old"
    )
    if last < len(readings) - 1:
        words += ", suspect ones since"
    return Freshness(
        beside.sensor.name,
        stay.channel,
        stay.nearness,
        at,
        _given(temperature),
        _given(humidity),
        _given(temperature - dew),
        silent,
        f"{words} · {beside.sensor.name}, {NEARNESS_WORDS[stay.nearness]}",
    )


def _given(value: float) -> float | None:
    return value if np.isfinite(value) else None
