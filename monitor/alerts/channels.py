"""Where an alert goes besides the page, which reads the store itself."""

import logging
from typing import Protocol

from monitor.records import Alert

_log = logging.getLogger("layupwatch.alerts")


class AlertChannel(Protocol):
    """Somewhere to send an alert. `send` must not wait on anybody."""

    name: str

    def send(self, alert: Alert) -> None: ...

    def withdraw(self, alert: Alert) -> None: ...


def sentence(alert: Alert) -> str:
    """`Part 3: 14.2 °C at shed … Bring it inside …`"""
    numbers = ", ".join(str(number) for number in alert.parts)
    return f"Part{'s' if len(alert.parts) > 1 else ''} {numbers}: {alert.fact} {alert.action}"


class LogChannel:
    """The daemon's own log."""

    name = "log"

    def send(self, alert: Alert) -> None:
        _log.warning("%s", sentence(alert))

    def withdraw(self, alert: Alert) -> None:
        _log.info("Over: %s", sentence(alert))
