"""Keeps what is due and what is stored in step: one alert an event, once, also after a restart."""

from collections.abc import Sequence
from datetime import datetime

from monitor.alerts.channels import AlertChannel
from monitor.alerts.rules import Due
from monitor.store import Store


def settle(
    store: Store, due: Sequence[Due], channels: Sequence[AlertChannel], now: datetime
) -> None:
    """Store and send what is newly due; clear and withdraw what no longer is."""
    known = {(alert.rule, alert.key): alert for alert in store.alerts.open()}
    holding = {(d.rule, d.key) for d in due}
    for one in due:
        if (one.rule, one.key) in known:
            continue
        alert = store.alerts.raise_alert(
            one.rule, one.key, one.began_at, now, one.parts, one.fact, one.action
        )
        if alert is not None:
            for channel in channels:
                channel.send(alert)
    for key, alert in known.items():
        if key not in holding:
            over = store.alerts.clear(alert.id, now)
            for channel in channels:
                channel.withdraw(over)
