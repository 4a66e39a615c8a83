"""What else came from the tins of a layup, and whether it was slow."""

from collections.abc import Iterator
from datetime import datetime

from monitor.cure.beside import outside_range
from monitor.overview import BatchView, LayupView, view
from monitor.records import Batch, Layup, Mark, MarkKind, Stage
from monitor.review.parts.facts import Tin, TinJob
from monitor.store import Store
from monitor.times import length_said

SLOW_SHARE = 1.35
"""Later than the sheet's gel by more than this is slow: it is good to ± 35 %. Common practice,
no source."""

DENTED = (MarkKind.THUMBNAIL_DENT, MarkKind.THUMBNAIL_WET, MarkKind.SANDED_GUM)


def tins_of(store: Store, seen: LayupView, now: datetime) -> tuple[Tin, ...]:
    """The tins that this layup's batches came from, each with every batch from it."""
    wanted = {key for batch in seen.batches for key in _tins(batch.batch)}
    if not wanted:
        return ()
    found: dict[tuple[str, str], list[TinJob]] = {key: [] for key in sorted(wanted)}
    for layup in store.book.layups(open_only=False):
        shared = [b for b in store.book.batches(layup.id) if wanted & set(_tins(b))]
        if not shared:
            continue
        theirs = seen if layup.id == seen.layup.id else _as_it_ended(store, layup, now)
        for batch in theirs.batches:
            for key in wanted & set(_tins(batch.batch)):
                found[key].append(_job(theirs, batch))
    return tuple(
        Tin(number, part, tuple(sorted(jobs, key=lambda job: job.mixed_at)))
        for (part, number), jobs in found.items()
    )


def _as_it_ended(store: Store, layup: Layup, now: datetime) -> LayupView:
    return view(store, layup, layup.ended_at or now)


def _tins(batch: Batch) -> tuple[tuple[str, str], ...]:
    """`("resin", "7")` for each tin that is logged."""
    second = "catalyst" if batch.hardener_g is None else "hardener"
    tins = (("resin", batch.resin_tin), (second, batch.catalyst_tin))
    return tuple((part, number) for part, number in tins if number)


def _job(seen: LayupView, batch: BatchView) -> TinJob:
    told = next(_judged(seen, batch), None)
    slow, said = told or (None, "no mark tells how fast it was")
    return TinJob(f"{seen.layup.number}/{batch.batch.name}", batch.batch.mixed_at, slow, said)


def _judged(seen: LayupView, batch: BatchView) -> Iterator[tuple[bool, str]]:
    """Slow or in time by its own marks, in ordinary warmth; nothing where no mark tells."""
    mixed_at, a = batch.batch.mixed_at, batch.worked.assessment
    marks = [m for m in seen.marks if m.batch_id in (None, batch.batch.id) and m.at >= mixed_at]
    gel, sand = a.stage(Stage.GEL).opens.late, a.stage(Stage.SAND).opens.late
    kicked = _first(marks, MarkKind.KICKED)
    if kicked is not None and gel is not None and not _too_cold(batch, gel):
        took, meant = (kicked.at - mixed_at).total_seconds(), (gel - mixed_at).total_seconds()
        words = f"kicked after {length_said(took)}, {length_said(meant)} by its sheet"
        yield took > SLOW_SHARE * meant, words
    soft = _first([m for m in marks if sand is not None and m.at > sand], *DENTED)
    if soft is not None:
        yield True, f"{soft.kind.value} past its sand stage"
    if _first(marks, MarkKind.SANDED_DUST) is not None:
        yield False, "sanded to dust"


def _first(marks: list[Mark], *kinds: MarkKind) -> Mark | None:
    return next((mark for mark in marks if mark.kind in kinds), None)


def _too_cold(batch: BatchView, until: datetime) -> bool:
    """Outside the sheet's working range before it gelled: no wonder that it was slow."""
    return outside_range(
        batch.case.counted,
        batch.sheet.working_c,
        batch.batch.mixed_at.timestamp(),
        until.timestamp(),
    )
