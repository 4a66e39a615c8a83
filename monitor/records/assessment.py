"""The state of a layup as the count sees it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from monitor.records.words import Nearness, Stage, Verdict

GapReason = Literal["silent", "suspect", "carried", "before-first", "after-last"]


@dataclass(frozen=True, slots=True)
class Edges:
    """When something is reached at the warm, the middle and the cold edge of the band.

    None: the record up to now has not reached it.
    """

    early: datetime | None = None
    middle: datetime | None = None
    late: datetime | None = None


@dataclass(frozen=True, slots=True)
class Count:
    """Degree-hours (or equivalent hours) since mixing; None: unknown."""

    low: float
    middle: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Gap:
    """A time that nobody measured. `said_until`: until then somebody vouches for its warmth."""

    start: datetime
    end: datetime
    why: GapReason
    said_until: datetime | None = None

    @property
    def hours(self) -> float:
        return (self.end - self.start).total_seconds() / 3600.0


@dataclass(frozen=True, slots=True)
class Parked:
    """A time below the floor. `end` None: it still is."""

    start: datetime
    end: datetime | None


@dataclass(frozen=True, slots=True)
class StageAnswer:
    """One stage: what it needs, the verdict, the edges, and the one reason in a sentence.

    `by_count`: the count decided, so it is worth showing beside the reason.
    """

    stage: Stage
    kind: Literal["event", "opening", "window"]
    needs: tuple[float, ...] | None
    verdict: Verdict
    opens: Edges
    shuts: Edges | None
    shut_by: Literal["count", "hours"] | None
    reason: str
    by_count: bool


@dataclass(frozen=True, slots=True)
class BondLine:
    """Whether the next layer joins chemically; until when for certain, and what voids it.

    `until`: when the window shut, or the latest it can; None: nobody can say.
    """

    state: Literal["chemical", "mechanical", "cant-tell"]
    until: datetime | None
    voided_by: tuple[str, ...]
    sanded_at: datetime | None
    since_sanded: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class StageForecast:
    """When a stage is expected to open and to shut: four times in five between early and late."""

    stage: Stage
    opens: Edges
    shuts: Edges | None


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is guessed, and from what, in words. No stages: nothing can be guessed, and why."""

    basis: str
    stages: tuple[StageForecast, ...]
    dew_at: datetime | None = None
    """When the surface is expected nearer the dew point than the sheet allows, within a day."""

    def stage(self, stage: Stage) -> StageForecast | None:
        return next((told for told in self.stages if told.stage is stage), None)


@dataclass(frozen=True, slots=True)
class ReadingsUsed:
    """How many readings the count stands on, since mixing."""

    used: int
    suspect: int
    ignored_after_now: int
    first: datetime | None
    last: datetime | None


@dataclass(frozen=True, slots=True)
class Assessment:
    """What state one batch is in at `now`."""

    sheet: str
    mixed_at: datetime
    now: datetime
    nearness: Nearness | None
    band_c: float | None
    unit: Literal["dh", "eq_h"]
    readings: ReadingsUsed
    gaps: tuple[Gap, ...]
    unmeasured_hours: float
    count: Count
    parked_since: datetime | None
    parked: tuple[Parked, ...]
    overruled_by: tuple[str, ...]
    stages: tuple[StageAnswer, ...]
    bond_line: BondLine
    forecast: Forecast

    def stage(self, stage: Stage) -> StageAnswer:
        return next(answer for answer in self.stages if answer.stage == stage)
