"""What the person's own cups did: by resin and warmth, raw under two, summed up from two.

Their marks stand beside the sheet's figures and never loosen them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import numpy as np

from monitor.assess import assess
from monitor.cure.beside import StayRead, good
from monitor.cure.mixing import Weighed
from monitor.overview import BatchView, Desk, LayupView, view
from monitor.records import Batch, Layup, Mark, MarkKind, Sheet
from monitor.store import Store
from monitor.times import length_said, said
from monitor.units import Unit, f_degrees_from_c_degrees, temperature_said

NEAR_C = 3.0
"""Jobs this close in warmth are alike. Common practice, no source."""

FIRST_HOURS = timedelta(hours=3)
TRIMMED = (MarkKind.TRIMMED_SOFT, MarkKind.TRIMMED_CLEAN, MarkKind.TRIMMED_HARD)
SANDED = (MarkKind.SANDED_DUST, MarkKind.SANDED_GUM)
KICKED = (MarkKind.CUP_KICKED, MarkKind.KICKED)
ON_THE_TAB = (MarkKind.TAB_DUST, MarkKind.TAB_GUM)
TOLD = frozenset((*KICKED, *TRIMMED, *SANDED, *ON_THE_TAB))
"""The marks that a job is remembered by."""


@dataclass(frozen=True, slots=True)
class Timing:
    """A mark, how long after mixing it was made, and the middle count then."""

    kind: MarkKind
    after: timedelta
    count: float | None


@dataclass(frozen=True, slots=True)
class PastJob:
    """One batch that was mixed by a sheet, with what its person marked."""

    address: str
    what: str
    mixed_at: datetime
    temperature_c: float | None
    """The mean beside it until it kicked, or over its first three hours."""
    mix_pct: float | None
    timings: tuple[Timing, ...]

    def first(self, *kinds: MarkKind) -> Timing | None:
        return next((timing for timing in self.timings if timing.kind in kinds), None)


def past_jobs(store: Store, stem: str, now: datetime) -> tuple[PastJob, ...]:
    """Every batch mixed by the sheet of that name that has a mark to tell, newest first."""
    jobs = [
        job
        for layup in store.book.layups(open_only=False)
        for own, job in jobs_of(store, layup, now)
        if own == stem
    ]
    return tuple(sorted(jobs, key=lambda job: job.mixed_at, reverse=True))


def jobs_of(
    store: Store, layup: Layup, now: datetime, desk: Desk | None = None
) -> Iterator[tuple[str, PastJob]]:
    """Every batch of a part that has a mark to tell, with the name of its sheet."""
    until = told_until(store.book.batches(layup.id), store.book.marks(layup.id))
    if until is None:
        return
    seen = view(store, layup, min(now, until), desk)
    for batch in seen.batches:
        timings = tuple(_timing(batch, mark) for mark in _told(seen, batch))
        if timings:
            yield (
                store.book.kept_sheet(batch.batch.sheet_id).stem,
                PastJob(
                    f"{seen.layup.number}/{batch.batch.name}",
                    seen.layup.what,
                    batch.batch.mixed_at,
                    _warmth(batch, timings),
                    _mix_pct(batch),
                    timings,
                ),
            )


def told_until(batches: Sequence[Batch], marks: Sequence[Mark]) -> datetime | None:
    """After this moment no reading changes what is told of a part's cups. None: nothing is told."""
    told = [mark.at for mark in marks if mark.kind in TOLD]
    if not told:
        return None
    # A cup's warmth is the mean until it kicked, or of its first hours.
    return max([*told, *(batch.mixed_at + FIRST_HOURS for batch in batches)])


def _told(seen: LayupView, batch: BatchView) -> tuple[Mark, ...]:
    return tuple(
        mark
        for mark in seen.marks
        if mark.kind in TOLD
        and mark.at >= batch.batch.mixed_at
        and (mark.batch_id == batch.batch.id or (mark.batch_id is None and len(seen.batches) == 1))
    )


def _timing(batch: BatchView, mark: Mark) -> Timing:
    count = assess(batch.case, mark.at).count.middle
    return Timing(mark.kind, mark.at - batch.batch.mixed_at, count)


def _mix_pct(batch: BatchView) -> float | None:
    weights = batch.batch
    weighed = Weighed(weights.resin_g, weights.catalyst_g, weights.hardener_g)
    return weighed.second_part_pct(batch.sheet)


def _warmth(batch: BatchView, timings: tuple[Timing, ...]) -> float | None:
    kicked = next((t.after for t in timings if t.kind is MarkKind.KICKED), FIRST_HOURS)
    start_s = batch.batch.mixed_at.timestamp()
    end_s = start_s + max(kicked, timedelta(minutes=10)).total_seconds()
    values: list[float] = []
    for beside in batch.counted:
        readings = beside.readings.between(start_s, end_s)
        read = StayRead(readings, beside.stay.channel, beside.stay.nearness)
        values += read.column_c[good(read)].tolist()
    return float(np.mean(values)) if values else None


def past_lines(
    jobs: Sequence[PastJob],
    sheet: Sheet,
    temperature_c: float | None,
    zone: tzinfo,
    unit: Unit,
    now: datetime,
) -> Iterator[str]:
    """The jobs like this one: raw under two, summed up from two. Nothing where there are none."""
    alike = [
        job
        for job in jobs
        if temperature_c is None
        or (job.temperature_c is not None and abs(job.temperature_c - temperature_c) <= NEAR_C)
    ]
    if not alike:
        return
    if len(alike) < 2:
        yield f"Once before: {_raw(alike[0], sheet, zone, unit, now)}"
        return
    where = _range_of_warmth(alike, unit)
    yield f"{len(alike)} times with this resin{where}: {_sum(alike, sheet, unit)}."
    yield "That is your own record. It stands beside the sheet and never loosens it."


def _raw(job: PastJob, sheet: Sheet, zone: tzinfo, unit: Unit, now: datetime) -> str:
    words = [f"{job.address} ({job.what}), mixed {said(job.mixed_at, zone, now)}"]
    if job.temperature_c is not None:
        words.append(temperature_said(job.temperature_c, unit))
    if job.mix_pct is not None:
        words.append(f"{job.mix_pct:.2g} %")
    for timing in job.timings:
        count = ""
        if timing.count is not None and timing.kind not in KICKED:
            count = f" at {_counted(timing.count, sheet, unit):.0f}"
        words.append(f"{timing.kind} after {length_said(timing.after.total_seconds())}{count}")
    return ", ".join(words) + "."


def _sum(jobs: Sequence[PastJob], sheet: Sheet, unit: Unit) -> str:
    words = []
    doses = [job.mix_pct for job in jobs if job.mix_pct is not None]
    if doses:
        words.append(_span(doses, "{:.2g}", " %"))
    for kind, word in ((MarkKind.CUP_KICKED, "the cup kicked"), (MarkKind.KICKED, "kicked")):
        kicked = [t.after.total_seconds() / 60 for job in jobs if (t := job.first(kind))]
        if kicked:
            words.append(f"{word} after {_span(kicked, '{:.0f}', ' min')}")
    for kinds, word in (
        ((MarkKind.TRIMMED_CLEAN,), "trimmed clean"),
        ((MarkKind.TAB_DUST,), "dust on the tab"),
        ((MarkKind.SANDED_DUST,), "sanded to dust"),
        ((MarkKind.SANDED_GUM,), "clogged"),
    ):
        counts = [
            _counted(t.count, sheet, unit)
            for job in jobs
            if (t := job.first(*kinds)) is not None and t.count is not None
        ]
        if counts:
            words.append(f"{word} at {_span(counts, '{:.0f}', '')}")
    return ", ".join(words)


def _span(values: Sequence[float], form: str, after: str) -> str:
    low, high = form.format(min(values)), form.format(max(values))
    return f"{low}{after}" if low == high else f"{low} to {high}{after}"


def _range_of_warmth(jobs: Sequence[PastJob], unit: Unit) -> str:
    warm = [job.temperature_c for job in jobs if job.temperature_c is not None]
    if not warm:
        return ""
    low, high = temperature_said(min(warm), unit), temperature_said(max(warm), unit)
    return f" at {low}" if low == high else f" at {low} to {high}"


def _counted(count: float, sheet: Sheet, unit: Unit) -> float:
    linear = sheet.count_unit == "dh"
    return f_degrees_from_c_degrees(count) if linear and unit == "f" else count


def past_of(
    store: Store, batch: BatchView, zone: tzinfo, unit: Unit, now: datetime
) -> tuple[str, ...]:
    """What the person's earlier batches by the same sheet, at about this warmth, did."""
    stem = store.book.kept_sheet(batch.batch.sheet_id).stem
    jobs = [job for job in past_jobs(store, stem, now) if job.mixed_at < batch.batch.mixed_at]
    return tuple(past_lines(jobs, batch.sheet, _warmth(batch, ()), zone, unit, now))
