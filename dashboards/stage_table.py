"""Every stage of a batch as a row, and what is to be said below the rows."""

from dataclasses import dataclass
from datetime import datetime, tzinfo

from dashboards.lines import VerdictLine, verdict_line
from monitor.answers.marked import marked_said
from monitor.answers.wording import (
    ABOUT,
    GAP_WORDS,
    MINUTE_S,
    STAGE_WORDS,
    bond_said,
    careful,
    counted,
    expected_said,
    guess_said,
    reason_said,
    vouched_said,
)
from monitor.overview import BatchView, LayupView
from monitor.records import (
    WINDOWS,
    Assessment,
    Edges,
    Gap,
    Mark,
    Parked,
    Stage,
    StageAnswer,
)
from monitor.times import length_said, said
from monitor.units import Unit, difference_said


@dataclass(frozen=True, slots=True)
class StageRow:
    stage: str
    needs: str
    verdict: VerdictLine
    opens_word: str
    opens: str | None
    """At the careful edge: the late one."""
    opens_small: str | None
    shuts: str | None
    reason: str
    """Empty where what was marked stands in its place."""
    marked: str | None
    """What somebody saw of it, by their mark."""
    expected: str | None
    """What is guessed of it, apart from what was measured."""


@dataclass(frozen=True, slots=True)
class BatchTable:
    address: str
    what: str
    sheet: str
    count: str
    rows: tuple[StageRow, ...]
    silent: tuple[str, ...]
    """Stages that the sheet doesn't give."""
    gaps: tuple[str, ...]
    parked: tuple[str, ...]
    bond: str
    basis: str
    """What the guesses rest on, or why there are none."""


@dataclass(frozen=True, slots=True)
class JointRow:
    stage: str
    verdict: VerdictLine
    slowest: str


@dataclass(frozen=True, slots=True)
class MarkLine:
    at: str
    kind: str
    batch: str | None
    note: str | None


def batch_table(
    number: int, batch: BatchView, what: str, zone: tzinfo, now: datetime, unit: Unit
) -> BatchTable:
    a = batch.worked.assessment
    given = [answer for answer in a.stages if answer.needs is not None]
    return BatchTable(
        f"{number}/{batch.batch.name}",
        what,
        a.sheet,
        count_said(a, unit),
        tuple(_row(answer, a, batch.case.marks, zone, unit) for answer in given),
        tuple(STAGE_WORDS[answer.stage] for answer in a.stages if answer.needs is None),
        tuple(_gap_said(gap, zone, now) for gap in a.gaps),
        tuple(_parked_said(span, zone, now) for span in a.parked),
        bond_said(a.bond_line, zone, now),
        _guesses_said(a, zone, now),
    )


def count_said(a: Assessment, unit: Unit) -> str:
    """`195 °C·h so far (178 to 212)`."""
    low, middle, high = (
        "?" if value is None else f"{counted(value, a, unit):.0f}"
        for value in (a.count.low, a.count.middle, a.count.high)
    )
    band = f"{difference_said(a.band_c, unit)} either way" if a.band_c is not None else "no sensor"
    return f"{middle} {_sign(a, unit)} so far ({low} to {high}; the sensor is taken to be {band})"


def _sign(a: Assessment, unit: Unit) -> str:
    if a.unit == "eq_h":
        return "equivalent hours"
    return "°F·h" if unit == "f" else "°C·h"


def _row(
    answer: StageAnswer, a: Assessment, marks: tuple[Mark, ...], zone: tzinfo, unit: Unit
) -> StageRow:
    opens, now = answer.opens, a.now
    marked = marked_said(answer.stage, marks, a.mixed_at, zone, now)
    reason = reason_said(answer, a, unit)
    if marked is not None and answer.stage in ABOUT:
        reason = ""
    about = "about " if answer.stage in ABOUT else ""
    return StageRow(
        STAGE_WORDS[answer.stage],
        _needs_said(answer, a, unit),
        verdict_line(answer.verdict),
        "Due" if answer.kind == "event" else "Opens",
        None if opens.late is None else about + _opened_said(opens.late, zone, now),
        _small(opens, zone, now),
        _shuts_said(answer, zone, now),
        reason,
        marked,
        _expected(answer, a, zone, now),
    )


def _guesses_said(a: Assessment, zone: tzinfo, now: datetime) -> str:
    """What the guesses rest on, and the dew they make likely."""
    words = f"{a.forecast.basis.rstrip('.')}."
    if a.forecast.dew_at is not None:
        words += f" Dew likely {guess_said(a.forecast.dew_at, zone, now, later=False)}."
    return words


def _expected(answer: StageAnswer, a: Assessment, zone: tzinfo, now: datetime) -> str | None:
    told = a.forecast.stage(answer.stage)
    words = None if told is None else expected_said(told, zone, now)
    if words is None:
        return None
    return f"A guess: {words.partition(': ')[2]}."


def _needs_said(answer: StageAnswer, a: Assessment, unit: Unit) -> str:
    """`240`, `18 to 40`."""
    return " to ".join(f"{counted(need, a, unit):.0f}" for need in answer.needs or ())


def _small(opens: Edges, zone: tzinfo, now: datetime) -> str | None:
    edges = (("early", opens.early), ("middle", opens.middle))
    told = [f"{word} {_opened_said(edge, zone, now)}" for word, edge in edges if edge is not None]
    return ", ".join(told) or None


def _opened_said(moment: datetime, zone: tzinfo, now: datetime) -> str:
    return said(min(careful(moment, MINUTE_S, later=True), now), zone, now)


def _shuts_said(answer: StageAnswer, zone: tzinfo, now: datetime) -> str | None:
    if answer.shuts is None or answer.shuts.early is None:
        return None
    about = "about " if answer.stage in ABOUT else ""
    by = ", by the sheet's plain hours" if answer.shut_by == "hours" else ""
    return f"{about}{said(answer.shuts.early, zone, now)}{by}"


def _gap_said(gap: Gap, zone: tzinfo, now: datetime) -> str:
    words = f"{GAP_WORDS[gap.why]}{vouched_said(gap, zone, now)}"
    return f"{_span_said(gap.start, gap.end, zone, now)}: {words}"


def _parked_said(span: Parked, zone: tzinfo, now: datetime) -> str:
    if span.end is None:
        return f"since {said(span.start, zone, now)}, still"
    return _span_said(span.start, span.end, zone, now)


def _span_said(start: datetime, end: datetime, zone: tzinfo, now: datetime) -> str:
    length = length_said((end - start).total_seconds())
    return f"{said(start, zone, now)} to {said(end, zone, now)}, {length}"


def joint_rows(view: LayupView) -> tuple[JointRow, ...]:
    """What the part as a whole is ready for: nothing to add where it has one batch."""
    if view.joint is None or len(view.batches) < 2:
        return ()
    return tuple(
        JointRow(STAGE_WORDS[stage.stage], verdict_line(stage.verdict), stage.slowest)
        for stage in view.joint.stages
        if stage.stage not in (Stage.GEL, *WINDOWS)
    )


def mark_lines(view: LayupView, zone: tzinfo, now: datetime) -> tuple[MarkLine, ...]:
    names = {batch.batch.id: batch.batch.name for batch in view.batches}
    return tuple(_mark_line(mark, names, zone, now) for mark in view.marks)


def _mark_line(mark: Mark, names: dict[int, str], zone: tzinfo, now: datetime) -> MarkLine:
    batch = None if mark.batch_id is None else names.get(mark.batch_id)
    return MarkLine(said(mark.at, zone, now), mark.kind.replace("-", " "), batch, mark.note)
