"""What a printed record and a tape label hold: words, ready to be laid out on paper.

None: the book holds nothing of it, and the paper leaves a line to fill in by hand.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from monitor.answers.views import LayupHistory
from monitor.records import Particulars, Stage


@dataclass(frozen=True, slots=True)
class KeptWithin:
    """One batch's air against its sheet's limits, from mixing until `until`."""

    batch: str
    period: str
    temperature: str
    humidity: str
    spread: str
    unmeasured: str


@dataclass(frozen=True, slots=True)
class StageLine:
    stage: str
    needs: str
    shape: str
    verdict: str
    opened: str | None
    """At the careful edge: the late one."""
    band: str | None
    """The early edge and the middle."""
    shut: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class BatchRecord:
    """One cup of mix: what went in, what it went onto, and how far it came."""

    address: str
    what: str
    mixed: str
    sheet: str
    resin: str | None
    second_part: Literal["catalyst", "hardener"]
    second: str | None
    share: str | None
    judged: str
    scale: str | None
    resin_tin: str | None
    second_tin: str | None
    cup: str | None
    thickness: str | None
    waxed: bool
    prepared: tuple[str, ...]
    counted: str
    stages: tuple[StageLine, ...]
    silent: tuple[str, ...]
    gaps: tuple[str, ...]
    parked: tuple[str, ...]
    bond: str


@dataclass(frozen=True, slots=True)
class SensorLine:
    sensor: str
    where: str
    period: str
    readings: str
    checked: str | None


@dataclass(frozen=True, slots=True)
class MarkLine:
    """Something seen or done. `number` ties it to the plot."""

    number: int
    when: str
    batch: str
    what: str
    note: str | None
    counts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AlertLine:
    said: str
    fact: str
    action: str
    seen: str | None
    ended: str | None
    done: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CorrectionLine:
    entry: str
    field: str
    was: str
    now: str
    corrected: str


@dataclass(frozen=True, slots=True)
class ReviewText:
    """Why it stayed tacky, as it was answered then."""

    when: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetRow:
    words: str
    said: str
    origin: str


@dataclass(frozen=True, slots=True)
class SheetCopy:
    """A sheet as it was kept: in words, and its file's text whole."""

    name: str
    stem: str
    version: str | None
    kept: str
    used_by: str
    sections: tuple[tuple[str, tuple[SheetRow, ...]], ...]
    text: str


@dataclass(frozen=True, slots=True)
class Record:
    """Everything of one part that goes on paper."""

    number: int
    what: str
    particulars: Particulars
    """As the part says, else as the shop does."""
    on_hull: bool
    safety: bool
    demo: bool
    begun: str
    ended: str | None
    stood_at: str
    clock: str
    within: tuple[KeptWithin, ...]
    sun: tuple[str, ...]
    batches: tuple[BatchRecord, ...]
    sensors: tuple[SensorLine, ...]
    marks: tuple[MarkLine, ...]
    tests: tuple[MarkLine, ...]
    alerts: tuple[AlertLine, ...]
    corrections: tuple[CorrectionLine, ...]
    reviews: tuple[ReviewText, ...]
    sheets: tuple[SheetCopy, ...]
    not_shown: tuple[str, ...]
    history: LayupHistory
    """What the plots are drawn from; its marks are numbered as above."""


@dataclass(frozen=True, slots=True)
class Bound:
    """One time of a tape label. `at` None: nobody can say, write it in by hand.

    `sure`: measured; guessed from the last days; or the sheet's plain hours, by which it is shut
    at the very latest.
    """

    bound: Literal["not before", "not after"]
    stage: Stage
    words: str
    at: datetime | None
    when: str | None
    sure: Literal["measured", "guess", "latest"]


@dataclass(frozen=True, slots=True)
class LabelBatch:
    address: str
    what: str
    mixed_at: datetime
    mixed: str
    bounds: tuple[Bound, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """A strip of tape for one part."""

    number: int
    what: str
    batches: tuple[LabelBatch, ...]
    printed: str
    demo: bool
    safety: bool
