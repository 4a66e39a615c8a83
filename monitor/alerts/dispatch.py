"""Keeps what is due and what is stored in step: one alert an event, once, also after a restart."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from monitor.alerts.channels import AlertChannel, ended, sentence
from monitor.alerts.due import Due, Rule, Telling
from monitor.alerts.look import Look
from monitor.alerts.rules import RULES
from monitor.overview import Overview
from monitor.records import Alert, Aloud, MessageKind
from monitor.store import Outgoing, Store
from monitor.times import said_lasting

AGAIN = timedelta(minutes=20)
ASKED_AGAIN = 2
"""What may wake someone is asked again this often, every 20 minutes, until it is seen or over."""

_RULES = {rule.name: rule for rule in RULES}
_NO_RULE = Rule(lambda look: iter(()), "", passes=True)
"""How the end of an alert is told that none of the rules raised: whoever answered it knows."""


@dataclass(frozen=True)
class Ways:
    """Who hears of it: those told at once, and the names of those with a thread of their own."""

    at_once: Sequence[AlertChannel] = ()
    outside: tuple[str, ...] = ()


def settle(store: Store, look: Look, due: Sequence[Due], ways: Ways) -> None:
    """Store and send what is newly due; clear and withdraw what no longer is."""
    known = {(alert.rule, alert.key): alert for alert in look.told if alert.cleared_at is None}
    holding = {(d.rule, d.key) for d in due}
    for one in due:
        if (one.rule, one.key) not in known:
            _raise(store, look, one, ways)
    for key, alert in known.items():
        if key not in holding:
            _end(store, look, alert, ways)


def _raise(store: Store, look: Look, due: Due, ways: Ways) -> None:
    shown = Alert(0, due.rule, due.key, due.began_at, look.now, due.parts, due.said, due.action)
    alert = store.alerts.raise_alert(
        due.rule,
        due.key,
        due.began_at,
        look.now,
        due.parts,
        due.said,
        due.action,
        aloud=due.aloud,
        outgoing=tuple(_messages(due.aloud, sentence(shown), look, ways.outside)),
    )
    if alert is not None:
        for channel in ways.at_once:
            channel.send(alert)


def _messages(aloud: Aloud, text: str, look: Look, names: tuple[str, ...]) -> Iterator[Outgoing]:
    if aloud is Aloud.PAGE:
        return
    due_at = look.now if aloud is Aloud.ANY_HOUR else by_day(look.now, look.telling)
    if due_at > look.now:
        text = f"{said_lasting(look.now, look.telling.zone)}. {text}"
    for name in names:
        yield Outgoing(name, MessageKind.SAID, text, due_at)
        if aloud is Aloud.ANY_HOUR:
            for times in range(1, ASKED_AGAIN + 1):
                yield Outgoing(name, MessageKind.AGAIN, f"Again: {text}", due_at + times * AGAIN)


def _end(store: Store, look: Look, alert: Alert, ways: Ways) -> None:
    """That it is over wakes nobody."""
    rule = _RULES.get(alert.rule, _NO_RULE)
    withdrawn = None if rule.takes_back is None else rule.takes_back(look, alert)
    over = None
    if withdrawn is not None or not (rule.passes or _gone(alert, look)):
        told = ended(_as_ended(alert, withdrawn))
        over = Outgoing("", MessageKind.OVER, told, by_day(look.now, look.telling))
    done = store.alerts.clear(alert.id, look.now, withdrawn=withdrawn, over=over)
    for channel in ways.at_once:
        channel.withdraw(done)


def _as_ended(alert: Alert, withdrawn: str | None) -> Alert:
    return replace(alert, withdrawn=withdrawn)


def _gone(alert: Alert, look: Look) -> bool:
    """Whether none of its parts is open any more: whoever ended them knows."""
    numbers = {view.layup.number for view in look.seen.layups}
    return bool(alert.parts) and not numbers & set(alert.parts)


def by_day(moment: datetime, telling: Telling) -> datetime:
    return telling.night.day_from(moment, telling.zone)


def look_at(store: Store, seen: Overview, telling: Telling) -> Look:
    """What the rules are asked with: everything open, and what was said of it before."""
    mixed = [batch.batch.mixed_at for view in seen.layups for batch in view.batches]
    return Look(seen, telling, store.alerts.raised_since(min(mixed, default=seen.at)))


def ask_again(store: Store, id: int, now: datetime, outside: tuple[str, ...]) -> Alert:
    """Ask once more in 20 minutes, unless somebody has seen it. Raises BadInput as the store."""
    text = f"Again: {sentence(store.alerts.alert(id))}"
    at = now + AGAIN
    outgoing = [Outgoing(name, MessageKind.AGAIN, text, at) for name in outside]
    return store.alerts.ask_again(id, now, at, outgoing)
