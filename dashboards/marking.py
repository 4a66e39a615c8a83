"""The page of marks: big things to press, ten seconds to take one back, and "that was … ago"."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from starlette.responses import Response
from starlette.routing import Route

from dashboards import entering
from dashboards.office import Asked, Office, back_to
from dashboards.presses import GROUPS, MINUTES_AGO, TAKE_BACK_S, words_of
from monitor.answers.wording import ROLE_WORDS
from monitor.records import Batch, Layup, Mark, MarkKind
from monitor.store import entry_id
from monitor.times import iso_utc, length_said, said


@dataclass(frozen=True, slots=True)
class Of:
    """What a mark may be of: the value sent, and its words."""

    value: str
    words: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Just:
    """The mark just made, and what can still be said of it."""

    id: int
    words: str
    of: str
    when: str
    ago: str | None
    pressed: str
    taken_back: bool


def routes(office: Office) -> list[Route]:
    page = _MarkPage(office)
    return [
        office.route("/layups/{number:int}/mark", page.shown),
        office.route("/layups/{number:int}/marks", page.made, "POST"),
        office.route("/layups/{number:int}/marks/{id:int}/taken-back", page.taken_back, "POST"),
        office.route("/layups/{number:int}/marks/{id:int}/earlier", page.earlier, "POST"),
    ]


class _MarkPage:
    def __init__(self, office: Office) -> None:
        self._office = office

    def shown(self, asked: Asked) -> Response:
        layup = entering.layup_of(self._office, asked)
        batches = self._office.store.book.batches(layup.id)
        chosen = asked.query.get("of", "")
        return self._office.page(
            "mark.html",
            asked.now,
            layup=layup,
            ended=layup.ended_at is not None,
            just=self._just(layup, asked.query.get("just", ""), asked),
            choices=_choices(batches, chosen),
            chosen=chosen,
            groups=GROUPS,
            minutes_ago=MINUTES_AGO,
            seconds=TAKE_BACK_S,
            newest=None if len(batches) < 2 else _name(batches[-1]),
        )

    def made(self, asked: Asked) -> Response:
        mark = entering.add_mark(self._office, asked)
        if mark.kind is MarkKind.STICKY:
            return back_to(f"/layups/{asked.path['number']}/review?just={mark.id}")
        return self._back(asked, mark)

    def taken_back(self, asked: Asked) -> Response:
        return self._back(asked, entering.take_back(self._office, asked))

    def earlier(self, asked: Asked) -> Response:
        pressed = asked.form.get("pressed", "")
        return self._back(asked, entering.was_earlier(self._office, asked), pressed)

    def _back(self, asked: Asked, mark: Mark, pressed: str = "") -> Response:
        stamp = pressed or iso_utc(mark.at)
        return back_to(f"/layups/{asked.path['number']}/mark?just={mark.id}&pressed={stamp}#just")

    def _just(self, layup: Layup, id: str, asked: Asked) -> Just | None:
        if not (id.isascii() and id.isdigit() and len(id) < 19):
            return None
        mark = entering.mark_of(self._office, layup, int(id))
        pressed = self._pressed(asked, mark)
        ago_s = (pressed - mark.at).total_seconds()
        return Just(
            mark.id,
            self._words(mark),
            self._of(layup, mark),
            said(mark.at, self._office.zone, asked.now),
            length_said(ago_s) if ago_s >= 60 else None,
            iso_utc(pressed),
            mark.kind is MarkKind.NOTE and entry_was_mark(self._office, mark),
        )

    def _pressed(self, asked: Asked, mark: Mark) -> datetime:
        stamp = asked.query.get("pressed", "")
        return self._office.moment(stamp, asked.now) if stamp else mark.at

    def _words(self, mark: Mark) -> str:
        return mark.note or "Note" if mark.kind is MarkKind.NOTE else words_of(mark.kind)

    def _of(self, layup: Layup, mark: Mark) -> str:
        batches = self._office.store.book.batches(layup.id)
        named = next((b for b in batches if b.id == mark.batch_id), None)
        return f"part {layup.number}" + ("" if named is None else f", {_name(named)}")


def entry_was_mark(office: Office, mark: Mark) -> bool:
    """Whether a note was another mark before: one that was taken back."""
    made = office.store.book.corrections(entry_id(mark))
    return any(correction.field == "kind" for correction in made)


def _choices(batches: Sequence[Batch], chosen: str) -> tuple[Of, ...]:
    """Nothing to choose where the part has one batch or none."""
    if len(batches) < 2:
        return ()
    names = [
        ("", "As usual"),
        (entering.WHOLE, "Whole part"),
        *((b.name, _name(b)) for b in batches),
    ]
    return tuple(Of(value, words, value == chosen) for value, words in names)


def _name(batch: Batch) -> str:
    """`skin A`, `patch 2`."""
    number = batch.name.removeprefix(batch.role.value)
    return ROLE_WORDS[batch.role] + (f" {number[1:]}" if number else "")
