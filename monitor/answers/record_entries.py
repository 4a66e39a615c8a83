"""The book's entries on paper: sensors, marks, alerts, corrections, sheets."""

import re
from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from monitor.answers.dated import Dated
from monitor.answers.record_batch import count_at, mark_words, name_said
from monitor.answers.record_views import (
    AlertLine,
    CorrectionLine,
    MarkLine,
    SensorLine,
    SheetCopy,
    SheetRow,
)
from monitor.answers.wording import NEARNESS_WORDS
from monitor.cure.beside import StayRead, good
from monitor.overview import BatchView, Beside, LayupView
from monitor.records import (
    Alert,
    Batch,
    Channel,
    Correction,
    Doubt,
    Layup,
    Mark,
    MarkKind,
    SensorCheck,
    Stay,
)
from monitor.sheets import describe, parse_sheet
from monitor.store import Store, entry_id
from monitor.units import Unit, temperature_said

TESTS = frozenset(
    {
        MarkKind.THUMBNAIL_NONE,
        MarkKind.THUMBNAIL_MARK,
        MarkKind.THUMBNAIL_DENT,
        MarkKind.THUMBNAIL_WET,
        MarkKind.TRIMMED_SOFT,
        MarkKind.TRIMMED_CLEAN,
        MarkKind.TRIMMED_HARD,
        MarkKind.SANDED_DUST,
        MarkKind.SANDED_GUM,
        MarkKind.STICKY,
    }
)
"""Marks that say how hard it was under a hand."""

DONE_WITHIN = timedelta(hours=6)
"""What is marked within this of an alert, while it held, is told beside it."""

_ALL = 1_000_000
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?Z")
_UNITS = {"g": "g", "mm": "mm"}


def mark_lines(
    seen: LayupView, marks: tuple[Mark, ...], dated: Dated, unit: Unit
) -> tuple[MarkLine, ...]:
    """Every mark in time order, numbered, with the count of each batch it speaks of."""
    return tuple(
        _mark_line(number, mark, seen, dated, unit) for number, mark in enumerate(marks, start=1)
    )


def _mark_line(number: int, mark: Mark, seen: LayupView, dated: Dated, unit: Unit) -> MarkLine:
    spoken_of = [b for b in seen.batches if mark.batch_id in (None, b.batch.id)]
    mixed = [b for b in spoken_of if b.batch.mixed_at <= mark.at]
    one = len(mixed) == 1
    return MarkLine(
        number,
        dated.at(mark.at),
        "the part" if mark.batch_id is None else ", ".join(name_said(b.batch) for b in spoken_of),
        mark_words(mark),
        mark.note,
        tuple(_count_line(b, mark.at, unit, named=not one) for b in mixed),
    )


def _count_line(batch: BatchView, at: datetime, unit: Unit, *, named: bool) -> str:
    count = count_at(batch, at, unit)
    return f"{name_said(batch.batch)} {count}" if named else count


def sensor_lines(
    store: Store, seen: LayupView, dated: Dated, at: datetime, unit: Unit
) -> tuple[SensorLine, ...]:
    """Every stay: which sensor, how near, for how long, what of it counts, and its last check."""
    names = {b.batch.id: name_said(b.batch) for b in seen.batches}
    return tuple(
        _sensor_line(beside, names, _checked(store, beside, dated, at, unit), dated, at)
        for beside in seen.stays
    )


def _sensor_line(
    beside: Beside, names: dict[int, str], checked: str | None, dated: Dated, at: datetime
) -> SensorLine:
    stay = beside.stay
    where = NEARNESS_WORDS[stay.nearness]
    channel = "its probe" if stay.channel is Channel.SURFACE else "its air"
    whose = "" if stay.batch_id is None else f", for {names[stay.batch_id]} alone"
    end = min(beside.until or at, at)
    period = dated.span(beside.since, end) if end > beside.since else dated.at(beside.since)
    return SensorLine(
        beside.sensor.name,
        f"{channel}, {where}{whose}",
        period + ("" if beside.until is not None and beside.until <= at else ", still"),
        _readings_said(beside, at),
        checked,
    )


def _checked(store: Store, beside: Beside, dated: Dated, at: datetime, unit: Unit) -> str | None:
    """What it was last held against by then, of its humidity and of its temperature."""
    newest: dict[bool, SensorCheck] = {}
    for check in store.checks.of(beside.sensor.id):
        if check.checked_at <= at and (
            check.read_pct is not None or check.channel is beside.stay.channel
        ):
            newest[check.read_pct is not None] = check
    return "; ".join(_check_said(check, dated, unit) for check in newest.values()) or None


def _check_said(check: SensorCheck, dated: Dated, unit: Unit) -> str:
    """Both numbers, so that the offset can be seen."""
    read, true = "nothing", "nothing"
    if check.read_pct is not None and check.true_pct is not None:
        read, true = f"{check.read_pct:.1f} %", f"{check.true_pct:.1f} %"
    elif check.read_c is not None and check.true_c is not None:
        read, true = (temperature_said(c, unit) for c in (check.read_c, check.true_c))
    return f"{check.standard}, {dated.at(check.checked_at)}: read {read} where it was {true}"


def _readings_said(beside: Beside, at: datetime) -> str:
    readings = beside.readings.between(0.0, at.timestamp())
    read = StayRead(readings, beside.stay.channel, beside.stay.nearness)
    counted = int(good(read).sum())
    suspect = int(((readings.flags & read.mask) != 0).sum())
    words = f"{counted} counted"
    if not suspect:
        return words
    shift = (read.mask & -read.mask).bit_length() - 1
    doubts = readings.flags >> shift
    why = [
        (doubt.name or "").lower().replace("_", " ")
        for doubt in Doubt
        if bool(np.any(doubts & int(doubt)))
    ]
    return f"{words}, {suspect} suspect and not counted ({', '.join(why)})"


def alert_lines(alerts: tuple[Alert, ...], seen: LayupView, dated: Dated) -> tuple[AlertLine, ...]:
    """Every alert, and what was marked while it held."""
    return tuple(
        AlertLine(
            dated.at(alert.raised_at),
            alert.fact,
            alert.action,
            None if alert.seen_at is None else dated.at(alert.seen_at),
            None if alert.cleared_at is None else dated.at(alert.cleared_at),
            tuple(_done(alert, seen, dated)),
        )
        for alert in alerts
    )


def _done(alert: Alert, seen: LayupView, dated: Dated) -> Iterator[str]:
    last = alert.raised_at + DONE_WITHIN
    if alert.cleared_at is not None:
        last = min(last, alert.cleared_at)
    for mark in seen.marks:
        if alert.raised_at <= mark.at <= last:
            note = f" “{mark.note}”" if mark.note else ""
            yield f"{mark_words(mark)}{note}, {dated.at(mark.at)}"
    for beside in seen.stays:
        if alert.raised_at < beside.since <= last:
            yield f"moved beside {beside.sensor.name}, {dated.at(beside.since)}"


def alerts_of(store: Store, layup: Layup, at: datetime) -> tuple[Alert, ...]:
    """A layup's alerts, oldest first. A number may have been another part's before."""
    begun, ended = layup.added_at, layup.ended_at or at
    return tuple(
        alert
        for alert in reversed(store.alerts.recent(_ALL))
        if layup.number in alert.parts
        and (begun is None or alert.raised_at >= begun)
        and alert.raised_at <= ended
    )


def correction_lines(store: Store, seen: LayupView, dated: Dated) -> tuple[CorrectionLine, ...]:
    """Every entry put right later, with what it said before, oldest first."""
    names = _entry_names(seen)
    made = [c for entry in names for c in store.book.corrections(entry)]
    return tuple(
        CorrectionLine(
            names[c.entry],
            field_said(c.field),
            _value_said(store, c, c.old_value, dated),
            _value_said(store, c, c.new_value, dated),
            dated.at(c.corrected_at),
        )
        for c in sorted(made, key=lambda c: (c.corrected_at, c.id))
    )


def _entry_names(seen: LayupView) -> dict[str, str]:
    """Each entry of a part → what a person calls it."""
    names = {entry_id(seen.layup): f"part {seen.layup.number}"}
    names |= {entry_id(b.batch): name_said(b.batch) for b in seen.batches}
    for beside in seen.stays:
        stay: Stay = beside.stay
        names[entry_id(stay)] = f"stay beside {beside.sensor.name}"
    names |= {entry_id(mark): f"mark “{mark_words(mark)}”" for mark in seen.marks}
    return names


def field_said(field: str) -> str:
    """`resin_g` → `resin, g`."""
    words, _, unit = field.rpartition("_")
    if unit in _UNITS and words:
        return f"{words.replace('_', ' ')}, {_UNITS[unit]}"
    return field.removesuffix("_id").replace("_", " ")


def _value_said(store: Store, made: Correction, value: str | None, dated: Dated) -> str:
    if value is None:
        return "blank"
    if made.field == "sheet_id" and value.isascii() and value.isdigit():
        return f"sheet “{store.book.kept_sheet(int(value)).stem}”, kept as {value}"
    if _MOMENT.fullmatch(value):
        return dated.at(datetime.fromisoformat(value))
    return f"“{value}”"


def sheet_copies(store: Store, seen: LayupView, dated: Dated, unit: Unit) -> tuple[SheetCopy, ...]:
    """Each sheet that judged a batch, as it was kept then; the part's own where none is mixed."""
    users: dict[int, list[Batch]] = {}
    for batch in seen.batches:
        users.setdefault(batch.batch.sheet_id, []).append(batch.batch)
    if not users:
        users[seen.layup.sheet_id] = []
    return tuple(_sheet_copy(store, id, users[id], dated, unit) for id in users)


def _sheet_copy(store: Store, id: int, users: list[Batch], dated: Dated, unit: Unit) -> SheetCopy:
    kept = store.book.kept_sheet(id)
    sheet = parse_sheet(kept.text, f"{kept.stem}.toml as kept")
    # The last section is cautions, which are no part of the sheet.
    sections = tuple(
        (heading, tuple(SheetRow(row.words, row.said, row.origin) for row in rows))
        for heading, rows in describe(sheet, unit)[:-1]
        if rows
    )
    return SheetCopy(
        sheet.name,
        kept.stem,
        sheet.version,
        dated.at(kept.kept_at),
        ", ".join(name_said(batch) for batch in users) or "nothing mixed yet",
        sections,
        kept.text.strip("\n"),
    )
