"""One look at everything open, as the rules ask it: which batches stand where, and how soft."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property

import numpy as np

from monitor.alerts.due import Telling
from monitor.alerts.spells import spell_began
from monitor.cure.beside import StayRead, good, spread_of
from monitor.cure.law import opening_law
from monitor.cure.trace import GAP_S
from monitor.overview import BatchView, Beside, LayupView, Overview
from monitor.records import Alert, Channel, FloatArray, MarkKind, Stage, Verdict
from monitor.times import from_unix, said_lasting
from monitor.units import SECONDS_PER_HOUR, temperature_said

LOOKED_BACK_S = 12 * SECONDS_PER_HOUR
"""A day's readings are at hand at least; what began longer ago is no news."""

MARGIN_C = 1.0
"""How far inside a limit it must come before a spell is over. This project's rule."""

SLOPE_S = 30 * 60.0
LEAST_SLOPE_S = 20 * 60.0
OFF_THE_LINE_C = 0.5

SOFT_WITHOUT_FIGURES = timedelta(days=3)
GEL_WITHOUT_FIGURE = timedelta(hours=3)
"""Where the sheet doesn't say when a part is hard, or gels. This project's rules."""

WhichStays = Callable[[BatchView], tuple[Beside, ...]]

_GELLED = frozenset(
    {
        MarkKind.KICKED,
        MarkKind.TRIMMED_SOFT,
        MarkKind.TRIMMED_CLEAN,
        MarkKind.TRIMMED_HARD,
        MarkKind.FLIPPED,
        MarkKind.SANDED_DUST,
        MarkKind.SANDED_GUM,
    }
)


@dataclass(frozen=True)
class Near:
    """A batch beside a sensor's channel, with its last hours' readings since it was mixed."""

    view: LayupView
    batch: BatchView
    beside: Beside
    now_s: float

    @property
    def part(self) -> int:
        return self.view.layup.number

    @property
    def place(self) -> str:
        """`shed:air`"""
        return f"{self.beside.sensor.name}:{self.beside.stay.channel}"

    @property
    def sensor(self) -> str:
        return self.beside.sensor.name

    @property
    def name(self) -> str:
        return batch_said(self.batch)

    @cached_property
    def read(self) -> StayRead:
        beside = self.beside
        return StayRead(beside.readings, beside.stay.channel, beside.stay.nearness)

    @cached_property
    def warmth(self) -> tuple[FloatArray, FloatArray]:
        """Times and temperatures of the good readings."""
        keep = good(self.read)
        return self.beside.readings.time_s[keep], self.read.column_c[keep]

    @cached_property
    def spread(self) -> tuple[FloatArray, FloatArray]:
        return spread_of(self.read)

    @property
    def latest_c(self) -> float | None:
        """The newest good temperature, where it is recent enough to speak of now."""
        time_s, value_c = self.warmth
        if time_s.size == 0 or self.now_s - float(time_s[-1]) > GAP_S:
            return None
        return float(value_c[-1])

    def spell_s(self, beyond: FloatArray, time_s: FloatArray, hold_s: float) -> float | None:
        """When the spell that holds began, where the readings are recent enough."""
        if time_s.size == 0 or self.now_s - float(time_s[-1]) > GAP_S:
            return None
        return spell_began(time_s, beyond, hold_s=hold_s, margin=MARGIN_C, now_s=self.now_s)

    def slope(self, at_s: float) -> tuple[float, float] | None:
        """Temperature and its change an hour, as the half hour until then drew them.

        None: too little was heard, or a leap has no slope.
        """
        time_s, value_c = self.warmth
        inside = (time_s > at_s - SLOPE_S) & (time_s <= at_s)
        x = (time_s[inside] - at_s) / SECONDS_PER_HOUR
        if x.size < 3 or (x[-1] - x[0]) * SECONDS_PER_HOUR < LEAST_SLOPE_S:
            return None
        value = value_c[inside]
        off = x - x.mean()
        per_hour = float(off @ value / (off @ off))
        drawn_c = float(value.mean() - per_hour * x.mean())
        return (drawn_c, per_hour) if abs(drawn_c - float(value[-1])) <= OFF_THE_LINE_C else None

    @cached_property
    def band_c(self) -> float:
        return self.batch.worked.assessment.band_c or 0.0

    def short_of(self, stage: Stage) -> float | None:
        """What the careful edge still lacks; None: the sheet gives no such stage."""
        needs = self.batch.worked.assessment.stage(stage).needs
        return None if needs is None else needs[0] - self.batch.worked.assessment.count.low

    def hours_to(self, stage: Stage, temperature_c: float) -> float | None:
        """Hours at a steady temperature until the careful edge has what it lacks."""
        law, missing = opening_law(self.batch.sheet), self.short_of(stage)
        if law is None or missing is None:
            return None
        rate = float(law.rate(np.array([temperature_c - self.band_c]))[0])
        return max(missing, 0.0) / rate if rate > 0.0 else None


@dataclass(frozen=True)
class Look:
    """Everything open, how to say it, and what was said before of the parts in it."""

    seen: Overview
    telling: Telling
    told: tuple[Alert, ...] = ()

    @property
    def now(self) -> datetime:
        return self.seen.at

    @cached_property
    def now_s(self) -> float:
        return self.seen.at.timestamp()

    def open(self, rule: str, key: str) -> Alert | None:
        """The alert of that rule and key that is open."""
        return next(
            (a for a in self.told if (a.rule, a.key) == (rule, key) and a.cleared_at is None), None
        )

    def at(self, time_s: float) -> str:
        return said_lasting(from_unix(time_s), self.telling.zone)

    def degrees(self, temperature_c: float) -> str:
        return temperature_said(temperature_c, self.telling.unit)

    @cached_property
    def counted(self) -> tuple[Near, ...]:
        """Each batch with the channel it counts on now."""
        return tuple(self._near(lambda batch: batch.counted))

    @cached_property
    def watched(self) -> tuple[Near, ...]:
        """Each batch with every channel beside it now."""
        return tuple(self._near(lambda batch: batch.watched))

    @cached_property
    def surfaces(self) -> tuple[Near, ...]:
        """As `watched`; where a batch has a probe on its surface, the air is not asked."""
        probed = {
            n.batch.batch.id for n in self.watched if n.beside.stay.channel is Channel.SURFACE
        }
        return tuple(
            near
            for near in self.watched
            if near.beside.stay.channel is Channel.SURFACE or near.batch.batch.id not in probed
        )

    def _near(self, which: WhichStays) -> Iterator[Near]:
        for view in self.seen.layups:
            for batch in view.batches:
                start_s = max(batch.batch.mixed_at.timestamp(), self.now_s - LOOKED_BACK_S)
                for beside in which(batch):
                    if beside.since <= self.now and (
                        beside.until is None or beside.until > self.now
                    ):
                        readings = beside.readings.between(start_s, self.now_s)
                        yield Near(view, batch, replace(beside, readings=readings), self.now_s)


def batch_said(batch: BatchView) -> str:
    """`Skin A`, as a sentence begins."""
    first, *rest = batch.batch.name.split("-")
    return " ".join((first.capitalize(), *(w.upper() if len(w) == 1 else w for w in rest)))


def soft(batch: BatchView, now: datetime) -> bool:
    """Whether weather can still hurt it: not past sand, nor sanded to dust, nor beyond help."""
    sand = _last_word(batch)
    if marked(batch, MarkKind.SANDED_DUST) or now < batch.batch.mixed_at:
        return False
    if sand is None:
        return now - batch.batch.mixed_at <= SOFT_WITHOUT_FIGURES
    answer = batch.worked.assessment.stage(sand)
    return answer.verdict not in (Verdict.READY, Verdict.WONT_CURE) and answer.opens.late is None


def gelled(batch: BatchView, now: datetime) -> bool:
    """By what was marked, or by the count at its careful edge."""
    if marked(batch, *_GELLED):
        return True
    answer = batch.worked.assessment.stage(Stage.GEL)
    if answer.needs is None:
        return now - batch.batch.mixed_at > GEL_WITHOUT_FIGURE
    return answer.opens.late is not None


def short_of_flip(batch: BatchView) -> bool:
    """Whether it would be rubbery by morning. A sheet without a flip stage: short of sand."""
    answer = batch.worked.assessment.stage(Stage.FLIP)
    if answer.needs is None:
        return True
    return answer.opens.late is None and not marked(batch, MarkKind.FLIPPED)


def flip_of(batch: BatchView) -> Stage:
    """The stage that a cold night must not come before."""
    flip = batch.worked.assessment.stage(Stage.FLIP)
    return Stage.SAND if flip.needs is None else Stage.FLIP


def marked(batch: BatchView, *kinds: MarkKind) -> bool:
    return any(mark.kind in kinds for mark in batch.case.marks)


def _last_word(batch: BatchView) -> Stage | None:
    """The stage past which it is hard: sand, or the first later one that the sheet gives."""
    for stage in (Stage.SAND, Stage.PROPS_OFF, Stage.LOAD, Stage.FULL):
        if batch.worked.assessment.stage(stage).needs is not None:
            return stage
    return None


def hours_about(hours: float) -> str:
    """`3 h` or `40 min`: a guess said no finer than it is known."""
    minutes = hours * 60.0
    if minutes < 90.0:
        return f"{max(5 * math.floor(minutes / 5.0 + 0.5), 5)} min"
    return f"{math.floor(hours + 0.5)} h"
