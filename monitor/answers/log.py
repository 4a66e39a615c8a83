"""What is logged of a part, and typed corrections to it."""

from collections.abc import Callable, Iterator
from dataclasses import fields
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from typing import Any

from monitor.answers.wording import NEARNESS_WORDS, batch_said
from monitor.errors import BadInput
from monitor.records import Batch, Layup, Particulars
from monitor.store import CORRECTABLE, Store, entry_id
from monitor.times import iso_utc, parse_length, said

_YES = {"yes": True, "true": True, "no": False, "false": False}


PARTICULARS = tuple(field.name for field in fields(Particulars))


def correction_value(entry: str, field: str, text: str, moment: Callable[[str], datetime]) -> Any:
    """A correction's new value as the field's own type; a dash alone is blank.

    `moment` reads times as the shop writes them. An entry or field that doesn't exist is left to
    the book to refuse.
    """
    if text.strip() == "-":
        return None
    wanted = CORRECTABLE.get(entry.partition("-")[0], {}).get(field, str)
    if wanted is datetime:
        return moment(text)
    if wanted is timedelta:
        return parse_length(text)
    if wanted is bool:
        if text.lower() not in _YES:
            raise BadInput(f"{text!r} is not yes or no.", "Write yes or no.")
        return _YES[text.lower()]
    if issubclass(wanted, StrEnum):
        words = [word.value for word in wanted]
        if text not in words:
            raise BadInput(f"{text!r} is not a {field}.", f"Use one of: {', '.join(words)}.")
        return wanted(text)
    try:
        return text if wanted is str else float(text) if wanted is float else int(text)
    except ValueError:
        raise BadInput(f"{text!r} is not a number.", f"Give {field} as a number.") from None


def layup_lines(store: Store, layup: Layup, zone: tzinfo, now: datetime) -> Iterator[str]:
    """Everything logged of a part, a line each, with the name it is corrected by."""

    def when(moment: datetime) -> str:
        return said(moment, zone, now)

    kept = store.book.kept_sheet(layup.sheet_id)
    safety = ", a safety part" if layup.safety else ""
    hull = ", on a hull" if layup.on else ""
    yield f"Part {layup.number}: {layup.what}{hull}{safety}. Sheet {kept.stem}. ({entry_id(layup)})"
    for name in PARTICULARS:
        if getattr(layup, name):
            yield f"  {name}: {getattr(layup, name)}"
    if layup.ended_at is not None:
        yield f"Ended {when(layup.ended_at)}."
    batches = {batch.id: batch for batch in store.book.batches(layup.id)}
    for batch in batches.values():
        weights = ""
        second = batch.catalyst_g if batch.hardener_g is None else batch.hardener_g
        if batch.resin_g is not None and second is not None:
            weights = f", {batch.resin_g:g} g + {second:g} g {_second_part(batch)}"
        tins = "".join(
            f", {word} {value}"
            for word, value in (
                ("resin tin", batch.resin_tin),
                (f"{_second_part(batch)} tin", batch.catalyst_tin),
                ("cup", batch.cup),
            )
            if value
        )
        yield f"  {batch_said(batch, zone, now)}{weights}{tins}. ({entry_id(batch)})"
    sensors = {sensor.id: sensor.name for sensor in store.book.sensors()}
    for stay in store.book.stays(layup.id):
        whose = f"{batches[stay.batch_id].name}: " if stay.batch_id is not None else ""
        until = f" to {when(stay.until)}" if stay.until is not None else ""
        yield (
            f"  {whose}{sensors[stay.sensor_id]} {stay.channel} {NEARNESS_WORDS[stay.nearness]}, "
            f"from {when(stay.since)}{until}. ({entry_id(stay)})"
        )
    for mark in store.book.marks(layup.id):
        whose = f"{batches[mark.batch_id].name}: " if mark.batch_id is not None else ""
        note = f" – {mark.note}" if mark.note else ""
        yield f"  {whose}{mark.kind} at {when(mark.at)}{note}. ({entry_id(mark)})"
    for review in store.book.reviews(layup.id):
        yield f"  Reviewed {when(review.reviewed_at)}:"
        yield from (f"    {line}" if line else "" for line in review.lines)
    for entry in _entries(store, layup):
        for made in store.book.corrections(entry):
            yield (
                f"  {entry}: {made.field} was {made.old_value}, "
                f"put right {when(made.corrected_at)}."
            )


def _second_part(batch: Batch) -> str:
    return "catalyst" if batch.hardener_g is None else "hardener"


def _entries(store: Store, layup: Layup) -> Iterator[str]:
    yield entry_id(layup)
    for group in (store.book.batches, store.book.stays, store.book.marks):
        for entry in group(layup.id):
            yield entry_id(entry)


def layup_json(store: Store, layup: Layup) -> dict[str, Any]:
    """Everything logged of a part, for scripts."""
    sensors = {sensor.id: sensor.name for sensor in store.book.sensors()}
    batches = {batch.id: batch for batch in store.book.batches(layup.id)}

    def address(batch_id: int | None) -> str:
        return f"{layup.number}" + (f"/{batches[batch_id].name}" if batch_id is not None else "")

    return {
        "id": entry_id(layup),
        "layup": layup.number,
        "what": layup.what,
        "sheet": store.book.kept_sheet(layup.sheet_id).stem,
        "on": layup.on,
        "safety": layup.safety,
        **{name: getattr(layup, name) for name in PARTICULARS},
        "ended_at": layup.ended_at and iso_utc(layup.ended_at),
        "batches": [
            {
                "id": entry_id(b),
                "batch": address(b.id),
                "sheet": store.book.kept_sheet(b.sheet_id).stem,
                "mixed_at": iso_utc(b.mixed_at),
                "give_or_take_min": b.give_or_take.total_seconds() / 60.0,
                "resin_g": b.resin_g,
                "catalyst_g": b.catalyst_g,
                "hardener_g": b.hardener_g,
                "scale_step_g": b.scale_step_g,
                "thickness_mm": b.thickness_mm,
                "waxed": b.waxed,
                "counts_on": b.counts_on,
                "resin_tin": b.resin_tin,
                "catalyst_tin": b.catalyst_tin,
                "cup": b.cup,
            }
            for b in batches.values()
        ],
        "stays": [
            {
                "id": entry_id(s),
                "at": address(s.batch_id),
                "sensor": sensors[s.sensor_id],
                "channel": s.channel,
                "nearness": s.nearness,
                "from": iso_utc(s.since),
                "to": s.until and iso_utc(s.until),
            }
            for s in store.book.stays(layup.id)
        ],
        "marks": [
            {
                "id": entry_id(m),
                "at": address(m.batch_id),
                "mark": m.kind,
                "time": iso_utc(m.at),
                "note": m.note,
            }
            for m in store.book.marks(layup.id)
        ],
        "reviews": [
            {
                "time": iso_utc(r.reviewed_at),
                "batch": address(r.batch_id),
                "answers": dict(text.split("=", 1) for text in r.answers),
                "findings": dict(text.split("=", 1) for text in r.findings),
                "lines": list(r.lines),
                "give_up_by": iso_utc(r.give_up_by),
            }
            for r in store.book.reviews(layup.id)
        ],
        "corrections": [
            {"id": entry, "field": c.field, "old": c.old_value, "new": c.new_value}
            for entry in _entries(store, layup)
            for c in store.book.corrections(entry)
        ],
    }
