"""Channels that lie outside: each may be slow or dead, and holds what must not be told."""

from monitor.alerting import Alerting
from monitor.alerts.channels import OutsideChannel
from monitor.alerts.outside.addresses import AddressChannel
from monitor.alerts.outside.command import CommandChannel
from monitor.alerts.outside.webhook import WebhookChannel


def outside_channels(alerting: Alerting) -> tuple[OutsideChannel, ...]:
    """Those that shop.toml names, by the names that stand in the store."""
    found: list[OutsideChannel] = []
    if alerting.command:
        found.append(CommandChannel(alerting.command))
    if alerting.webhook is not None:
        found.append(WebhookChannel(alerting.webhook))
    found += [AddressChannel(name, address) for name, address in alerting.named_addresses]
    return tuple(found)
