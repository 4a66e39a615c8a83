"""Where an alert goes besides the page, which reads the store itself."""

import logging
from typing import Protocol

from monitor.errors import HostError
from monitor.errors.text import shown
from monitor.records import Alert, Aloud, Message

_log = logging.getLogger("layupwatch.alerts")


class AlertChannel(Protocol):
    """Somewhere to say an alert at once. Neither may wait on anybody."""

    name: str

    def send(self, alert: Alert) -> None: ...

    def withdraw(self, alert: Alert) -> None: ...


class NotSent(HostError):
    """A message was not taken. Neither sentence holds a password, a token or an address."""


class OutsideChannel(Protocol):
    """Somewhere that may be slow or dead: asked from a thread of its own, and tried again."""

    name: str

    def send(self, message: Message) -> None:
        """Raises NotSent where it was not taken. May take its time, but not for ever."""

    def ready(self) -> None:
        """Raises NotSent where it can be told beforehand that nothing will be taken."""


def sentence(alert: Alert) -> str:
    """`Part 3: 14.2 °C at shed … Bring it inside …` One line, whatever the part is called."""
    return shown(f"{_parts(alert)}{alert.fact} {alert.action}")


def ended(alert: Alert) -> str:
    """That it is over; or that it was never so, and why."""
    if alert.withdrawn is not None:
        return shown(f"{_parts(alert)}withdrawn. {alert.withdrawn} It was said: {alert.fact}")
    return shown(f"{_parts(alert)}over. It was said: {alert.fact}")


def _parts(alert: Alert) -> str:
    if not alert.parts:
        return ""
    numbers = ", ".join(str(number) for number in alert.parts)
    return f"Part{'s' if len(alert.parts) > 1 else ''} {numbers}: "


class LogChannel:
    """The daemon's own log."""

    name = "log"

    def send(self, alert: Alert) -> None:
        loud = logging.INFO if alert.aloud is Aloud.PAGE else logging.WARNING
        _log.log(loud, "%s", sentence(alert))

    def withdraw(self, alert: Alert) -> None:
        _log.info("%s", ended(alert))
