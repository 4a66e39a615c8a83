"""One batch answered: its count, gaps, parked spans, bond line, and every stage."""

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from monitor.assess.case import Case
from monitor.cure.beside import damp_times, good, hot_at, outside_range, trace_of
from monitor.cure.bond import Seen, Surface, bond_line
from monitor.cure.damp import HOLD_S, Spell
from monitor.cure.expected import expect
from monitor.cure.exposure import Exposure, expose
from monitor.cure.floor import Below, below, fresh, joined, parked_spans
from monitor.cure.gaps import Unmeasured
from monitor.cure.mixing import judge_mix
from monitor.cure.stages import NOTHING_COUNTED, Counted, count_stages
from monitor.cure.trace import Trace
from monitor.cure.verdict import Facts, answer_stage, cold_before_gel, overruled_by
from monitor.records import (
    Assessment,
    BondLine,
    Channel,
    Count,
    Forecast,
    Gap,
    MarkKind,
    Parked,
    ReadingsUsed,
    Stage,
    StageAnswer,
    Verdict,
)
from monitor.times import from_unix


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
    before = case.before
    exposure = exposed(case, max(now_s, mixed_s))
    counted = count_stages(
        exposure, case.sheet, NOTHING_COUNTED if before is None else before.counted
    )
    cold = cold_spans(case, exposure)
    damp = damp_times(
        case.watched,
        case.sheet.dew_spread_min_c,
        mixed_s,
        now_s,
        () if before is None else before.damp,
    )
    facts = _facts(case, counted, cold, damp, mixed_s, now_s)
    nearness = exposure.runs[-1].nearness if exposure.runs else None
    gaps = tuple(_gap(gap) for gap in all_gaps(case, exposure))
    parked_since, parked = _parked(exposure, counted, cold)
    stages = tuple(answer_stage(stage, case.sheet, counted, facts) for stage in Stage)
    recoat = next(answer for answer in stages if answer.stage is Stage.RECOAT)
    bond = _bond(case, recoat, damp, now_s)
    stages = tuple(_unclean(bond, answer) if answer is recoat else answer for answer in stages)
    assessment = Assessment(
        sheet=case.sheet.name,
        mixed_at=case.mixed_at,
        now=now,
        nearness=nearness,
        band_c=exposure.runs[-1].band_c if exposure.runs else None,
        unit=case.sheet.count_unit,
        readings=readings_used(case, now_s),
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


def exposed(case: Case, now_s: float, last_silence_s: float | None = None) -> Exposure:
    """The exposure of a case, from mixing or from where its record was settled."""
    traces = [trace_of(stay) for stay in case.counted]
    if case.before is not None:
        traces[case.before.stay] = _after_knot(traces[case.before.stay], case)
    if last_silence_s is not None:
        traces[-1] = replace(traces[-1], silent_after_s=last_silence_s)
    return expose(
        tuple(traces),
        case.mixed_at.timestamp(),
        now_s,
        case.give_or_take.total_seconds(),
        _seen_warm(case),
        None if case.before is None else case.before.since,
    )


def _after_knot(trace: Trace, case: Case) -> Trace:
    before = case.before
    if before is None:
        return trace
    return replace(
        trace,
        time_s=np.concatenate(([before.since.knot_s], trace.time_s)),
        temperature_c=np.concatenate(([before.knot_c], trace.temperature_c)),
    )


def cold_spans(case: Case, exposure: Exposure) -> Below | None:
    """When it was below the floor; None: the sheet gives none."""
    if case.sheet.floor_c is None:
        return None
    spans = below(exposure, case.sheet.floor_c)
    before = None if case.before is None else case.before.cold
    return spans if before is None else joined(before, spans)


def all_gaps(case: Case, exposure: Exposure) -> tuple[Unmeasured, ...]:
    """Those settled before and those since; how long is silence is the stay's to say, now."""
    before = case.before
    if before is None:
        return exposure.gaps
    silence_s = exposure.runs[0].silence_s
    kept = (
        gap
        for gap in before.gaps
        if gap.why not in ("silent", "suspect")
        or gap.start_s < before.stay_begun_s
        or gap.end_s - gap.start_s > silence_s
    )
    return (*kept, *exposure.gaps)


def _seen_warm(case: Case) -> tuple[float, ...]:
    """When somebody saw it warm, in order."""
    return tuple(
        sorted(mark.at.timestamp() for mark in case.marks if mark.kind is MarkKind.SEEN_WARM)
    )


def _gap(gap: Unmeasured) -> Gap:
    said = None if gap.said_until_s is None else from_unix(gap.said_until_s)
    return Gap(from_unix(gap.start_s), from_unix(gap.end_s), gap.why, said)


def _facts(
    case: Case,
    counted: Counted | None,
    cold: Below | None,
    damp: tuple[Spell, ...],
    mixed_s: float,
    now_s: float,
) -> Facts:
    sheet = case.sheet
    hours = 0.0
    if counted is not None and cold is not None:
        hours = cold_before_gel(cold, counted, now_s)
    probed = any(stay.channel is Channel.SURFACE for stay in case.watched)
    return Facts(
        judge_mix(sheet, case.weighed),
        hot_since(case, now_s),
        hours,
        case.on_hull and not probed,
        case.safety,
        case.waxed,
        _wax_spoiled(case, counted, damp, mixed_s, now_s) if case.waxed else None,
        _coat_too_early(case, counted),
        case.clock_in_doubt,
    )


def hot_since(case: Case, now_s: float) -> float | None:
    """When it first was hotter than the sheet lets a part get, in Unix seconds."""
    if case.before is not None and case.before.hot_s is not None:
        return case.before.hot_s
    return hot_at(case.watched, case.sheet.part_max_c, case.mixed_at.timestamp(), now_s)


def _wax_spoiled(
    case: Case, counted: Counted | None, damp: tuple[Spell, ...], mixed_s: float, now_s: float
) -> str | None:
    """What kept the wax from rising before the coat sealed: warmth outside its range, or dew."""
    sealed = None if counted is None else counted.times.get(Stage.SEALED)
    until_s = now_s
    if sealed is not None and sealed.opens_late_s is not None:
        until_s = sealed.opens_late_s
    before = () if case.before is None else case.before.off_wax
    if outside_range(case.counted, case.sheet.wax_temperature_c, mixed_s, until_s, before):
        return "Outside the wax's own range before it sealed: the wax may not have come up."
    if any(min(end_s, until_s) - start_s >= HOLD_S for start_s, end_s in damp):
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


def _bond(case: Case, recoat: StageAnswer, damp: tuple[Spell, ...], now_s: float) -> BondLine:
    surface = Surface(
        case.mixed_at.timestamp(),
        bool(case.waxed),
        tuple(Seen(mark.kind, mark.at.timestamp()) for mark in case.marks),
        damp,
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


NO_READINGS = ReadingsUsed(0, 0, 0, None, None)


def readings_used(case: Case, now_s: float) -> ReadingsUsed:
    """How many readings the count stands on, from mixing until now."""
    before = NO_READINGS if case.before is None else case.before.readings
    mixed_s = case.mixed_at.timestamp()
    used, suspect, ignored = before.used, before.suspect, 0
    first, last = before.first, before.last
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
            first = from_unix(float(time_s[start + found[0]])) if first is None else first
            last = from_unix(float(time_s[start + found[-1]]))
    return ReadingsUsed(used, suspect, ignored, first, last)
