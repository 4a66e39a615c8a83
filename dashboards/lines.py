"""The lines a page is made of: a part, its batches, its alerts, each as it is read."""

from dataclasses import dataclass
from datetime import datetime, tzinfo

from monitor.answers.views import BatchNow, Freshness, PartNow
from monitor.answers.wording import (
    STAGE_WORDS,
    TOUCH_TESTS,
    VERDICT_SHAPES,
    VERDICT_WORDS,
)
from monitor.cautions import HEAT
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
    id: int
    fact: str
    action: str
    raised: str
    seen: str | None


@dataclass(frozen=True, slots=True)
class BatchLine:
    address: str
    what: str
    verdict: VerdictLine
    stage: str
    when: str
    touch: str | None
    against: str | None
    shuts: str | None
    heat: str | None
    """The cautions that go with making it warmer, where that is what it takes."""


@dataclass(frozen=True, slots=True)
class PartLine:
    number: int
    what: str
    alerts: tuple[AlertLine, ...]
    batches: tuple[BatchLine, ...]
    reading: str | None
    freshness: str
    silent: bool


def verdict_line(verdict: Verdict) -> VerdictLine:
    return VerdictLine(verdict.value, VERDICT_SHAPES[verdict], VERDICT_WORDS[verdict])


def alert_line(alert: Alert, zone: tzinfo, now: datetime) -> AlertLine:
    seen = None if alert.seen_at is None else said(alert.seen_at, zone, now)
    return AlertLine(alert.id, alert.fact, alert.action, said(alert.raised_at, zone, now), seen)


def part_line(part: PartNow, zone: tzinfo, now: datetime, unit: Unit) -> PartLine:
    return PartLine(
        part.number,
        part.what,
        tuple(alert_line(alert, zone, now) for alert in part.alerts),
        tuple(batch_line(batch) for batch in part.batches),
        reading_said(part.freshness, unit),
        part.freshness.said,
        part.freshness.silent,
    )


def batch_line(batch: BatchNow) -> BatchLine:
    return BatchLine(
        batch.address,
        batch.what,
        verdict_line(batch.verdict),
        "" if batch.stage is None else STAGE_WORDS[batch.stage],
        batch.when,
        _touch(batch),
        batch.against,
        batch.next_shuts,
        HEAT if batch.warm_it else None,
    )


def _touch(batch: BatchNow) -> str | None:
    if batch.stage is None or batch.verdict not in (Verdict.READY, Verdict.TEST_IT):
        return None
    return TOUCH_TESTS.get(batch.stage)


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
