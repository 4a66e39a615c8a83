"""Alerts, as they stand and as they were; whether they reach anybody."""

from collections import defaultdict
from datetime import datetime
from typing import Any

import click

from monitor.cli.session import Open, Session, json_option, print_json, say
from monitor.records import Alert, Message, MessageKind
from monitor.times import iso_utc, said


@click.group("alert")
def alert_command() -> None:
    """What was worth saying aloud."""


@alert_command.command("list")
@click.option("--last", type=click.IntRange(1), default=20, show_default=True)
@json_option
@click.pass_obj
def alert_list(session: Session, last: int, as_json: bool) -> None:
    """The newest alerts, and how far each got; an open one has no end."""
    from monitor.alerts.going import way_said

    with session.open() as at:
        alerts = at.store.alerts.recent(last)
        went: dict[int, list[Message]] = defaultdict(list)
        for message in at.store.messages.of(alert.id for alert in alerts):
            went[message.alert_id].append(message)
        if as_json:
            print_json([_json(alert, went[alert.id]) for alert in alerts])
            return
        if not alerts:
            say("Nothing so far.")
        for alert in alerts:
            say(_line(alert, at))
            for message in went[alert.id]:
                say(f"    {way_said(message, at.shop.zone, at.now)}")


def _line(alert: Alert, at: Open) -> str:
    from monitor.alerts.channels import sentence

    def when(moment: datetime) -> str:
        return said(moment, at.shop.zone, at.now)

    state = ""
    if alert.seen_at is not None:
        state += f" Seen at {when(alert.seen_at)}."
    if alert.again_at is not None and alert.cleared_at is None:
        state += f" Asked again at {when(alert.again_at)}."
    if alert.withdrawn is not None and alert.cleared_at is not None:
        state += f" Withdrawn at {when(alert.cleared_at)}: {alert.withdrawn}"
    elif alert.cleared_at is not None:
        state += f" Over at {when(alert.cleared_at)}."
    return f"{alert.id}  {when(alert.raised_at)}  {sentence(alert)}{state}"


def _json(alert: Alert, messages: list[Message]) -> dict[str, Any]:
    def time(moment: datetime | None) -> str | None:
        return None if moment is None else iso_utc(moment)

    return {
        "id": alert.id,
        "rule": alert.rule,
        "aloud": alert.aloud.value,
        "parts": list(alert.parts),
        "began_at": time(alert.began_at),
        "raised_at": time(alert.raised_at),
        "cleared_at": time(alert.cleared_at),
        "withdrawn": alert.withdrawn,
        "seen_at": time(alert.seen_at),
        "again_at": time(alert.again_at),
        "fact": alert.fact,
        "action": alert.action,
        "messages": [
            {
                "channel": message.channel,
                "kind": message.kind.value,
                "due_at": time(message.due_at),
                "tries": message.tries,
                "sent_at": time(message.sent_at),
                "dropped_at": time(message.dropped_at),
                "trouble": message.trouble,
            }
            for message in messages
        ],
    }


@alert_command.command("seen")
@click.argument("id", type=click.IntRange(1, 2**31))
@click.pass_obj
def alert_seen(session: Session, id: int) -> None:
    """Somebody has seen it: it isn't asked again."""
    with session.open() as at:
        at.store.alerts.mark_seen(id, at.now)
    say("Seen.")


@alert_command.command("again")
@click.argument("id", type=click.IntRange(1, 2**31))
@click.pass_obj
def alert_again(session: Session, id: int) -> None:
    """Ask again in 20 minutes."""
    from monitor.alerts.dispatch import ask_again

    with session.open() as at:
        alert = ask_again(at.store, id, at.now, at.shop.alerting.names)
        assert alert.again_at is not None
        say(f"Asked again at {said(alert.again_at, at.shop.zone, at.now)}.")


@alert_command.command("test")
@click.pass_obj
def alert_test(session: Session) -> int:
    """Send a line to each channel of shop.toml, and say which took it."""
    from monitor.alerts.channels import NotSent
    from monitor.alerts.outside import outside_channels
    from monitor.cli.session import now_utc

    shop = session.shop()
    channels = outside_channels(shop.alerting)
    if not channels:
        say("No channel yet: alerts stand on the page and in the log.")
        say("Add one to shop.toml under [alerts]: command, webhook or addresses.")
    now = now_utc()
    text = f"A test from the shop at {said(now, shop.zone, now)}. Nothing needs doing."
    failed = 0
    for channel in channels:
        try:
            channel.send(Message(0, 0, channel.name, MessageKind.TRIED, text, now, now))
        except NotSent as fault:
            failed += 1
            say(f"{channel.name}: not taken. {fault.what} {fault.remedy}")
        else:
            say(f"{channel.name}: taken.")
    return NotSent.exit_code if failed else 0
