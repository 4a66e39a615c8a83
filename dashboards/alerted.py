"""The page of alerts: what, when, whether it was seen, what was done, and which came at night."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboards.office import Asked, Office
from dashboards.presses import words_of
from monitor.alerts.dispatch import ask_again
from monitor.alerts.going import way_said
from monitor.cautions import HEAT
from monitor.errors import BadInput
from monitor.records import Alert, Mark, Message
from monitor.times import said

LOOKED_BACK = 100
DONE_WITHIN = timedelta(hours=2)
"""A mark this soon after an alert is told with it. Judged by eye, no source."""


@dataclass(frozen=True, slots=True)
class AlertCard:
    """One alert, from its beginning to its end. None: not yet."""

    id: int
    parts: tuple[int, ...]
    fact: str
    action: str
    heats: bool
    raised: str
    at_night: bool
    seen: str | None
    over: str | None
    done: tuple[str, ...]
    again: str | None
    withdrawn: str | None
    went: tuple[str, ...]
    """How far each of its messages got; not those that nobody had to send any more."""


def routes(office: Office) -> list[Route]:
    page = _AlertPage(office)
    return [
        office.route("/alerts", page.shown),
        office.route("/alerts/{id:int}/again", page.again, "POST"),
    ]


def alert_cards(office: Office, now: datetime) -> tuple[AlertCard, ...]:
    """The newest alerts, newest first."""
    recent = office.store.alerts.recent(LOOKED_BACK)
    marks = _marks_of(office, {number for alert in recent for number in alert.parts})
    went: dict[int, list[Message]] = {alert.id: [] for alert in recent}
    for message in office.store.messages.of(went):
        went[message.alert_id].append(message)
    return tuple(_card(office, alert, marks, went[alert.id], now) for alert in recent)


def in_night_hours(at: datetime, office: Office) -> bool:
    return office.shop.alerting.night.hold(at, office.zone)


def _marks_of(office: Office, numbers: set[int]) -> dict[int, list[Mark]]:
    """By number: a number goes back on the roll, so marks of several parts may stand under it."""
    found: dict[int, list[Mark]] = {number: [] for number in numbers}
    for part in office.store.book.layups(open_only=False):
        if part.number in found:
            found[part.number] += office.store.book.marks(part.id)
    return found


def _card(
    office: Office,
    alert: Alert,
    marks: Mapping[int, Sequence[Mark]],
    went: Sequence[Message],
    now: datetime,
) -> AlertCard:
    def when(moment: datetime | None) -> str | None:
        return None if moment is None else said(moment, office.zone, now)

    until = alert.raised_at + DONE_WITHIN
    done = [
        f"part {number}: {words_of(mark.kind).lower()} at {when(mark.at)}"
        for number in alert.parts
        for mark in marks[number]
        if alert.raised_at <= mark.at <= until
    ]
    return AlertCard(
        alert.id,
        alert.parts,
        alert.fact,
        alert.action.replace(HEAT, "").strip(),
        HEAT in alert.action,
        said(alert.raised_at, office.zone, now),
        in_night_hours(alert.raised_at, office),
        when(alert.seen_at),
        when(alert.cleared_at),
        tuple(done),
        None if alert.cleared_at is not None else when(alert.again_at),
        alert.withdrawn,
        tuple(
            way_said(message, office.zone, now)
            for message in went
            if message.tries or message.dropped_at is None
        ),
    )


class _AlertPage:
    def __init__(self, office: Office) -> None:
        self._office = office

    def shown(self, asked: Asked) -> Response:
        found = alert_cards(self._office, asked.now)
        night = self._office.shop.alerting.night.said()
        return self._office.page("alerts.html", asked.now, cards=found, night=night)

    def again(self, asked: Asked) -> Response:
        names = self._office.shop.alerting.names
        try:
            ask_again(self._office.store, asked.path["id"], asked.now, names)
        except OverflowError:
            raise BadInput("There is no such alert.", "Go back to everything open.") from None
        return RedirectResponse("/", 303)
