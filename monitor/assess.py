"""The one place that answers "what state is this layup in?". Pure: time is an argument."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from monitor.cure.beside import (
    StayRead,
    damp_times,
    good,
    hot_at,
    outside_range,
    trace_of,
)
from monitor.cure.bond import Seen, Surface, bond_line
from monitor.cure.expected import expect
from monitor.cure.exposure import Exposure, expose
from monitor.cure.floor import Below, below, fresh, parked_spans
from monitor.cure.gaps import Unmeasured
from monitor.cure.mixing import NOTHING_WEIGHED, Weighed, judge_mix
from monitor.cure.outlook import Course, NoOutlook, Outlook
from monitor.cure.stages import Counted, count_stages
from monitor.cure.verdict import Facts, answer_stage, cold_before_gel, overruled_by
from monitor.records import (
    Assessment,
    BondLine,
    Channel,
    Count,
    Edges,
    Forecast,
    Gap,
    Mark,
    MarkKind,
    Parked,
    ReadingsUsed,
    Sheet,
    Stage,
    StageAnswer,
    Verdict,
)
from monitor.times import from_unix


@dataclass(frozen=True)
class Case:
    """One batch to be answered about: its sheet, its mix, and its stays in time order.

    `counted` are the stays it counts on; `watched` every stay beside it, for how hot and how damp
    it was. `waxed` None: nobody said. `covered_at`: when a coat went over it. `over_soft`: it went
    over a coat that was not open for one yet.
    """

    sheet: Sheet
    mixed_at: datetime
    weighed: Weighed = NOTHING_WEIGHED
    give_or_take: timedelta = timedelta(0)
    counted: tuple[StayRead, ...] = ()
    watched: tuple[StayRead, ...] = ()
    on_hull: bool = False
    safety: bool = False
    waxed: bool | None = None
    marks: tuple[Mark, ...] = ()
    covered_at: datetime | None = None
    over_soft: bool = False
    outlook: Outlook | NoOutlook | None = None
    dew: Course | NoOutlook | None = None


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
    traces = tuple(trace_of(stay) for stay in case.counted)
    exposure = expose(
        traces, mixed_s, max(now_s, mixed_s), case.give_or_take.total_seconds(), _seen_warm(case)
    )
    counted = count_stages(exposure, case.sheet)
    cold = None if case.sheet.floor_c is None else below(exposure, case.sheet.floor_c)
    facts = _facts(case, counted, cold, mixed_s, now_s)
    nearness = exposure.runs[-1].nearness if exposure.runs else None
    gaps = tuple(_gap(gap) for gap in exposure.gaps)
    parked_since, parked = _parked(exposure, counted, cold)
    stages = tuple(answer_stage(stage, case.sheet, counted, facts) for stage in Stage)
    recoat = next(answer for answer in stages if answer.stage is Stage.RECOAT)
    bond = _bond(case, recoat, now_s)
    stages = tuple(_unclean(bond, answer) if answer is recoat else answer for answer in stages)
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
        stages=stages,
        bond_line=bond,
        forecast=_worth_waiting_for(
            stages,
            expect(
                counted,
                case.sheet,
                case.outlook,
                exposure.runs[-1].band_c if exposure.runs else 0.0,
                mixed_s - case.give_or_take.total_seconds(),
                case.dew,
            ),
        ),
    )
    return Worked(assessment, exposure)


def _unclean(bond: BondLine, recoat: StageAnswer) -> StageAnswer:
    """A surface that is no longer clean can't be coated without sanding, whatever the count."""
    if not bond.voided_by or recoat.verdict not in WAITED_FOR:
        return recoat
    return replace(recoat, verdict=Verdict.SHUT, reason=bond.reason, by_count=False)


WAITED_FOR = (Verdict.READY, Verdict.TEST_IT, Verdict.NOT_YET)


def _worth_waiting_for(stages: tuple[StageAnswer, ...], forecast: Forecast) -> Forecast:
    """No guess of what won't cure, is shut, or isn't ours to say."""
    waited = {answer.stage for answer in stages if answer.verdict in WAITED_FOR}
    return replace(forecast, stages=tuple(t for t in forecast.stages if t.stage in waited))


def _seen_warm(case: Case) -> tuple[float, ...]:
    """When somebody saw it warm, in order."""
    return tuple(
        sorted(mark.at.timestamp() for mark in case.marks if mark.kind is MarkKind.SEEN_WARM)
    )


def _gap(gap: Unmeasured) -> Gap:
    said = None if gap.said_until_s is None else from_unix(gap.said_until_s)
    return Gap(from_unix(gap.start_s), from_unix(gap.end_s), gap.why, said)


def _facts(
    case: Case, counted: Counted | None, cold: Below | None, mixed_s: float, now_s: float
) -> Facts:
    sheet = case.sheet
    hours = 0.0
    if counted is not None and cold is not None:
        hours = cold_before_gel(cold, counted, now_s)
    probed = any(stay.channel is Channel.SURFACE for stay in case.watched)
    return Facts(
        judge_mix(sheet, case.weighed),
        hot_at(case.watched, sheet.part_max_c, mixed_s, now_s),
        hours,
        case.on_hull and not probed,
        case.safety,
        case.waxed,
        _wax_spoiled(case, counted, mixed_s, now_s) if case.waxed else None,
        _coat_too_early(case, counted),
    )


def _wax_spoiled(case: Case, counted: Counted | None, mixed_s: float, now_s: float) -> str | None:
    """What kept the wax from rising before the coat sealed: warmth outside its range, or dew."""
    sealed = None if counted is None else counted.times.get(Stage.SEALED)
    until_s = now_s
    if sealed is not None and sealed.opens_late_s is not None:
        until_s = sealed.opens_late_s
    if outside_range(case.counted, case.sheet.wax_temperature_c, mixed_s, until_s):
        return "Outside the wax's own range before it sealed: the wax may not have come up."
    if damp_times(case.watched, case.sheet.dew_spread_min_c, mixed_s, until_s):
        return "Too near the dew point before it sealed: look for a milky or ringed face."
    return None


def _coat_too_early(case: Case, counted: Counted | None) -> str | None:
    if case.over_soft:
        return "It went over a coat that was still soft: look for wrinkles."
    recoat = None if counted is None else counted.times.get(Stage.RECOAT)
    if case.covered_at is None or recoat is None:
        return None
    opened_s = recoat.opens_late_s
    if opened_s is None or opened_s > case.covered_at.timestamp():
        return "A coat went over it while it was still soft: look for wrinkles."
    return None


def _bond(case: Case, recoat: StageAnswer, now_s: float) -> BondLine:
    mixed_s = case.mixed_at.timestamp()
    surface = Surface(
        mixed_s,
        bool(case.waxed),
        tuple(Seen(mark.kind, mark.at.timestamp()) for mark in case.marks),
        damp_times(case.watched, case.sheet.dew_spread_min_c, mixed_s, now_s),
    )
    return bond_line(case.sheet, recoat, surface, now_s)


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
        time_s = stay.readings.time_s
        stop = int(np.searchsorted(time_s, now_s, side="right"))
        start = min(int(np.searchsorted(time_s, mixed_s, side="left")), stop)
        ignored += len(time_s) - stop
        keep = good(stay)[start:stop]
        suspect += int(np.count_nonzero(stay.readings.flags[start:stop] & stay.mask))
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
