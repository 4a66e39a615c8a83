"""Alerts, as they stand and as they were."""

import click

from monitor.cli.session import Session, json_option, print_json
from monitor.times import iso_utc, said


@click.group("alert")
def alert_command() -> None:
    """What was worth saying aloud."""


@alert_command.command("list")
@click.option("--last", type=click.IntRange(1), default=20, show_default=True)
@json_option
@click.pass_obj
def alert_list(session: Session, last: int, as_json: bool) -> None:
    """The newest alerts; an open one has no end."""
    with session.open() as at:
        alerts = at.store.alerts.recent(last)
        if as_json:
            print_json(
                [
                    {
                        "rule": alert.rule,
                        "parts": list(alert.parts),
                        "began_at": iso_utc(alert.began_at),
                        "raised_at": iso_utc(alert.raised_at),
                        "cleared_at": alert.cleared_at and iso_utc(alert.cleared_at),
                        "seen_at": alert.seen_at and iso_utc(alert.seen_at),
                        "fact": alert.fact,
                        "action": alert.action,
                    }
                    for alert in alerts
                ]
            )
            return
        if not alerts:
            click.echo("Nothing so far.")
        for alert in alerts:
            when = said(alert.raised_at, at.shop.zone, at.now)
            over = ""
            if alert.cleared_at is not None:
                over = f" Over at {said(alert.cleared_at, at.shop.zone, at.now)}."
            numbers = ", ".join(str(number) for number in alert.parts)
            click.echo(f"{when}  Part {numbers}: {alert.fact} {alert.action}{over}")
