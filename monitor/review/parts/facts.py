"""What the record holds about a layup, at the moments that matter to a review."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from monitor.cure.mixing import MixJudgement
from monitor.records import Assessment, Count, Edges, Mark, MarkKind, Role, Sheet, Stage
from monitor.review.parts.symptoms import Answers, LastCoat
from monitor.units import Unit

FIRST_HOURS = timedelta(hours=6)
"""What nobody measured in these decides how sure a review can be. This project's rule."""

COATS = (Role.PLAIN_COAT, Role.WAX_COAT)


@dataclass(frozen=True, slots=True)
class Extreme:
    """The least or the most of something, and when."""

    value: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Span:
    start: datetime
    end: datetime

    @property
    def hours(self) -> float:
        return (self.end - self.start).total_seconds() / 3600.0


@dataclass(frozen=True, slots=True)
class Weather:
    """What was measured beside a batch over a span. None: nothing was.

    Temperatures and spreads in °C, humidity in %. `damp`: spells nearer the dew point than the
    sheet allows; `wet`: nearer than 1 °C. `probed`: the spread is the surface's own.
    """

    span: Span
    coldest: Extreme | None = None
    warmest: Extreme | None = None
    closest: Extreme | None = None
    most_humid: Extreme | None = None
    damp: tuple[Span, ...] = ()
    wet: tuple[Span, ...] = ()
    probed: bool = False


@dataclass(frozen=True, slots=True)
class CoatUnder:
    """The coat that another went over: its count then, and when it opened for one."""

    address: str
    waxed: bool
    mixed_at: datetime
    count_then: Count
    needs: float | None
    opens: Edges
    thickness_mm: float | None
    sanded_at: datetime | None


@dataclass(frozen=True, slots=True)
class BatchFacts:
    """One batch. `mixed_in`: °C when it was mixed; `early`: its first three hours; `open_`: until
    it sealed (waxed) or gelled; `green`: until the sand stage; none of them later than now."""

    address: str
    role: Role
    sheet: Sheet
    mixed_at: datetime
    mix: MixJudgement
    assessment: Assessment
    marks: tuple[Mark, ...]
    early: Weather
    open_: Weather
    green: Weather
    mixed_in: Extreme | None = None
    hottest: Extreme | None = None
    cold_before_gel_h: float = 0.0
    resin_g: float | None = None
    second_g: float | None = None
    scale_step_g: float | None = None
    thickness_mm: float | None = None
    waxed: bool = False
    under: CoatUnder | None = None

    @property
    def epoxy(self) -> bool:
        return self.sheet.kind == "epoxy"

    def needs(self, stage: Stage) -> float | None:
        """Degree-hours or equivalent hours that open a stage. None: the sheet doesn't say."""
        figures = self.sheet.needs.get(stage)
        return None if figures is None else figures[0]

    def marked(self, *kinds: MarkKind, before: datetime | None = None) -> tuple[Mark, ...]:
        """The marks of those kinds made since it was mixed."""
        return tuple(
            mark
            for mark in self.marks
            if mark.kind in kinds
            and mark.at >= self.mixed_at
            and (before is None or mark.at < before)
        )


@dataclass(frozen=True, slots=True)
class TinJob:
    """Another batch from the same tin. `slow` None: its marks don't tell."""

    address: str
    mixed_at: datetime
    slow: bool | None
    said: str


@dataclass(frozen=True, slots=True)
class Tin:
    """A tin that a batch of this layup came from, and what else came from it, oldest first."""

    number: str
    part: str
    """`resin`, `catalyst` or `hardener`."""
    jobs: tuple[TinJob, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """A layup for review at `now`. `last` is the batch whose surface is asked about."""

    now: datetime
    unit: Unit
    answers: Answers
    batches: tuple[BatchFacts, ...]
    last: BatchFacts
    on_hull: bool = False
    tins: tuple[Tin, ...] = ()
    first_deadline: datetime | None = None
    """When an earlier review said to give up."""

    @property
    def waxed(self) -> bool:
        """Whether the last coat is waxed: as answered, else as logged."""
        if self.answers.last_coat is not None:
            return self.answers.last_coat is LastCoat.WAXED
        return self.last.waxed

    @property
    def polyester(self) -> bool:
        return not self.last.epoxy

    def unmeasured_early_h(self) -> float:
        """Hours of the last batch's first six that nobody measured; suspect ones are none.

        Valid for any assessment. Source: this project's rule.
        """
        end = min(self.last.mixed_at + FIRST_HOURS, self.now)
        return (
            sum(
                max(0.0, (min(gap.end, end) - max(gap.start, self.last.mixed_at)).total_seconds())
                for gap in self.last.assessment.gaps
            )
            / 3600.0
        )
