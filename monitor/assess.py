"""The one place that answers "what state is this layup in?". Pure: time is an argument."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from monitor.cure.exposure import Exposure, Trace, expose
from monitor.cure.floor import Below, below, fresh, parked_spans
from monitor.cure.mixing import NOTHING_WEIGHED, MixJudgement, Weighed, judge_mix
from monitor.cure.stages import Counted, count_stages
from monitor.cure.verdict import Facts, answer_stage, cold_before_gel, overruled_by
from monitor.records import (
    SURFACE_FLAGS,
    TEMPERATURE_FLAGS,
    Assessment,
    Channel,
    Count,
    Edges,
    FloatArray,
    Gap,
    Nearness,
    Parked,
    Readings,
    ReadingsUsed,
    Sheet,
    Stage,
    StageAnswer,
    Verdict,
)
from monitor.times import from_unix


@dataclass(frozen=True)
class StayRead:
    """One stay and what its sensor said while it lasted, in time order."""

    readings: Readings
    channel: Channel
    nearness: Nearness
    sensor_band_c: float = 0.0


@dataclass(frozen=True)
class Case:
    """One batch to be answered about: its sheet, its mix, and its stays in time order.

    `counted` are the stays it counts on; `watched` every stay beside it, for how hot it ran.
    """

    sheet: Sheet
    mixed_at: datetime
    weighed: Weighed = NOTHING_WEIGHED
    give_or_take: timedelta = timedelta(0)
    counted: tuple[StayRead, ...] = ()
    watched: tuple[StayRead, ...] = ()
    on_hull: bool = False
    safety: bool = False


@dataclass(frozen=True)
class Worked:
    """An answer with what it stands on, for drawing."""

    assessment: Assessment
    exposure: Exposure


def assess(case: Case, now: datetime) -> Assessment:
    """The state of one batch at `now`: count, gaps, parked, and every stage's answer."""
    return work(case, now).assessment


def work(case: Case, now: datetime) -> Worked:
    """As `assess`, with the exposure behind it."""
    now_s, mixed_s = now.timestamp(), case.mixed_at.timestamp()
    traces = tuple(_trace(stay) for stay in case.counted)
    exposure = expose(traces, mixed_s, max(now_s, mixed_s), case.give_or_take.total_seconds())
    counted = count_stages(exposure, case.sheet)
    cold = None if case.sheet.floor_c is None else below(exposure, case.sheet.floor_c)
    facts = _facts(case, counted, cold, mixed_s, now_s)
    nearness = exposure.runs[-1].nearness if exposure.runs else None
    gaps = tuple(Gap(from_unix(g.start_s), from_unix(g.end_s), g.why) for g in exposure.gaps)
    parked_since, parked = _parked(exposure, counted, cold)
    assessment = Assessment(
        sheet=case.sheet.name,
        mixed_at=case.mixed_at,
        now=now,
        nearness=nearness,
        band_c=exposure.runs[-1].band_c if exposure.runs else None,
        unit=case.sheet.count_unit,
        readings=_readings_used(case, mixed_s, now_s),
        gaps=gaps,
        unmeasured_hours=sum(gap.hours for gap in gaps),
        count=Count(0.0, None, None)
        if counted is None
        else Count(counted.low, counted.middle, counted.high),
        parked_since=parked_since,
        parked=parked,
        overruled_by=overruled_by(facts, case.sheet),
        stages=tuple(answer_stage(stage, case.sheet, counted, facts) for stage in Stage),
    )
    return Worked(assessment, exposure)


def good(stay: StayRead) -> NDArray[np.bool_]:
    """Which of a stay's readings count: given, and without a doubt about its channel."""
    column, mask = _channel(stay)
    clean: NDArray[np.bool_] = (stay.readings.flags & mask) == 0
    return clean & np.isfinite(column)


def _channel(stay: StayRead) -> tuple[FloatArray, int]:
    if stay.channel is Channel.SURFACE:
        return stay.readings.surface_c, SURFACE_FLAGS
    return stay.readings.temperature_c, TEMPERATURE_FLAGS


def _trace(stay: StayRead) -> Trace:
    column, mask = _channel(stay)
    time_s, flags = stay.readings.time_s, stay.readings.flags
    keep = good(stay)
    suspect = time_s[(flags & mask) != 0]
    if keep.all():
        return Trace(time_s, column, stay.nearness, suspect, stay.sensor_band_c)
    return Trace(time_s[keep], column[keep], stay.nearness, suspect, stay.sensor_band_c)


def _facts(
    case: Case, counted: Counted | None, cold: Below | None, mixed_s: float, now_s: float
) -> Facts:
    mix: MixJudgement = judge_mix(case.sheet, case.weighed)
    hours = 0.0
    if counted is not None and cold is not None:
        hours = cold_before_gel(cold, counted, now_s)
    probed = any(stay.channel is Channel.SURFACE for stay in case.watched)
    return Facts(
        mix, _hot_at(case, mixed_s, now_s), hours, case.on_hull and not probed, case.safety
    )


def _hot_at(case: Case, mixed_s: float, now_s: float) -> float | None:
    """When a reading beside the part first passed the sheet's limit."""
    limit_c = case.sheet.part_max_c
    if limit_c is None:
        return None
    first_s: list[float] = []
    for stay in case.watched:
        column, _ = _channel(stay)
        time_s = stay.readings.time_s
        over = good(stay) & (column > limit_c) & (time_s >= mixed_s) & (time_s <= now_s)
        if over.any():
            first_s.append(float(time_s[np.argmax(over)]))
    return min(first_s, default=None)


def _parked(
    exposure: Exposure, counted: Counted | None, cold: Below | None
) -> tuple[datetime | None, tuple[Parked, ...]]:
    if cold is None:
        return None, ()
    sand = counted.times.get(Stage.SAND) if counted is not None else None
    spans = parked_spans(cold, exposure, sand.opens_late_s if sand is not None else None)
    parked = [
        Parked(from_unix(start), from_unix(end))
        for start, end in zip(spans.start_s, spans.end_s, strict=True)
    ]
    since = None
    if spans.open:
        parked[-1] = replace(parked[-1], end=None)
        since = parked[-1].start if fresh(exposure) else None
    return since, tuple(parked)


def _readings_used(case: Case, mixed_s: float, now_s: float) -> ReadingsUsed:
    used = suspect = ignored = 0
    first: float | None = None
    last: float | None = None
    for stay in case.counted:
        _, mask = _channel(stay)
        time_s = stay.readings.time_s
        stop = int(np.searchsorted(time_s, now_s, side="right"))
        start = min(int(np.searchsorted(time_s, mixed_s, side="left")), stop)
        ignored += len(time_s) - stop
        keep = good(stay)[start:stop]
        suspect += int(np.count_nonzero(stay.readings.flags[start:stop] & mask))
        found = np.flatnonzero(keep)
        used += found.size
        if found.size:
            first = float(time_s[start + found[0]]) if first is None else first
            last = float(time_s[start + found[-1]])
    return ReadingsUsed(
        used,
        suspect,
        ignored,
        None if first is None else from_unix(first),
        None if last is None else from_unix(last),
    )


@dataclass(frozen=True)
class JointStage:
    """One stage of a joint: its worst verdict, and the slowest batch that gives it."""

    stage: Stage
    verdict: Verdict
    slowest: str
    opens: Edges
    shuts: Edges | None
    reason: str


@dataclass(frozen=True)
class Joint:
    stages: tuple[JointStage, ...]
    overruled_by: tuple[str, ...]


def join(batches: tuple[tuple[str, Assessment], ...]) -> Joint | None:
    """A joint of named batches: at each stage the slowest of them and the worst flag.

    None for no batch. A stage counts for the batches whose sheet gives it; one that no sheet gives
    is left out.
    """
    if not batches:
        return None
    stages = []
    for stage in Stage:
        answers = [(name, a.stage(stage)) for name, a in batches]
        given = [(name, answer) for name, answer in answers if answer.needs is not None]
        if given:
            stages.append(_joined(stage, given))
    flags = {flag: None for _, assessment in batches for flag in assessment.overruled_by}
    return Joint(tuple(stages), tuple(flags))


_WORST_LAST = tuple(Verdict)


def _joined(stage: Stage, answers: list[tuple[str, StageAnswer]]) -> JointStage:
    worst = max(answers, key=lambda item: _slowness(item[1]))
    shuts = [answer.shuts for _, answer in answers if answer.shuts is not None]
    return JointStage(
        stage,
        worst[1].verdict,
        worst[0],
        Edges(
            _last([a.opens.early for _, a in answers]),
            _last([a.opens.middle for _, a in answers]),
            _last([a.opens.late for _, a in answers]),
        ),
        Edges(_first([s.early for s in shuts]), _first([s.middle for s in shuts]))
        if shuts
        else None,
        worst[1].reason,
    )


def _slowness(answer: StageAnswer) -> tuple[int, bool, float]:
    late = answer.opens.late
    return (
        _WORST_LAST.index(answer.verdict),
        late is None,
        late.timestamp() if late is not None else 0.0,
    )


def _last(times: list[datetime | None]) -> datetime | None:
    """The last of the times; None while one is still to come."""
    known = [time for time in times if time is not None]
    return max(known) if len(known) == len(times) else None


def _first(times: list[datetime | None]) -> datetime | None:
    known = [time for time in times if time is not None]
    return min(known) if known else None
