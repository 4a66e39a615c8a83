"""The same answers as JSON under /api/, and the writing of entries for programs."""

from collections.abc import Callable
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any

import orjson
from starlette.responses import Response
from starlette.routing import Route

from dashboards import entering
from dashboards.alerted import alert_cards
from dashboards.earlier import warmths
from dashboards.mixing import mixed_by, own_of
from dashboards.office import Asked, Office
from dashboards.planned import planned
from dashboards.reviewing import review_made
from dashboards.sensing import answer_doubt, cards
from dashboards.sheetbook import shelf_lines
from monitor.answers.asjson import sensor_json
from monitor.answers.entry import entry_cautions
from monitor.answers.log import layup_json
from monitor.answers.mix import mix_json
from monitor.answers.review import review_json
from monitor.errors import BadInput
from monitor.overview import view
from monitor.records import Batch, Layup, Mark, Stay
from monitor.sheets import describe
from monitor.store import entry_id
from monitor.times import iso_utc

SPEC = "openapi.json"


def routes(office: Office) -> list[Route]:
    api = _Api(office)

    def read(path: str, answer: Callable[[Asked], object]) -> Route:
        return office.route(path, lambda asked: _json(answer(asked)))

    def write(path: str, answer: Callable[[Asked], object]) -> Route:
        return office.route(path, lambda asked: _json(answer(asked), 201), "POST")

    return [
        office.route("/api", api.page),
        office.route("/api/openapi.json", lambda _asked: _json(spec())),
        read("/api/layups/{number:int}/book", api.book),
        read("/api/layups/{number:int}/reviews", api.reviews),
        read("/api/mix", api.mix),
        read("/api/plan", api.plan),
        read("/api/sensors", api.sensors),
        read("/api/sheets", api.sheets),
        read("/api/sheets/{stem}", api.sheet),
        read("/api/alerts", api.alerts),
        read("/api/history", api.history),
        write("/api/sensors/{name}/answer", api.answer_doubt),
        write("/api/layups", api.add_part),
        write("/api/layups/{number:int}/end", api.end_part),
        write("/api/layups/{number:int}/batches", api.add_cup),
        write("/api/layups/{number:int}/stays", api.add_stay),
        write("/api/layups/{number:int}/marks", api.add_mark),
        write("/api/layups/{number:int}/marks/{id:int}/taken-back", api.take_back),
        write("/api/layups/{number:int}/review", api.review),
        write("/api/layups/{number:int}/corrections", api.correct),
        write("/api/alerts/{id:int}/seen", api.seen),
    ]


@cache
def spec() -> dict[str, Any]:
    """What the addresses take and give, as it is kept beside this module."""
    told = orjson.loads((files("dashboards") / SPEC).read_bytes())
    assert isinstance(told, dict)
    return told


def _json(answer: object, status: int = 200) -> Response:
    return Response(orjson.dumps(answer), status, media_type="application/json")


class _Api:
    """Each method gives plain values; names and units as the command line's `--json`."""

    def __init__(self, office: Office) -> None:
        self._office = office

    def page(self, asked: Asked) -> Response:
        told = spec()
        return self._office.page("api.html", asked.now, spec=told, paths=told["paths"])

    def book(self, asked: Asked) -> object:
        return layup_json(self._office.store, entering.layup_of(self._office, asked))

    def mix(self, asked: Asked) -> object:
        mix = mixed_by(self._office, asked.typed, asked.query.get("unit"))
        stem = asked.typed.wanted("sheet", "The sheet")
        return mix_json(mix, own_of(self._office, stem, mix, asked.now))

    def plan(self, asked: Asked) -> object:
        return planned(self._office, asked.typed, asked.now).json()

    def sensors(self, asked: Asked) -> object:
        found = []
        known = {sensor.name: sensor for sensor in self._office.store.book.sensors()}
        for card in cards(self._office, asked.now):
            sensor = known[card.name]
            latest = self._office.store.readings.latest(sensor.id)
            found.append(
                {
                    **sensor_json(sensor, latest),
                    "heard": card.heard,
                    "quiet": card.quiet,
                    "beside": list(card.beside),
                    "lines": list(card.lines),
                    "asked": [{"doubt": q.id, "fact": q.fact} for q in card.asked],
                    "checked": card.checked,
                }
            )
        return found

    def sheets(self, _asked: Asked) -> object:
        return [
            {
                "sheet": line.stem,
                "name": line.name,
                "can_judge": not line.only_to_look,
                "trouble": line.trouble,
            }
            for line in shelf_lines(self._office)
        ]

    def sheet(self, asked: Asked) -> object:
        stem = asked.path["stem"]
        sheet = self._office.shelf.look(stem)
        return {
            "sheet": stem,
            "name": sheet.name,
            "demo": sheet.demo,
            "values": [
                {"key": row.key, "words": row.words, "said": row.said, "from": row.origin or None}
                for section in describe(sheet)
                for row in section.rows
                if row.key
            ],
        }

    def alerts(self, asked: Asked) -> object:
        told = {card.id: card for card in alert_cards(self._office, asked.now)}
        recent = self._office.store.alerts.recent(len(told) or 1)
        return [
            {
                "id": alert.id,
                "rule": alert.rule,
                "parts": list(alert.parts),
                "began_at": iso_utc(alert.began_at),
                "raised_at": iso_utc(alert.raised_at),
                "cleared_at": _time(alert.cleared_at),
                "seen_at": _time(alert.seen_at),
                "again_at": _time(alert.again_at),
                "aloud": alert.aloud.value,
                "withdrawn": alert.withdrawn,
                "went": list(told[alert.id].went),
                "fact": alert.fact,
                "action": alert.action,
                "night_hours": told[alert.id].at_night,
                "done": list(told[alert.id].done),
            }
            for alert in recent
            if alert.id in told
        ]

    def history(self, asked: Asked) -> object:
        stem = asked.typed.wanted("sheet", "The sheet")
        return [
            {"warmth": w.heading, "together": list(w.together), "each": list(w.each)}
            for w in warmths(self._office, stem, asked.now)
        ]

    def answer_doubt(self, asked: Asked) -> object:
        span = answer_doubt(self._office, asked)
        return {
            "doubt": span.id,
            "kind": span.kind.value,
            "since": iso_utc(span.since),
            "until": _time(span.until),
            "answer": span.reply and span.reply.value,
        }

    def add_part(self, asked: Asked) -> object:
        return _told_layup(entering.add_part(self._office, asked))

    def end_part(self, asked: Asked) -> object:
        return _told_layup(entering.end_part(self._office, asked))

    def add_cup(self, asked: Asked) -> object:
        mixed = entering.add_cup(self._office, asked)
        layup = entering.layup_of(self._office, asked)
        seen = view(self._office.store, layup, asked.now)
        batch: Batch = mixed.batch
        return {
            "id": entry_id(batch),
            "batch": f"{layup.number}/{batch.name}",
            "mixed_at": iso_utc(batch.mixed_at),
            "mix": mixed.mix.state,
            "mix_pct": mixed.mix.pct,
            "sentence": mixed.mix.sentence,
            "cautions": list(entry_cautions(seen, batch)),
        }

    def add_stay(self, asked: Asked) -> object:
        stay: Stay = entering.add_stay(self._office, asked)
        return {
            "id": entry_id(stay),
            "channel": stay.channel.value,
            "nearness": stay.nearness.value,
            "from": iso_utc(stay.since),
            "to": _time(stay.until),
        }

    def add_mark(self, asked: Asked) -> object:
        return _told_mark(entering.add_mark(self._office, asked))

    def take_back(self, asked: Asked) -> object:
        return _told_mark(entering.take_back(self._office, asked))

    def review(self, asked: Asked) -> object:
        told, kept = review_made(self._office, asked)
        return {"id": kept.id, **review_json(told)}

    def reviews(self, asked: Asked) -> object:
        """As each was given, oldest first."""
        layup = entering.layup_of(self._office, asked)
        return [
            {
                "id": kept.id,
                "reviewed_at": iso_utc(kept.reviewed_at),
                "answers": dict(text.split("=") for text in kept.answers),
                "findings": dict(text.split("=") for text in kept.findings),
                "give_up_by": iso_utc(kept.give_up_by),
                "said": list(kept.lines),
            }
            for kept in self._office.store.book.reviews(layup.id)
        ]

    def correct(self, asked: Asked) -> object:
        """One field of one entry of the part; its old value is kept."""
        typed, layup = asked.typed, entering.layup_of(self._office, asked)
        name = typed.wanted("entry", "The entry")
        field = typed.wanted("field", "The field")
        entry = entering.entry_of(self._office, layup, name)
        changes = {field: typed.text("value") or ""}
        taken_back = entering.put_right(self._office, entry, changes, asked.now)
        made = self._office.store.book.corrections(name)[-1]
        return {
            "id": name,
            "field": made.field,
            "old": made.old_value,
            "new": made.new_value,
            "withdrawn": list(taken_back),
        }

    def seen(self, asked: Asked) -> object:
        id = asked.path["id"]
        try:
            alert = self._office.store.alerts.mark_seen(id, asked.now)
        except OverflowError:
            raise BadInput(
                f"There is no alert {id}.", "See which there are: /api/alerts."
            ) from None
        return {"id": alert.id, "seen_at": _time(alert.seen_at)}


def _told_layup(layup: Layup) -> object:
    return {
        "id": entry_id(layup),
        "layup": layup.number,
        "what": layup.what,
        "ended_at": _time(layup.ended_at),
    }


def _told_mark(mark: Mark) -> object:
    return {
        "id": entry_id(mark),
        "mark": mark.kind.value,
        "time": iso_utc(mark.at),
        "note": mark.note,
    }


def _time(moment: datetime | None) -> str | None:
    return None if moment is None else iso_utc(moment)
