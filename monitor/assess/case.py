"""What is asked about: one batch with its sheet, its mix, its stays, and what it came to before."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from monitor.cure.beside import StayRead
from monitor.cure.damp import SpellsSoFar
from monitor.cure.exposure import From
from monitor.cure.floor import Below
from monitor.cure.gaps import Unmeasured
from monitor.cure.mixing import NOTHING_WEIGHED, Weighed
from monitor.cure.outlook import Course, NoOutlook, Outlook
from monitor.cure.stages import CountedSoFar
from monitor.records import Mark, ReadingsUsed, Sheet


@dataclass(frozen=True)
class Case:
    """One batch to be answered about: its sheet, its mix, and its stays in time order.

    `counted` are the stays it counts on; `watched` every stay beside it, for how hot and how damp
    it was. `waxed` None: nobody said. `covered_at`: when a coat went over it. `over_soft`: it went
    over a coat that was not open for one yet. `clock_in_doubt`: nobody can say what time it is.
    `before`: what the record came to already; the stays' readings are then only those after it.
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
    clock_in_doubt: bool = False
    outlook: Outlook | NoOutlook | None = None
    dew: Course | NoOutlook | None = None
    before: "Settled | None" = None


@dataclass(frozen=True)
class Settled:
    """What a batch's record came to until one good reading; nothing before it is needed again.

    That reading is `since.knot_s` (Unix seconds) and `knot_c` (°C) of the counted stay number
    `stay`, whose first is at `stay_begun_s`. `gaps` has every interval over 15 minutes of that
    stay: how long is silence there may still change.
    """

    since: From
    knot_c: float
    stay: int
    stay_begun_s: float
    counted: CountedSoFar
    cold: Below | None
    gaps: tuple[Unmeasured, ...]
    hot_s: float | None
    damp: tuple[SpellsSoFar, ...]
    off_wax: tuple[SpellsSoFar, ...]
    readings: ReadingsUsed
