"""The loop: a thread a port, one writer, and a look at everything open every half minute."""

import logging
import threading
from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from apscheduler.schedulers.background import BackgroundScheduler

from monitor.alerts.channels import AlertChannel, LogChannel
from monitor.alerts.dispatch import Ways, look_at, settle
from monitor.alerts.doubted import aloud, doubted
from monitor.alerts.postman import Postman
from monitor.alerts.rules import Telling, due_now
from monitor.alerts.unsent import unsent
from monitor.errors import MonitorError
from monitor.logbook import NO_PORT
from monitor.overview import Desk, overview
from monitor.records import Reading, Sensor
from monitor.sensing.feeder import Feeder
from monitor.sensing.serial_source import SerialSource
from monitor.sensing.sources import Feed, SourceStatus
from monitor.store import Store
from monitor.trust.watch import Heard, look_over_all
from monitor.upkeep import Upkeep
from monitor.wires import Columns, is_fed
from monitor.writer import Writer

LOOK_EVERY_S = 30.0
SWEEP_EVERY_S = 5.0
TEND_EVERY_S = 300.0
WRITER_STUCK_S = 60.0
LOOK_STUCK_S = 600.0
"""What stores turns several times a second. A first look on a small board may take minutes."""

_log = logging.getLogger("layupwatch")


class Listener:
    """One sensor's port and the thread that reads it."""

    def __init__(
        self,
        sensor: Sensor,
        columns: Columns | None,
        writer: Writer,
        clock: Callable[[], datetime],
    ) -> None:
        self.sensor, self._columns = sensor, columns
        self._writer, self._clock = writer, clock
        self._begin()

    def _begin(self) -> None:
        sensor = self.sensor
        self._source = SerialSource(
            sensor.name,
            sensor.port,
            clock=self._clock,
            unit=sensor.unit,
            format=sensor.format,
            identity=sensor.identity,
            columns=self._columns,
        )
        self._thread = threading.Thread(
            target=self._source.run,
            args=(self._deliver,),
            name=f"sensor {sensor.name}",
            daemon=True,
        )
        self._thread.start()

    def _deliver(self, reading: Reading) -> None:
        self._writer.put(self.sensor.id, reading)

    @property
    def status(self) -> SourceStatus:
        return self._source.status

    def outdated_by(self, sensor: Sensor, columns: Columns | None) -> bool:
        """Whether the book, or shop.toml, has put right how it is to be read."""
        own = self.sensor
        told = (sensor.port, sensor.unit, sensor.format, columns)
        return (own.port, own.unit, own.format, self._columns) != told

    def kept_going(self) -> None:
        """Begin again where the thread has died."""
        if not self._thread.is_alive():
            _log.error("The thread of sensor %s had ended; it is started again.", self.sensor.name)
            self._begin()

    def stop(self) -> None:
        self._source.stop()

    def join(self) -> None:
        self._thread.join(timeout=1.5)


class Pulse:
    """Whether a number that counts what was done still changes, within so many seconds."""

    def __init__(self, within_s: float) -> None:
        self._within_s = within_s
        self._last: tuple[int, float] | None = None

    def moved(self, count: int, steady_s: float) -> bool:
        if self._last is None or self._last[0] != count:
            self._last = count, steady_s
        return steady_s - self._last[1] <= self._within_s


class Daemon:
    """Collects, checks and alerts until stopped. `clock` is what stamps and judges by.

    `steady` counts seconds and is never set: by it a setting of the clock is noticed. `feeds`:
    what is read over a bus or a broker, for sensors that stand in the book. `columns_of`: which
    value is which in a sensor's lines, where somebody told it.
    """

    def __init__(
        self,
        store: Store,
        telling: Telling,
        *,
        clock: Callable[[], datetime],
        channels: Sequence[AlertChannel] = (LogChannel(),),
        look_every_s: float = LOOK_EVERY_S,
        desk: Desk | None = None,
        steady: Callable[[], float] | None = None,
        upkeep: Upkeep | None = None,
        postman: Postman | None = None,
        feeds: Sequence[Feed] = (),
        columns_of: Callable[[str], Columns | None] = lambda sensor: None,
    ) -> None:
        self._store, self._telling, self._clock = store, telling, clock
        self._postman = Postman(store, (), clock) if postman is None else postman
        self._ways = Ways(tuple(channels), self._postman.names)
        self._desk = Desk(store, keeps=True) if desk is None else desk
        self._heard = Heard(store)
        clocks = None if steady is None else (clock, steady)
        self._writer = Writer(store, clocks, upkeep)
        self._own_sensors = store.book.own_sensors if upkeep is None else upkeep.own_sensors
        self._looks = 0
        self._looking = Pulse(LOOK_STUCK_S)
        self._writing = Pulse(WRITER_STUCK_S)
        self._columns_of = columns_of
        numbers = {sensor.name: sensor.id for sensor in self._own_sensors()} if feeds else {}
        self._feeders = tuple(Feeder(feed, numbers, self._writer.put) for feed in feeds)
        self._listeners: dict[int, Listener] = {}
        self._said: dict[int, tuple[str, str] | None] = {}
        self._scheduler = BackgroundScheduler(
            timezone=UTC,
            job_defaults={"coalesce": True, "misfire_grace_time": None, "max_instances": 1},
        )
        self._scheduler.add_job(self.look, "interval", seconds=look_every_s)
        self._scheduler.add_job(self.sweep, "interval", seconds=SWEEP_EVERY_S)
        if upkeep is not None:
            self._scheduler.add_job(upkeep.tend, "interval", seconds=TEND_EVERY_S)

    def start(self) -> None:
        self._writer.start()
        for feeder in self._feeders:
            feeder.start()
        self.sweep()
        self._postman.start()
        self._scheduler.start()

    def stop(self) -> None:
        """End every thread, and store what had come in. Takes under three seconds."""
        self._scheduler.shutdown(wait=False)
        self._postman.stop()
        reading: tuple[Listener | Feeder, ...] = (*self._listeners.values(), *self._feeders)
        for each in reading:
            each.stop()
        for each in reading:
            each.join()
        self._writer.stop()

    @property
    def statuses(self) -> tuple[SourceStatus, ...]:
        fed = tuple(status for feeder in self._feeders for status in feeder.statuses)
        return (*(listener.status for listener in self._listeners.values()), *fed)

    def alive(self, steady_s: float) -> bool:
        """Whether what stores and what looks go on, by a clock that nobody sets. Ask it often."""
        writing = self._writing.moved(self._writer.turns, steady_s)
        return self._looking.moved(self._looks, steady_s) and writing

    def look(self) -> None:
        """Doubt what can't be so, ask about everything open, and settle what is due."""
        now = self._clock()
        try:
            if not self._store.leads():
                # Another machine that shares this database looks and alerts.
                self._looks += 1
                return
            look_over_all(self._store, now, self._heard)
            seen = overview(self._store, now, self._desk)
            doubts = doubted(self._store, seen, self._telling.zone)
            look = look_at(self._store, seen, self._telling)
            due = aloud(due_now(look), doubts, seen)
            due += unsent(self._store, self._postman.names, now, self._telling.zone)
            settle(self._store, look, due, self._ways)
            self._postman.knock()
        except MonitorError as fault:
            self._writer.met(fault)
            _log.error("%s %s", *fault.lines())
        self._looks += 1

    def sweep(self) -> None:
        """Start what was added, restart what died, keep what was learnt, and say what changed."""
        self._writer.kept_going()
        for feeder in self._feeders:
            feeder.tend()
        try:
            for sensor in self._own_sensors():
                self._tend(sensor)
        except MonitorError as fault:
            _log.error("%s %s", *fault.lines())

    def _tend(self, sensor: Sensor) -> None:
        listener = self._listeners.get(sensor.id)
        columns = self._columns_of(sensor.name)
        if listener is not None and listener.outdated_by(sensor, columns):
            listener.stop()
            listener.join()
            del self._listeners[sensor.id]
            listener = None
        if listener is None:
            if sensor.port != NO_PORT and not is_fed(sensor.port):
                made = Listener(sensor, columns, self._writer, self._clock)
                self._listeners[sensor.id] = made
            return
        listener.kept_going()
        status = listener.status
        if status.error != self._said.get(sensor.id):
            self._said[sensor.id] = status.error
            if status.error is not None:
                _log.warning("Sensor %s: %s %s", sensor.name, *status.error)
            else:
                _log.info("Sensor %s: heard again.", sensor.name)
        if sensor.identity is None and status.identity is not None:
            self._store.book.update_sensor(sensor.id, identity=status.identity)
