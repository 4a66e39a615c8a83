"""A feed and the thread that reads it, kept going."""

import logging
import threading
from collections.abc import Callable, Mapping

from monitor.errors import MonitorError
from monitor.records import Reading
from monitor.sensing.sources import Feed, SourceStatus

Put = Callable[[int, Reading], None]

_log = logging.getLogger("layupwatch")


class Feeder:
    """Hands each reading of a feed on under the number that the book gives its sensor.

    `numbers`: those numbers by the sensors' names.
    """

    def __init__(self, feed: Feed, numbers: Mapping[str, int], put: Put) -> None:
        self._feed, self._numbers, self._put = feed, numbers, put
        self._said: dict[str, tuple[str, str] | None] = {}
        self._trouble: tuple[str, str] | None = None
        self._thread = self._made()

    @property
    def statuses(self) -> tuple[SourceStatus, ...]:
        return self._feed.statuses

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        self._feed.stop()

    def join(self) -> None:
        self._thread.join(timeout=1.5)

    def tend(self) -> None:
        """Begin again where the thread has died, and say what has changed."""
        if not self._thread.is_alive():
            if self._trouble is None:
                _log.error("The thread of %s had ended; it is started again.", self._feed.name)
            self._thread = self._made()
            self._thread.start()
        for status in self.statuses:
            if status.error != self._said.get(status.name):
                self._said[status.name] = status.error
                if status.error is not None:
                    _log.warning("Sensor %s: %s %s", status.name, *status.error)
                else:
                    _log.info("Sensor %s: heard again.", status.name)

    def _made(self) -> threading.Thread:
        return threading.Thread(target=self._run, name=self._feed.name, daemon=True)

    def _run(self) -> None:
        try:
            self._feed.run(self._deliver)
        except MonitorError as error:
            # Told once: it is tried again every few seconds, until the person has seen to it.
            if error.lines() != self._trouble:
                self._trouble = error.lines()
                _log.error("%s: %s %s", self._feed.name, *error.lines())

    def _deliver(self, sensor: str, reading: Reading) -> None:
        self._put(self._numbers[sensor], reading)
