"""Writing into the book for the pages and for programs: one function for each kind of entry."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from dashboards.habits import free_name, habits
from dashboards.office import Asked, Office
from dashboards.presses import MINUTES_AGO, PRESSES
from monitor.answers.log import correction_value
from monitor.answers.withdrawn import withdrawn
from monitor.cure.mixing import Weighed
from monitor.errors import BadInput
from monitor.logbook import Address, Mixed, parse_address
from monitor.overview import overview
from monitor.records import (
    Channel,
    Layup,
    Mark,
    MarkKind,
    Nearness,
    Particulars,
    Role,
    Stay,
)
from monitor.store import Entry, entry_id
from monitor.times import parse_length

W = TypeVar("W", Role, Channel, Nearness, MarkKind)

WHOLE = "all"
"""What a mark or a stay is of, where it is the whole part."""


def layup_of(office: Office, asked: Asked) -> Layup:
    try:
        return office.store.book.layup(asked.path["number"])
    except OverflowError:
        raise BadInput("No part has that number.", "Look at its masking tape.") from None


def add_part(office: Office, asked: Asked) -> Layup:
    """A part, and where its sensor stands if one was named."""
    typed = asked.typed
    number = typed.whole("number", "the number on the tape")
    if number is None:
        number = habits(office.store).next_number
    sensor = typed.text("sensor")
    where = None if sensor is None else _where(office, asked)
    if sensor is not None and where is not None:
        # Looked at first: what is refused leaves no part behind.
        office.book.may_lie_beside(sensor, where.since, asked.now)
    layup = office.book.add_layup(
        number,
        typed.wanted("what", "What the part is"),
        typed.wanted("sheet", "The resin's sheet"),
        on="hull" if typed.ticked("hull") else None,
        safety=typed.ticked("safety"),
        now=asked.now,
        particulars=Particulars(
            typed.text("boat"), typed.text("place"), typed.text("person"), typed.text("laminate")
        ),
    )
    if sensor is not None and where is not None:
        _put(office, Address(number), sensor, where, asked.now)
    return layup


def end_part(office: Office, asked: Asked) -> Layup:
    return office.book.end_layup(layup_of(office, asked).number, asked.now)


def add_cup(office: Office, asked: Asked) -> Mixed:
    """A cup of mix. Its second weight is catalyst or hardener, as its sheet takes."""
    typed, layup = asked.typed, layup_of(office, asked)
    role = _word(Role, typed.text("role") or Role.OTHER.value, "kind of batch")
    name = typed.text("name") or free_name(role, office.store.book.batches(layup.id))
    own = typed.text("sheet")
    kept = office.store.book.kept_sheet(layup.sheet_id)
    second_g = typed.number("second_g", "the catalyst or hardener")
    epoxy = office.shelf.look(own or kept.stem).kind == "epoxy"
    give_or_take = typed.text("give_or_take")
    return office.book.add_batch(
        Address(layup.number, role, name),
        mixed_at=office.moment(typed.text("mixed_at"), asked.now),
        now=asked.now,
        sheet=None if own == kept.stem else own,
        give_or_take=parse_length(give_or_take) if give_or_take else timedelta(0),
        weighed=Weighed(
            typed.number("resin_g", "the resin"),
            None if epoxy else second_g,
            second_g if epoxy else None,
        ),
        scale_step_g=typed.number("scale_step_g", "the scale's step"),
        thickness_mm=typed.number("thickness_mm", "the thickness"),
        waxed=typed.ticked("waxed"),
        resin_tin=typed.text("resin_tin"),
        catalyst_tin=typed.text("catalyst_tin"),
        cup=typed.text("cup"),
    )


def add_stay(office: Office, asked: Asked) -> Stay:
    """The part stands beside a sensor from now, or from when it is said."""
    typed, layup = asked.typed, layup_of(office, asked)
    sensor = typed.wanted("sensor", "The sensor")
    where = _where(office, asked)
    return _put(office, _address(layup, typed.text("of")), sensor, where, asked.now)


@dataclass(frozen=True, slots=True)
class _Where:
    """How near a sensor, on which channel, and since when, as it was typed."""

    channel: Channel
    nearness: Nearness | None
    since: datetime


def _where(office: Office, asked: Asked) -> _Where:
    typed, nearness = asked.typed, asked.typed.text("nearness")
    return _Where(
        _word(Channel, typed.text("channel") or Channel.AIR.value, "channel"),
        None if nearness is None else _word(Nearness, nearness, "nearness"),
        office.moment(typed.text("since"), asked.now),
    )


def _put(office: Office, address: Address, sensor: str, where: _Where, now: datetime) -> Stay:
    return office.book.add_stay(
        address,
        sensor,
        channel=where.channel,
        nearness=where.nearness,
        since=where.since,
        until=None,
        now=now,
    )


def add_mark(office: Office, asked: Asked) -> Mark:
    """A mark on the whole part or on one batch; on the newest batch where it is a cup's mark."""
    typed, layup = asked.typed, layup_of(office, asked)
    kind = _word(MarkKind, typed.wanted("kind", "The mark"), "mark")
    note = typed.text("note")
    if kind is MarkKind.NOTE and note is None:
        raise BadInput("The note is empty.", "Write a word or two.")
    return office.book.add_mark(
        _address(layup, typed.text("of") or _usual(office, layup, kind)),
        kind,
        at=office.moment(typed.text("at"), asked.now),
        note=note,
        now=asked.now,
    )


def _usual(office: Office, layup: Layup, kind: MarkKind) -> str | None:
    batches = office.store.book.batches(layup.id)
    if kind in PRESSES and PRESSES[kind].of_cup and len(batches) > 1:
        return batches[-1].name
    return None


def take_back(office: Office, asked: Asked) -> Mark:
    return office.book.take_back(layup_of(office, asked), asked.path["id"], asked.now)


def was_earlier(office: Office, asked: Asked) -> Mark:
    """That was some minutes before it was pressed: its time is put right, the old one kept."""
    typed, layup = asked.typed, layup_of(office, asked)
    minutes = typed.whole("minutes", "the minutes")
    if minutes not in MINUTES_AGO:
        raise BadInput("That is no such step.", "Put the mark's time right on its own page.")
    pressed = office.moment(typed.wanted("pressed", "When it was pressed"), asked.now)
    mark = mark_of(office, layup, asked.path["id"])
    office.book.correct(entry_id(mark), "at", pressed - timedelta(minutes=minutes), asked.now)
    return mark_of(office, layup, mark.id)


def mark_of(office: Office, layup: Layup, id: int) -> Mark:
    for mark in office.store.book.marks(layup.id):
        if mark.id == id:
            return mark
    raise BadInput(f"Part {layup.number} has no mark-{id}.", "Look at what is logged of it.")


def entries_of(office: Office, layup: Layup) -> tuple[Entry, ...]:
    """Everything logged of a part that can be put right, in the order of the page."""
    book = office.store.book
    return (
        layup,
        *book.batches(layup.id),
        *book.stays(layup.id),
        *book.marks(layup.id),
    )


def entry_of(office: Office, layup: Layup, name: str) -> Entry:
    for entry in entries_of(office, layup):
        if entry_id(entry) == name:
            return entry
    raise BadInput(f"Part {layup.number} has no {name}.", "Look at what is logged of it.")


def put_right(
    office: Office, entry: Entry, changes: dict[str, str], now: datetime
) -> tuple[str, ...]:
    """Correct fields by what was typed; all of them, or none.

    Returns what is no longer true: a "ready" that was told before.
    """
    name = entry_id(entry)
    typed = {
        field: correction_value(name, field, text.strip() or "-", lambda t: office.moment(t, now))
        for field, text in changes.items()
    }
    before = overview(office.store, now, office.desk)
    office.book.correct_all(name, typed, now)
    return tuple(withdrawn(before, overview(office.store, now, office.desk)))


def _address(layup: Layup, of: str | None) -> Address:
    if of in (None, WHOLE):
        return Address(layup.number)
    return parse_address(f"{layup.number}/{of}")


def _word(kind: type[W], text: str, what: str) -> W:
    try:
        return kind(text)
    except ValueError:
        words = ", ".join(word.value for word in kind)
        raise BadInput(f"{text!r} is no {what}.", f"Use one of: {words}.") from None
