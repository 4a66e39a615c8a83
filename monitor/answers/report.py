"""Answers as lines of plain text, for a terminal."""

from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo

from monitor.answers.against import against
from monitor.answers.here import here_of, surface_lines
from monitor.answers.marked import marked_said
from monitor.answers.ready import awaits_a_coat, freshness, headline, next_shuts, when_said
from monitor.answers.start import Sealing, start_said
from monitor.answers.wording import (
    GAP_WORDS,
    NEARNESS_WORDS,
    ROLE_WORDS,
    STAGE_WORDS,
    TOUCH_TESTS,
    VERDICT_SHAPES,
    VERDICT_WORDS,
    WITHOUT_A_KNIFE,
    batch_said,
    bond_said,
    counted,
    expected_said,
    guess_said,
    reason_said,
    stage_headline,
    vouched_said,
)
from monitor.assess import Joint
from monitor.cautions import HEAT
from monitor.cure.forecast import Missing, look_ahead
from monitor.cure.law import opening_law
from monitor.cure.outlook import Outlook
from monitor.overview import BatchView, LayupView
from monitor.records import Assessment, Gap, Mark, Parked, Role, Stage, StageAnswer, Verdict
from monitor.times import from_unix, length_said, said
from monitor.units import Unit, difference_said


def assessment_lines(
    a: Assessment,
    zone: tzinfo,
    unit: Unit,
    only: Stage | None = None,
    marks: Sequence[Mark] = (),
) -> Iterator[str]:
    """One batch: what was counted, what wasn't, and each stage the sheet gives.

    What somebody marked of a stage stands in place of its reason.
    """
    yield count_line(a, unit)
    for gap in a.gaps:
        yield f"Not measured: {gap_said(gap, a, zone)}."
    for parked in a.parked:
        yield parked_said(parked, a, zone)
    if "mix-outside" in a.overruled_by:
        wont = Verdict.WONT_CURE
        yield f"  {VERDICT_SHAPES[wont]} every stage: {VERDICT_WORDS[wont]}. {a.stages[0].reason}"
        return
    silent = []
    for answer in a.stages:
        if only is not None and answer.stage is not only:
            continue
        if answer.needs is None and answer.verdict is Verdict.CANT_TELL and only is None:
            silent.append(STAGE_WORDS[answer.stage])
            continue
        shape = VERDICT_SHAPES[answer.verdict]
        marked = marked_said(answer.stage, marks, a.mixed_at, zone, a.now)
        why = reason_said(answer, a, unit)
        if marked is not None:
            why = marked if answer.stage in (Stage.GEL, Stage.KNIFE_TRIM) else f"{why} {marked}"
        yield f"  {shape} {stage_headline(answer, zone, a.now)}. {why}"
    yield from forecast_lines(a, zone, only)
    if only in (None, Stage.RECOAT):
        yield f"  {bond_said(a.bond_line, zone, a.now)}"
    if silent:
        yield f"  Your sheet doesn't say: {', '.join(silent)}."


def forecast_lines(a: Assessment, zone: tzinfo, only: Stage | None) -> Iterator[str]:
    """What is expected, apart from what was measured, and what the guess rests on."""
    told = [stage for stage in a.forecast.stages if only in (None, stage.stage)]
    lines = [line for stage in told if (line := expected_said(stage, zone, a.now))]
    if lines:
        yield f"Looking ahead, a guess ({a.forecast.basis}):"
        yield from (f"  {line}" for line in lines)
    if a.forecast.dew_at is not None and only in (None, Stage.SEALED):
        dew = guess_said(a.forecast.dew_at, zone, a.now, later=False)
        yield f"Dew likely {dew}, a guess by the last nights' dew points."


def count_line(a: Assessment, unit: Unit) -> str:
    """`Count 294 (273 to 316) degree-hours from 1301 readings, beside the part ± 1.0 °C.`"""
    words = "equivalent hours" if a.unit == "eq_h" else "degree-hours"
    if a.unit == "dh" and unit == "f":
        words = "degree-hours (°F)"
    low = counted(a.count.low, a, unit)
    middle, high = (
        None if value is None else counted(value, a, unit)
        for value in (a.count.middle, a.count.high)
    )
    if middle is None or high is None:
        count = f"Count at least {low:.0f} {words}, more is not known"
    else:
        count = f"Count {middle:.0f} ({low:.0f} to {high:.0f}) {words}"
    if a.nearness is None or a.band_c is None:
        return f"{count}: no readings beside it."
    band = difference_said(a.band_c, unit)
    used = f"{a.readings.used} readings, {NEARNESS_WORDS[a.nearness]} ± {band}"
    suspect = f", {a.readings.suspect} suspect ones left out" if a.readings.suspect else ""
    return f"{count} from {used}{suspect}."


def gap_said(gap: Gap, a: Assessment, zone: tzinfo) -> str:
    return (
        f"{said(gap.start, zone, a.now)} to {said(gap.end, zone, a.now)}, "
        f"{length_said(gap.hours * 3600)}, {GAP_WORDS[gap.why]}{vouched_said(gap, zone, a.now)}"
    )


def parked_said(parked: Parked, a: Assessment, zone: tzinfo) -> str:
    start = said(parked.start, zone, a.now)
    if parked.end is None:
        return f"PARKED since {start}: too cold to cure. Make it warmer; waiting won't do. {HEAT}"
    return f"Was parked {start} to {said(parked.end, zone, a.now)}: too cold to cure."


def ready_lines(
    view: LayupView,
    zone: tzinfo,
    unit: Unit,
    batches: tuple[BatchView, ...],
    only: Stage | None = None,
    *,
    now: datetime,
) -> Iterator[str]:
    """A part: the headline of each batch first, then what it rests on."""
    name = f"Part {view.layup.number}: {view.layup.what}."
    if not view.batches:
        yield f"{name} Nothing mixed yet."
        if view.stays:
            yield from start_said(
                view.sheet, here_of(view, now), None, None, zone, unit, now, waxed=False
            ).lines
        return
    yield f"{name} {freshness(view, now).said}."
    yield from surface_lines(view, view.sheet, now, unit)
    for batch in batches:
        yield ""
        yield from _batch_lines(view, batch, zone, unit, only)
    if view.joint is not None and len(view.batches) > 1:
        yield from joint_lines("The whole part", view.joint, only)


def joint_lines(what: str, joint: Joint, only: Stage | None = None) -> Iterator[str]:
    """A joint goes by its slowest batch, and takes the worst flag of any."""
    yield ""
    yield f"{what}, by its slowest batch:"
    for stage in joint.stages:
        if only in (None, stage.stage):
            yield (
                f"  {VERDICT_SHAPES[stage.verdict]} {STAGE_WORDS[stage.stage]}: "
                f"{VERDICT_WORDS[stage.verdict]}, by {stage.slowest}."
            )


def _batch_lines(
    view: LayupView, batch: BatchView, zone: tzinfo, unit: Unit, only: Stage | None
) -> Iterator[str]:
    a, marks = batch.worked.assessment, batch.case.marks
    spoken = (
        headline(a, marks, safety=view.layup.safety, next_coat=awaits_a_coat(batch))
        if only is None
        else a.stage(only)
    )
    yield f"{batch_said(batch.batch, zone, a.now)}, by {a.sheet}"
    if spoken is not None:
        when = when_said(spoken, batch, zone, unit)
        yield (
            f"{VERDICT_SHAPES[spoken.verdict]} {spoken_of(spoken.stage, batch)}: "
            f"{VERDICT_WORDS[spoken.verdict]}{', ' + when if when else ''}."
        )
        tested = marked_said(spoken.stage, marks, a.mixed_at, zone, a.now)
        if spoken.verdict in (Verdict.READY, Verdict.TEST_IT) and spoken.stage in TOUCH_TESTS:
            yield tested or f"Do first: {TOUCH_TESTS[spoken.stage]}."
    speaks_against = against(batch, a.now, zone, unit)
    if speaks_against is not None:
        yield f"Against it: {speaks_against}{'' if speaks_against.endswith('?') else '.'}"
    shuts = next_shuts(batch, zone, unit) if only is None else None
    if only in (None, Stage.KNIFE_TRIM):
        yield from knife_lines(batch, zone)
    if shuts is not None:
        yield f"Next to shut: {shuts}."
    if only is None and spoken is not None and awaits_a_coat(batch):
        yield from coat_lines(view, batch, spoken, zone, unit)
    yield from assessment_lines(a, zone, unit, only, marks)


def knife_lines(batch: BatchView, zone: tzinfo) -> Iterator[str]:
    """The knife's window was missed: until it can be flipped, say how to go on without a knife."""
    a = batch.worked.assessment
    knife = a.stage(Stage.KNIFE_TRIM)
    if knife.verdict is not Verdict.SHUT or a.stage(Stage.FLIP).verdict is Verdict.READY:
        return
    if marked_said(knife.stage, batch.case.marks, a.mixed_at, zone, a.now) is not None:
        return
    opened, shut = knife.opens.late, None if knife.shuts is None else knife.shuts.early
    if shut is None:
        return
    long = ""
    if opened is not None:
        long = f", after {length_said((shut - opened).total_seconds())}"
    yield f"Too late for a knife: shut about {said(shut, zone, a.now)}{long}. {WITHOUT_A_KNIFE}"


def spoken_of(stage: Stage, batch: BatchView) -> str:
    return "next coat" if stage is Stage.RECOAT and awaits_a_coat(batch) else STAGE_WORDS[stage]


def coat_lines(
    view: LayupView, batch: BatchView, spoken: StageAnswer, zone: tzinfo, unit: Unit
) -> Iterator[str]:
    """With the window open: whether the next coat can go on now, without wax and with it."""
    if spoken.stage is not Stage.RECOAT or spoken.verdict is Verdict.NOT_YET:
        return
    now = batch.worked.assessment.now
    for role, sealing in ((Role.PLAIN_COAT, None), (Role.WAX_COAT, _sealing(batch))):
        told = start_said(
            batch.sheet,
            here_of(view, now),
            None,
            sealing,
            zone,
            unit,
            now,
            waxed=role is Role.WAX_COAT,
        )
        yield f"Next, {ROLE_WORDS[role]}: {told.lines[0]}"
        if sealing is not None and sealing.dewed and len(told.lines) > 1:
            yield f"  {told.lines[1]}"


def _sealing(batch: BatchView) -> Sealing | None:
    """When a wax coat mixed now would seal, and the dew: guessed from this place's own days."""
    law, need = opening_law(batch.sheet), batch.sheet.needs.get(Stage.SEALED)
    ahead, a = batch.case.outlook, batch.worked.assessment
    if law is None or need is None or not isinstance(ahead, Outlook):
        return None
    told = look_ahead(ahead, law, a.band_c or 0.0).reached(Missing(need[0], need[0], need[0]))
    middle, late = (None if t is None else from_unix(t) for t in (told.middle_s, told.late_s))
    return Sealing(a.forecast.dew_at, middle, late)
