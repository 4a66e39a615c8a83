"""What people write into the shop's book, checked whole before anything of it is stored."""

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta

from monitor.cure.mixing import MixJudgement, Weighed, judge_mix
from monitor.errors import BadInput
from monitor.errors.text import must_be_words
from monitor.records import (
    NO_PARTICULARS,
    Batch,
    Channel,
    Correction,
    KeptSheet,
    Layup,
    Mark,
    MarkKind,
    Nearness,
    Particulars,
    Role,
    Sensor,
    Sheet,
    Stay,
)
from monitor.sheets import Shelf, parse_sheet
from monitor.store import Store, entry_id
from monitor.units import Unit

_ADDRESS = re.compile(r"(\d{1,6})(?:/([a-z][a-z-]*?)(?:-(\d{1,3}))?)?")
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}")
_AHEAD = timedelta(minutes=2)
"""A clock this far ahead is a clock; further ahead is a mistake."""
_LARGEST_NUMBER, _LARGEST_AMOUNT, _LONGEST_DOUBT = 999_999, 1e7, timedelta(days=31)
"""Past these a figure is a slip of the finger, whatever part it is of."""

NO_PORT = "no port"
"""The port of a sensor whose readings only come from files."""

DEFAULT_NEARNESS = {Channel.AIR: Nearness.BESIDE, Channel.SURFACE: Nearness.PROBE}


@dataclass(frozen=True, slots=True)
class Address:
    """`3` or `3/skin-a`: a layup's number, and one of its batches by name."""

    number: int
    role: Role | None = None
    batch: str | None = None

    def __str__(self) -> str:
        return f"{self.number}" if self.batch is None else f"{self.number}/{self.batch}"


def parse_address(text: str) -> Address:
    """The address of a layup or a batch. A second batch of a role has a number: `3/patch-2`."""
    found = _ADDRESS.fullmatch(text.strip().lower())
    roles = ", ".join(role.value for role in Role)
    if found is None:
        raise BadInput(
            f"{text!r} is not a part.", "Write its number, or number/batch such as 3/skin-a."
        )
    if found[2] is None:
        return Address(int(found[1]))
    try:
        role = Role(found[2])
    except ValueError:
        raise BadInput(f"{found[2]!r} is not a kind of batch.", f"Use one of: {roles}.") from None
    name = role.value if found[3] is None else f"{role.value}-{int(found[3])}"
    return Address(int(found[1]), role, name)


@dataclass(frozen=True, slots=True)
class Mixed:
    """A batch just logged, and what its weights say."""

    batch: Batch
    sheet: Sheet
    mix: MixJudgement


class Logbook:
    """Writes entries. Times are moments in UTC; `now` is when the person wrote them."""

    def __init__(self, store: Store, shelf: Shelf) -> None:
        self._store, self._book, self._shelf = store, store.book, shelf

    def add_sensor(
        self, name: str, port: str, *, unit: Unit | None, form: str | None, now: datetime
    ) -> Sensor:
        """A sensor by name. A name that is known is plugged in at that port from now on."""
        _must_name_a_sensor(name)
        must_be_words(port, "The port")
        known = {sensor.name: sensor for sensor in self._book.sensors()}.get(name)
        if known is None:
            return self._book.add_sensor(name, port, unit, form)
        entry = f"sensor-{known.id}"
        owner = self._book.owner_for(known)
        if owner != known.owner:
            self._book.correct(entry, "owner", owner, now)
        if known.port != port:
            self._book.correct(entry, "port", port, now)
            if known.identity is not None:
                # Another device may sit there: it is to be learnt anew.
                self._book.correct(entry, "identity", None, now)
        for field, value in (("unit", unit), ("format", form)):
            if value is not None and value != getattr(known, field):
                self._book.correct(entry, field, value, now)
        return self._book.sensor(name)

    def add_layup(
        self,
        number: int,
        what: str,
        sheet: str,
        *,
        on: str | None,
        safety: bool,
        now: datetime,
        particulars: Particulars = NO_PARTICULARS,
    ) -> Layup:
        _number_fits(number)
        if not what.strip():
            raise BadInput("The part has no name.", 'Say what it is: layup add 3 "hatch lid" …')
        told = must_be_words(what.strip(), "The part's name")
        own = _trimmed(particulars)
        _must_all_be_words(asdict(own))
        kept = self._keep(sheet, now)
        return self._book.add_layup(number, told, kept.id, on, safety, now, own)

    def end_layup(self, number: int, now: datetime) -> Layup:
        return self._book.end_layup(number, now)

    def add_batch(
        self,
        address: Address,
        *,
        mixed_at: datetime,
        now: datetime,
        sheet: str | None = None,
        give_or_take: timedelta = timedelta(0),
        weighed: Weighed,
        scale_step_g: float | None = None,
        thickness_mm: float | None = None,
        waxed: bool = False,
        counts_on: Channel | None = None,
        resin_tin: str | None = None,
        catalyst_tin: str | None = None,
        cup: str | None = None,
    ) -> Mixed:
        """A cup of mix. A bad mix is stored as it was: what it means is in the answer."""
        if address.role is None or address.batch is None:
            roles = ", ".join(role.value for role in Role)
            raise BadInput(
                f"{address} names a part, not a batch.",
                f"Say which: {address}/ and one of {roles}.",
            )
        _must_be_of(address.role, address.batch)
        _must_all_be_words({"resin_tin": resin_tin, "catalyst_tin": catalyst_tin, "cup": cup})
        layup = self._open(address.number)
        _not_ahead(mixed_at, now, "mixed")
        _give_or_take_fits(give_or_take)
        kept = self._keep(sheet, now) if sheet else self._book.kept_sheet(layup.sheet_id)
        judged_by = parse_sheet(kept.text, f"{kept.stem}.toml as kept")
        _weights_fit(judged_by, weighed)
        for amount in (scale_step_g, thickness_mm):
            _amount_fits(amount)
        batch = self._book.add_batch(
            layup.id,
            address.batch,
            address.role,
            kept.id,
            mixed_at,
            give_or_take,
            resin_g=weighed.resin_g,
            catalyst_g=weighed.catalyst_g,
            hardener_g=weighed.hardener_g,
            scale_step_g=scale_step_g,
            thickness_mm=thickness_mm,
            waxed=waxed or address.role is Role.WAX_COAT,
            counts_on=counts_on,
            resin_tin=resin_tin,
            catalyst_tin=catalyst_tin,
            cup=cup,
        )
        return Mixed(batch, judged_by, judge_mix(judged_by, weighed))

    def add_stay(
        self,
        address: Address,
        sensor: str,
        *,
        channel: Channel,
        nearness: Nearness | None,
        since: datetime,
        until: datetime | None,
        now: datetime,
    ) -> Stay:
        layup, batch = self._find(address)
        beside = self.may_lie_beside(sensor, since, now)
        return self._book.add_stay(
            layup.id,
            None if batch is None else batch.id,
            beside.id,
            channel,
            nearness or DEFAULT_NEARNESS[channel],
            since,
            until,
            logged_at=now,
        )

    def may_lie_beside(self, sensor: str, since: datetime, now: datetime) -> Sensor:
        """That sensor, if anything can be put beside it from then. Raises BadInput."""
        beside = self._book.sensor(sensor)
        if self._store.readings.latest(beside.id) is None:
            raise BadInput(
                f"Sensor {sensor} has never given a reading.",
                f"Start `layupwatch run`, or see what it says with `layupwatch listen "
                f"{beside.port}`; then say this again.",
            )
        _not_ahead(since, now, "put beside it")
        return beside

    def add_mark(
        self, address: Address, kind: MarkKind, *, at: datetime, note: str | None, now: datetime
    ) -> Mark:
        if note is not None:
            must_be_words(note, "The note")
        layup, batch = self._find(address)
        _not_ahead(at, now, "seen")
        return self._book.add_mark(layup.id, None if batch is None else batch.id, kind, at, note)

    def take_back(self, layup: Layup, mark_id: int, now: datetime) -> Mark:
        """A mark that was pressed by mistake: it stays as a note that says what it was.

        Like every correction it keeps the old value. Raises BadInput where the layup has no such
        mark, or it was taken back before.
        """
        mark = self._mark(layup, mark_id)
        if mark.kind is MarkKind.NOTE:
            raise BadInput("That mark is a note already.", "There is nothing to take back.")
        entry, own = entry_id(mark), "" if mark.note is None else f" ({mark.note})"
        self._book.correct(entry, "note", f"taken back: {mark.kind}{own}", now)
        self._book.correct(entry, "kind", MarkKind.NOTE, now)
        return self._mark(layup, mark_id)

    def _mark(self, layup: Layup, mark_id: int) -> Mark:
        for mark in self._book.marks(layup.id):
            if mark.id == mark_id:
                return mark
        raise BadInput(
            f"Part {layup.number} has no mark-{mark_id}.", "Look at what is logged of the part."
        )

    def correct(self, entry: str, field: str, value: object, now: datetime) -> Correction:
        """Put an entry right; what is judged by another sheet is named by the sheet's stem.

        A corrected value must be one that could have been logged in the first place.
        """
        (correction,) = self.correct_all(entry, {field: value}, now)
        return correction

    def correct_all(
        self, entry: str, changes: Mapping[str, object], now: datetime
    ) -> tuple[Correction, ...]:
        """Several fields of one entry: all of them, or none where one of them is refused."""
        for field, value in changes.items():
            _may_become(entry, field, value, now)
        fitting = dict(self._as_kept(field, value, now) for field, value in changes.items())
        return self._book.correct_all(entry, fitting, now)

    def _as_kept(self, field: str, value: object, now: datetime) -> tuple[str, object]:
        if field == "sheet" and isinstance(value, str):
            return "sheet_id", self._keep(value, now).id
        return field, value

    def _keep(self, stem: str, now: datetime) -> KeptSheet:
        self._shelf.load(stem)
        return self._book.keep_sheet(stem, self._shelf.text(stem), now)

    def _open(self, number: int) -> Layup:
        layup = self._book.layup(number)
        if layup.ended_at is not None:
            raise BadInput(
                f"Part {number} was ended.", f'Start it anew: layup add {number} "…" --sheet ….'
            )
        return layup

    def _find(self, address: Address) -> tuple[Layup, Batch | None]:
        layup = self._book.layup(address.number)
        if address.batch is None:
            return layup, None
        batches = self._book.batches(layup.id)
        for batch in batches:
            if batch.name == address.batch:
                return layup, batch
        names = ", ".join(f"{layup.number}/{batch.name}" for batch in batches)
        raise BadInput(
            f"Part {layup.number} has no batch {address.batch}.",
            f"It has: {names}." if names else f"Log it first: batch add {address}.",
        )


def _may_become(entry: str, field: str, value: object, now: datetime) -> None:
    if isinstance(value, datetime):
        _not_ahead(value, now, "done")
    elif isinstance(value, timedelta):
        _give_or_take_fits(value)
    elif isinstance(value, float):
        _amount_fits(value)
    elif field == "number" and isinstance(value, int):
        _number_fits(value)
    if isinstance(value, str):
        _must_be_words_of(entry, field, value)


def _must_be_words_of(entry: str, field: str, text: str) -> None:
    """A sensor and a batch are called by their names, on the command line and in addresses."""
    must_be_words(text, f"The {field.replace('_', ' ')}")
    if field == "name" and entry.startswith("sensor-"):
        _must_name_a_sensor(text)
    if field == "name" and entry.startswith("batch-"):
        _must_be_of(None, text)


def _must_name_a_sensor(name: str) -> None:
    if not _NAME.fullmatch(name):
        raise BadInput(
            f"{name!r} can't be a sensor's name.", "Use letters, digits and dashes: shed, hull-2."
        )


def _must_be_of(role: Role | None, name: str) -> None:
    """A batch's name is a role, and a number where there are several; its own role if told."""
    named = parse_address(f"1/{name}")
    if named.batch != name or role not in (None, named.role):
        of = "a batch" if role is None else f"a batch that is {role}"
        raise BadInput(f"{name!r} can't be the name of {of}.", "Use the role, or as in patch-2.")


def _must_all_be_words(given: Mapping[str, str | None]) -> None:
    for name, text in given.items():
        if text is not None:
            must_be_words(text, f"The {name.replace('_', ' ')}")


def _trimmed(particulars: Particulars) -> Particulars:
    """Without blanks at the ends; what is nothing but blanks was not given."""
    given = {field: (value or "").strip() or None for field, value in asdict(particulars).items()}
    return Particulars(**given)


def _number_fits(number: int) -> None:
    if not 0 < number <= _LARGEST_NUMBER:
        told = number if abs(number) <= _LARGEST_NUMBER else "That"
        raise BadInput(f"{told} is no number for a tape.", "Use 1, 2, 3 …")


def _amount_fits(amount: float | None) -> None:
    if amount is not None and not 0.0 <= amount <= _LARGEST_AMOUNT:
        raise BadInput(f"{amount:g} is no weight or thickness.", "Give grams or mm, 0 or more.")


def _give_or_take_fits(length: timedelta) -> None:
    if not timedelta(0) <= length <= _LONGEST_DOUBT:
        raise BadInput(
            f"Give or take {length.total_seconds() / 3600:g} h is no time that anybody remembers.",
            "Write it as 10m; 0m if it was seen.",
        )


def _weights_fit(sheet: Sheet, weighed: Weighed) -> None:
    """Catalyst for polyester and vinyl ester, hardener for epoxy, never one for the other."""
    wrong = weighed.catalyst_g if sheet.kind == "epoxy" else weighed.hardener_g
    if wrong is not None:
        other = "hardener" if sheet.kind == "epoxy" else "catalyst"
        raise BadInput(
            f"{sheet.name} is {sheet.kind}: it takes {other}.", f"Give --{other}-g instead."
        )
    weights = replace(weighed, mix_pct=None)
    for grams in (weights.resin_g, weights.catalyst_g, weights.hardener_g):
        _amount_fits(grams)
    second = weights.hardener_g if sheet.kind == "epoxy" else weights.catalyst_g
    if (second is None) != (weights.resin_g is None) or weights.resin_g == 0.0:
        raise BadInput(
            "A mix needs both its weights.",
            f"Give --resin-g and --{sheet.second_part}-g, or neither.",
        )


def _not_ahead(at: datetime, now: datetime, done: str) -> None:
    if at - now > _AHEAD:
        raise BadInput(
            f"{at:%Y-%m-%d %H:%M} UTC is still to come: nothing was {done} then.",
            "Give a past time, such as -25m or 14:05.",
        )


__all__ = ["Address", "Logbook", "Mixed", "parse_address"]
