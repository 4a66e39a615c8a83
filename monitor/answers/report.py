"""Answers as lines of plain text, for a terminal."""

from collections.abc import Iterator
from datetime import tzinfo

from monitor.answers.ready import against, freshness, headline, when_said
from monitor.answers.wording import (
    GAP_WORDS,
    NEARNESS_WORDS,
    STAGE_WORDS,
    TOUCH_TESTS,
    VERDICT_SHAPES,
    VERDICT_WORDS,
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
from monitor.overview import BatchView, LayupView
from monitor.records import Assessment, Gap, Parked, Stage, Verdict
from monitor.times import length_said, said
from monitor.units import Unit, difference_said


def assessment_lines(
    a: Assessment, zone: tzinfo, unit: Unit, only: Stage | None = None
) -> Iterator[str]:
    """One batch: what was counted, what wasn't, and each stage the sheet gives."""
    yield count_line(a, unit)
    for gap in a.gaps:
        yield f"Not measured: {gap_said(gap, a, zone)}."
    for parked in a.parked:
        yield parked_said(parked, a, zone)
    silent = []
    for answer in a.stages:
        if only is not None and answer.stage is not only:
            continue
        if answer.needs is None and answer.verdict is Verdict.CANT_TELL and only is None:
            silent.append(STAGE_WORDS[answer.stage])
            continue
        shape = VERDICT_SHAPES[answer.verdict]
        yield f"  {shape} {stage_headline(answer, zone, a.now)}. {reason_said(answer, a, unit)}"
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
) -> Iterator[str]:
    """A part: the headline of each batch first, then what it rests on."""
    if not view.batches:
        yield f"Part {view.layup.number}: {view.layup.what}. Nothing mixed yet."
        return
    now = view.batches[0].worked.assessment.now
    yield f"Part {view.layup.number}: {view.layup.what}. {freshness(view, now).said}."
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
    a = batch.worked.assessment
    marks = tuple(m for m in view.marks if m.batch_id in (None, batch.batch.id))
    spoken = headline(a, marks, safety=view.layup.safety) if only is None else a.stage(only)
    yield f"{batch_said(batch.batch, zone, a.now)}, by {a.sheet}"
    if spoken is not None:
        when = when_said(spoken, batch, zone, unit)
        yield (
            f"{VERDICT_SHAPES[spoken.verdict]} {STAGE_WORDS[spoken.stage]}: "
            f"{VERDICT_WORDS[spoken.verdict]}{', ' + when if when else ''}."
        )
        if spoken.verdict in (Verdict.READY, Verdict.TEST_IT) and spoken.stage in TOUCH_TESTS:
            yield f"Do first: {TOUCH_TESTS[spoken.stage]}."
    speaks_against = against(batch, a.now, zone, unit)
    if speaks_against is not None:
        yield f"Against it: {speaks_against}."
    yield from assessment_lines(a, zone, unit, only)
