"""The printed record of one part: everything that was logged, measured, counted and said."""

from dataclasses import replace
from datetime import datetime, tzinfo

from monitor.answers.dated import Dated
from monitor.answers.history import history_of
from monitor.answers.record_air import hours_said, kept_within, sunned_lines
from monitor.answers.record_batch import batch_record, name_said
from monitor.answers.record_entries import (
    TESTS,
    alert_lines,
    alerts_of,
    correction_lines,
    mark_lines,
    sensor_lines,
    sheet_copies,
)
from monitor.answers.record_views import Record, ReviewText
from monitor.cure.beside import StayRead
from monitor.overview import LayupView
from monitor.records import Doubt, Flags, Layup, MarkKind, Particulars
from monitor.store import Store
from monitor.units import Unit

_SUN = frozenset({MarkKind.SUN, MarkKind.COVERED, MarkKind.UNCOVERED})

NOT_SHOWN = (
    "Hardness, glass content, voids, and how well layers hold to each other and to the core. "
    "Nothing here measured them: the count is time and warmth.",
    "Whether the resin was stirred, in date and the one on its label; whether the cloth was wet "
    "out, and how the layers lay.",
    "Whether a sensor read true, unless a check stands beside it, and how warm the part was "
    "elsewhere than at its sensor.",
)
LOADS = "Loads: maker's and designer's figures only. The count says nothing of what it may carry."
NO_CERTIFICATE = (
    "This is a record kept by whoever did the work. It is no certificate, no survey and no "
    "approval. The maker's sheet, local codes and licensed practice stand above it."
)


def record_of(
    store: Store,
    seen: LayupView,
    at: datetime,
    *,
    zone: tzinfo,
    unit: Unit,
    demo: bool,
    particulars: Particulars,
) -> Record:
    """The record of a part as it stood at `at`. `particulars`: what the shop says of every part."""
    layup = seen.layup
    began = _began(seen, at)
    dated = Dated.between(zone, began, at)
    alerts = alerts_of(store, layup, at)
    seen = replace(seen, marks=tuple(mark for mark in seen.marks if mark.at <= at))
    marks = mark_lines(seen, seen.marks, dated, unit)
    tests = frozenset(
        number for number, mark in enumerate(seen.marks, start=1) if mark.kind in TESTS
    )
    return Record(
        number=layup.number,
        what=layup.what,
        particulars=_particulars(layup, particulars),
        on_hull=layup.on == "hull",
        safety=layup.safety,
        demo=demo,
        begun=dated.at(began),
        ended=None if layup.ended_at is None else dated.at(layup.ended_at),
        stood_at=dated.at(at),
        clock=dated.note(at),
        within=tuple(kept_within(batch, dated, unit) for batch in seen.batches),
        sun=_sun_lines(seen, dated),
        batches=tuple(batch_record(seen, batch, dated, unit) for batch in seen.batches),
        sensors=sensor_lines(store, seen, dated, at, unit),
        marks=tuple(line for line in marks if line.number not in tests),
        tests=tuple(line for line in marks if line.number in tests),
        alerts=alert_lines(alerts, seen, dated),
        corrections=correction_lines(store, seen, dated),
        reviews=_reviews(store, layup, dated, at),
        sheets=sheet_copies(store, seen, dated, unit),
        not_shown=_not_shown(seen, layup),
        history=history_of(seen, alerts, at, zone=zone, unit=unit),
    )


def _particulars(layup: Layup, shops: Particulars) -> Particulars:
    return Particulars(
        layup.boat or shops.boat,
        layup.place or shops.place,
        layup.person or shops.person,
        layup.laminate or shops.laminate,
    )


def _began(seen: LayupView, at: datetime) -> datetime:
    begun = [batch.batch.mixed_at for batch in seen.batches]
    begun += [] if seen.layup.added_at is None else [seen.layup.added_at]
    return min([*begun, at])


def _sun_lines(seen: LayupView, dated: Dated) -> tuple[str, ...]:
    """What was marked of sun and cover, and when a sensor stood in the sun."""
    lines = [
        f"{mark.kind}, {dated.at(mark.at)}" + (f": “{mark.note}”" if mark.note else "")
        for mark in seen.marks
        if mark.kind in _SUN
    ]
    stays = tuple(StayRead(b.readings, b.stay.channel, b.stay.nearness) for b in seen.stays)
    bit = Flags(temperature=Doubt.SUNNED).packed()
    spans = sunned_lines(stays, bit, dated)
    lines += [f"sensor in the sun, not counted: {span}" for span in spans]
    return tuple(lines)


def _reviews(store: Store, layup: Layup, dated: Dated, at: datetime) -> tuple[ReviewText, ...]:
    """What was asked and found each time it stayed tacky, word for word."""
    return tuple(
        ReviewText(dated.at(review.reviewed_at), review.lines)
        for review in store.book.reviews(layup.id)
        if review.reviewed_at <= at
    )


def _not_shown(seen: LayupView, layup: Layup) -> tuple[str, ...]:
    missing = [
        f"{name_said(batch.batch)} {hours_said(hours)}"
        for batch in seen.batches
        if (hours := batch.worked.assessment.unmeasured_hours) > 0
    ]
    gaps = (f"What the air did while nobody measured: {', '.join(missing)}.",) if missing else ()
    loads = (LOADS,) if layup.safety else ()
    return (*NOT_SHOWN, *gaps, *loads)
