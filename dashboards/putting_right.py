"""Everything logged of a part, each entry with what it was before, and the form that mends it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from enum import StrEnum

from starlette.responses import Response
from starlette.routing import Route

from dashboards import entering
from dashboards.fields import Choices, Field, FormPage, choices_of, figure
from dashboards.office import Asked, Office
from dashboards.presses import words_of
from monitor.answers.wording import NEARNESS_WORDS, ROLE_WORDS, batch_said
from monitor.errors import BadInput
from monitor.errors.text import shown_lines
from monitor.records import Batch, Layup, Mark, MarkKind, Nearness, Role, Sensor, Stay
from monitor.store import CORRECTABLE, Entry, entry_id
from monitor.times import said

_LABELS = {
    "what": "What it is",
    "on": "On",
    "safety": "Lives or the boat hang on it",
    "added_at": "Begun at",
    "ended_at": "Ended at",
    "give_or_take": "How sure of the time",
    "resin_g": "Resin, g",
    "catalyst_g": "Catalyst, g",
    "hardener_g": "Hardener, g",
    "scale_step_g": "Smallest step of the scale, g",
    "thickness_mm": "Thickness, mm",
    "counts_on": "Counts on",
    "sensor_id": "Sensor",
    "batch_id": "Of",
    "at": "When",
    "kind": "Mark",
    "cup": "Number on the cup",
}
_WORDS: Mapping[type[StrEnum], Callable[[str], str]] = {
    Role: lambda value: ROLE_WORDS[Role(value)],
    Nearness: lambda value: NEARNESS_WORDS[Nearness(value)],
    MarkKind: lambda value: words_of(MarkKind(value)),
}


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry of the list: its name for corrections, what it says, what it said before."""

    name: str
    says: str
    before: tuple[str, ...]


def routes(office: Office) -> list[Route]:
    pages = _Book(office)
    return [
        office.route("/layups/{number:int}/book", pages.listed),
        office.route("/layups/{number:int}/book/{entry}", pages.entry),
        office.route("/layups/{number:int}/book/{entry}", pages.mended, "POST"),
    ]


class _Book:
    def __init__(self, office: Office) -> None:
        self._office = office

    def listed(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        lines = tuple(
            EntryLine(
                entry_id(entry), self._says(layup, entry, asked.now), self._before(entry, asked)
            )
            for entry in entering.entries_of(self._office, layup)
        )
        return self._office.page("book.html", asked.now, layup=layup, lines=lines)

    def entry(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        entry = entering.entry_of(self._office, layup, asked.path["entry"])
        return self._page(layup, entry, asked)

    def mended(self, asked: Asked) -> Response:
        """Only what was changed is corrected; the rest of the form says what it said."""
        layup = entering.layup_of(self._office, asked)
        entry = entering.entry_of(self._office, layup, asked.path["entry"])
        held = self._fields(layup, entry)
        changes = {
            field.name: asked.form[field.name]
            for field in held
            if field.name in asked.form and asked.form[field.name] != shown_lines(field.value)
        }
        if not changes:
            return self._page(layup, entry, asked, ("Nothing was changed.",))
        try:
            taken_back = entering.put_right(self._office, entry, changes, asked.now)
        except BadInput as refusal:
            page = self._form(layup, entry, asked, ()).again(asked.form, refusal)
            return self._office.page("form.html", asked.now, status=400, page=page)
        again = entering.entry_of(self._office, self._now_called(layup), entry_id(entry))
        done = "Put right. Everything is counted anew from it; the old value is kept."
        return self._page(self._now_called(layup), again, asked, (done, *taken_back))

    def _now_called(self, layup: Layup) -> Layup:
        """A corrected number is another address: the layup as it stands in the book now."""
        every = self._office.store.book.layups(open_only=False)
        return next(part for part in every if part.id == layup.id)

    def _page(
        self, layup: Layup, entry: Entry, asked: Asked, told: tuple[str, ...] = ()
    ) -> Response:
        return self._office.page("form.html", asked.now, page=self._form(layup, entry, asked, told))

    def _form(self, layup: Layup, entry: Entry, asked: Asked, told: tuple[str, ...]) -> FormPage:
        return FormPage(
            f"Put right: {self._says(layup, entry, asked.now)}",
            f"/layups/{layup.number}/book/{entry_id(entry)}",
            self._fields(layup, entry),
            "Put it right",
            (f"/layups/{layup.number}/book", f"Everything logged of part {layup.number}"),
            told,
            after=(
                *self._before(entry, asked),
                "An emptied field is blank. The old value is kept and shown.",
            ),
        )

    def _before(self, entry: Entry, asked: Asked) -> tuple[str, ...]:
        made = self._office.store.book.corrections(entry_id(entry))
        return tuple(
            f"{label(c.field)} was {self._told(entry, c.field, c.old_value, asked.now)}, "
            f"put right {said(c.corrected_at, self._office.zone, asked.now)}."
            for c in made
        )

    def _told(self, entry: Entry, field: str, kept: str | None, now: datetime) -> str:
        """An old value as it was kept: a time in the shop's zone, a name for a number."""
        if kept is None:
            return "blank"
        if field == "sheet_id":
            return self._office.store.book.kept_sheet(int(kept)).stem
        if field == "sensor_id":
            names = {str(s.id): s.name for s in self._office.store.book.sensors()}
            return names.get(kept, kept)
        if field == "batch_id" and isinstance(entry, Stay | Mark):
            batches = self._office.store.book.batches(entry.layup_id)
            return next((b.name for b in batches if str(b.id) == kept), kept)
        wanted = _type_of(entry, field)
        if wanted is datetime:
            return said(datetime.fromisoformat(kept), self._office.zone, now)
        return _words_for(wanted, kept)

    def _says(self, layup: Layup, entry: Entry, now: datetime) -> str:
        zone = self._office.zone
        match entry:
            case Layup():
                return f"part {entry.number}, {entry.what}"
            case Batch():
                return batch_said(entry, zone, now)
            case Stay():
                names = {s.id: s.name for s in self._office.store.book.sensors()}
                until = "" if entry.until is None else f" to {said(entry.until, zone, now)}"
                return (
                    f"{names[entry.sensor_id]} {NEARNESS_WORDS[entry.nearness]}, "
                    f"from {said(entry.since, zone, now)}{until}"
                )
            case Mark():
                batches = {b.id: b.name for b in self._office.store.book.batches(layup.id)}
                of = "" if entry.batch_id is None else f", {batches[entry.batch_id]}"
                note = "" if entry.note is None else f": {entry.note}"
                return f"{words_of(entry.kind)}{of}, {said(entry.at, zone, now)}{note}"
            case Sensor():
                return entry.name

    def _fields(self, layup: Layup, entry: Entry) -> tuple[Field, ...]:
        """Every field that may be put right, holding what it is now."""
        correctable = CORRECTABLE[entry_id(entry).partition("-")[0]]
        values = {field.name: getattr(entry, field.name) for field in fields(entry)}
        return tuple(
            self._field(layup, name, wanted, values[name]) for name, wanted in correctable.items()
        )

    def _field(self, layup: Layup, name: str, wanted: type, value: object) -> Field:
        if name == "sheet_id":
            stem = self._office.store.book.kept_sheet(int(str(value))).stem
            stems = dict.fromkeys((stem, *self._office.shelf.for_judging()))
            return Field("sheet", "Sheet", "choice", stem, choices_of(stems))
        if name == "sensor_id":
            names = {str(s.id): s.name for s in self._office.store.book.sensors()}
            return Field(name, label(name), "choice", str(value), choices_of(names, names))
        if name == "batch_id":
            batches = {str(b.id): b.name for b in self._office.store.book.batches(layup.id)}
            whose: Choices = (("", "the whole part"), *choices_of(batches, batches))
            return Field(name, label(name), "choice", "" if value is None else str(value), whose)
        if name == "on":
            where: Choices = (("", "a bench"), ("hull", "a hull"))
            return Field(name, label(name), "choice", str(value or ""), where)
        if wanted is bool:
            return Field(name, label(name), "choice", _yes_no(value), choices_of(("no", "yes")))
        if issubclass(wanted, StrEnum):
            told = {word.value: _words_for(wanted, word.value) for word in wanted}
            blank: Choices = (("", "not said"),) if name == "counts_on" else ()
            return Field(
                name, label(name), "choice", str(value or ""), (*blank, *choices_of(told, told))
            )
        if isinstance(value, datetime):
            local = value.astimezone(self._office.zone)
            return Field(name, label(name), "text", local.isoformat(" ", "seconds"))
        if wanted is timedelta:
            minutes = value.total_seconds() / 60.0 if isinstance(value, timedelta) else 0.0
            return Field(name, label(name), "text", f"{minutes:g}m", (), "10m; 0m: seen")
        if wanted is float:
            given = value if isinstance(value, float) else None
            return Field(name, label(name), "number", figure(given))
        return Field(name, label(name), "text", "" if value is None else str(value))


def label(field: str) -> str:
    """A field's name in words."""
    words = field.removesuffix("_id").replace("_", " ")
    return _LABELS.get(field, words[:1].upper() + words[1:])


def _yes_no(value: object) -> str:
    return "yes" if value else "no"


def _type_of(entry: Entry, field: str) -> type:
    return CORRECTABLE[entry_id(entry).partition("-")[0]].get(field, str)


def _words_for(wanted: type, value: str) -> str:
    said_as = _WORDS.get(wanted)
    return value if said_as is None else said_as(value)
