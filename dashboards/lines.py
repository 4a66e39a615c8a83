"""The lines a page is made of: a part, its batches, its alerts, each as it is read."""

from dataclasses import dataclass
from datetime import datetime, tzinfo

from monitor.answers.here import here_of, surface_lines
from monitor.answers.marked import marked_said
from monitor.answers.ready import awaits_a_coat
from monitor.answers.report import coat_lines, knife_lines, spoken_of
from monitor.answers.start import start_said
from monitor.answers.views import BatchNow, Freshness, PartNow
from monitor.answers.wording import TOUCH_TESTS, VERDICT_SHAPES, VERDICT_WORDS
from monitor.cautions import HEAT
from monitor.overview import BatchView, LayupView
from monitor.records import Alert, Verdict
from monitor.times import said
from monitor.units import Unit, difference_said, temperature_said


@dataclass(frozen=True, slots=True)
class VerdictLine:
    kind: str
    """`not-yet`: what the style sheet goes by."""
    shape: str
    word: str


@dataclass(frozen=True, slots=True)
class AlertLine:
    """Fact and action; `heats`: heat's cautions go with it, and stand on the page once."""

    id: int
    fact: str
    action: str
    heats: bool
    raised: str
    seen: str | None
    again: str | None


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One batch: what is read at a glance, then what is read when somebody stays."""

    address: str
    what: str
    short: str
    """`skin A`"""
    verdict: VerdictLine
    stage: str
    when: str
    against: str | None
    shuts: str | None
    heats: bool
    touch: str | None
    marked: str | None
    """What somebody marked of that stage: it stands in place of the touch test."""
    more: tuple[str, ...]
    """Too late for a knife; whether the next coat can go on."""


@dataclass(frozen=True, slots=True)
class PartLine:
    number: int
    what: str
    batches: tuple[BatchLine, ...]
    reading: str | None
    freshness: str
    silent: bool
    surface: tuple[str, ...]
    start: tuple[str, ...]
    """Whether to start, where nothing is mixed yet."""
    alerts: tuple[AlertLine, ...]


def verdict_line(verdict: Verdict) -> VerdictLine:
    return VerdictLine(verdict.value, VERDICT_SHAPES[verdict], VERDICT_WORDS[verdict])


def alert_line(alert: Alert, zone: tzinfo, now: datetime) -> AlertLine:
    seen = None if alert.seen_at is None else said(alert.seen_at, zone, now)
    action = alert.action.replace(HEAT, "").strip()
    raised = said(alert.raised_at, zone, now)
    again = None if alert.again_at is None else said(alert.again_at, zone, now)
    return AlertLine(alert.id, alert.fact, action, HEAT in alert.action, raised, seen, again)


def part_line(part: PartNow, seen: LayupView, zone: tzinfo, now: datetime, unit: Unit) -> PartLine:
    """A part as it is laid out. `seen` is the view that `part` was told from."""
    start: tuple[str, ...] = ()
    if not seen.batches and seen.stays:
        here = here_of(seen, now)
        told = start_said(seen.sheet, here, None, None, zone, unit, now, waxed=False)
        start = told.lines
    pairs = zip(part.batches, seen.batches, strict=True)
    return PartLine(
        part.number,
        part.what,
        tuple(_batch_line(batch, seen, view, zone, unit) for batch, view in pairs),
        reading_said(part.freshness, unit),
        part.freshness.said,
        part.freshness.silent,
        tuple(surface_lines(seen, seen.sheet, now, unit)) if seen.batches else (),
        start,
        tuple(alert_line(alert, zone, now) for alert in part.alerts),
    )


def _batch_line(
    batch: BatchNow, seen: LayupView, view: BatchView, zone: tzinfo, unit: Unit
) -> BatchLine:
    a, marks = batch.assessment, view.case.marks
    more = list(knife_lines(view, zone))
    if batch.stage is not None and awaits_a_coat(view):
        more += coat_lines(seen, view, a.stage(batch.stage), zone, unit)
    marked, touch = None, None
    if batch.stage is not None and batch.verdict in (Verdict.READY, Verdict.TEST_IT):
        touch = TOUCH_TESTS.get(batch.stage)
        marked = touch and marked_said(batch.stage, marks, a.mixed_at, zone, a.now)
    return BatchLine(
        batch.address,
        batch.what,
        batch.what.partition(",")[0],
        verdict_line(batch.verdict),
        "" if batch.stage is None else spoken_of(batch.stage, view),
        batch.when,
        batch.against,
        batch.next_shuts,
        batch.warm_it,
        None if marked else touch,
        marked,
        tuple(line.strip() for line in more),
    )


def reading_said(fresh: Freshness, unit: Unit) -> str | None:
    """`18.4 °C · 65 % · 6.1 °C above the dew point`; None: nothing has been heard."""
    told = []
    if fresh.temperature_c is not None:
        told.append(temperature_said(fresh.temperature_c, unit))
    if fresh.humidity_pct is not None:
        told.append(f"{fresh.humidity_pct:.0f} % humidity")
    if fresh.spread_c is not None:
        side = "above" if fresh.spread_c >= 0 else "below"
        told.append(f"{difference_said(abs(fresh.spread_c), unit)} {side} the dew point")
    return " · ".join(told) or None
