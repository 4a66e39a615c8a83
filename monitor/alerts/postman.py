"""Carries messages out: a thread a channel, so that a slow or dead one keeps nobody waiting."""

import logging
import threading
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from monitor.alerts.channels import NotSent, OutsideChannel
from monitor.errors import MonitorError
from monitor.records import Message
from monitor.store import Store

LOOK_EVERY_S = 1.0
BACKOFF_S = (10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0)
"""Waits between tries: eight tries in some forty minutes. Later it is no help any more."""

_log = logging.getLogger("layupwatch.alerts")


class Postman:
    """Sends what is due on each channel until stopped. `clock` is what the store is asked by."""

    def __init__(
        self,
        store: Store,
        channels: Sequence[OutsideChannel],
        clock: Callable[[], datetime],
        look_every_s: float = LOOK_EVERY_S,
    ) -> None:
        self._store, self._clock, self._look_every_s = store, clock, look_every_s
        self._stopping, self._door = False, threading.Condition()
        self._rounds = [_Round(store, channel) for channel in channels]
        self._threads = [
            threading.Thread(
                target=self._run, args=(each,), name=f"channel {each.name}", daemon=True
            )
            for each in self._rounds
        ]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(each.name for each in self._rounds)

    def start(self) -> None:
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """Waits for nobody: what is under way is sent once more after the next start."""
        self._stopping = True
        self.knock()
        for thread in self._threads:
            thread.join(timeout=0.2)

    def knock(self) -> None:
        """Something may have been written down: don't wait for the next look."""
        with self._door:
            self._door.notify_all()

    def _run(self, each: "_Round") -> None:
        each.look_over()
        while not self._stopping:
            try:
                sent = each.send_next(self._clock)
            except MonitorError as fault:
                _log.error("%s %s", *fault.lines())
                sent = False
            with self._door:
                if not sent and not self._stopping:
                    self._door.wait(self._look_every_s)


class _Round:
    """One channel."""

    def __init__(self, store: Store, channel: OutsideChannel) -> None:
        self.name = channel.name
        self._messages, self._channel = store.messages, channel

    def look_over(self) -> None:
        try:
            self._channel.ready()
        except NotSent as fault:
            _log.warning("%s %s", *fault.lines())

    def send_next(self, clock: Callable[[], datetime]) -> bool:
        """Send one message. False: nothing is due."""
        message = self._messages.next_due(self.name, clock())
        if message is None:
            return False
        if not self._messages.begin(message.id, clock()):
            return True
        try:
            self._channel.send(message)
        except NotSent as fault:
            self._failed(message, fault, clock())
        else:
            self._messages.sent(message.id, clock())
        return True

    def _failed(self, message: Message, fault: NotSent, now: datetime) -> None:
        _log.warning("Message %d: %s %s", message.id, *fault.lines())
        next_at = None
        if message.tries < len(BACKOFF_S):
            next_at = now + timedelta(seconds=BACKOFF_S[message.tries])
        self._messages.failed(message.id, fault.what, next_at, now)
