"""The loop: a thread a port, one writer, and a look at everything open every half minute."""

import logging
import queue
import threading
from collections import defaultdict, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from apscheduler.schedulers.background import BackgroundScheduler

from monitor.alerts.channels import AlertChannel, LogChannel
from monitor.alerts.dispatch import Ways, look_at, settle
from monitor.alerts.doubted import aloud, doubted
from monitor.alerts.postman import Postman
from monitor.alerts.rules import Telling, due_now
from monitor.alerts.unsent import unsent
from monitor.errors import MonitorError, StoreError
from monitor.logbook import NO_PORT
from monitor.overview import Desk, overview
from monitor.records import Reading, Sensor
from monitor.sensing.clock_steps import ClockWatch
from monitor.sensing.serial_source import SerialSource
from monitor.sensing.sources import SourceStatus
from monitor.store import Store
from monitor.store.columns import us_from
from monitor.trust.watch import look_over

LOOK_EVERY_S = 30.0
SWEEP_EVERY_S = 5.0
HELD_READINGS = 200_000
"""Readings held while the database can't be written: at one a second, more than two days."""
WRITE_AT_ONCE = 2_000
RETRY_S = 1.0

Clocks = tuple[Callable[[], datetime], Callable[[], float]]

_log = logging.getLogger("layupwatch")


@dataclass(frozen=True, slots=True)
class ClockSet:
    """Stands in the writer's queue where the host's clock was set."""

    by: timedelta
    at: datetime


class Writer:
    """The one thread that stores readings. What can't be stored is held and tried again.

    `clocks`: the wall clock and one that only runs on (seconds), read as each reading comes in.
    Where the first was set, what this run had stored before is moved along.
    """

    def __init__(self, store: Store, clocks: Clocks | None = None) -> None:
        self._store = store
        self._clocks, self._watch, self._watching = clocks, ClockWatch(), threading.Lock()
        self._stamped: dict[int, deque[int]] = defaultdict(lambda: deque(maxlen=HELD_READINGS))
        self._to_move: list[int] = []
        self._queue: queue.Queue[tuple[int, Reading] | ClockSet] = queue.Queue(HELD_READINGS)
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="writer", daemon=True)
        self.lost = 0
        self.trouble: tuple[str, str] | None = None

    def start(self) -> None:
        self._thread.start()

    def put(self, sensor_id: int, reading: Reading) -> None:
        """Hand over a reading; never waits."""
        try:
            with self._watching:
                if self._clocks is not None:
                    wall, steady = self._clocks
                    now = wall()
                    by = self._watch.step(now, steady())
                    if by is not None:
                        self._queue.put_nowait(ClockSet(by, now))
                self._queue.put_nowait((sensor_id, reading))
        except queue.Full:
            self.lost += 1
            if self.lost == 1:
                _log.error("The database has not taken readings for long: new ones are lost.")

    def stop(self) -> None:
        """Store what is held, then end."""
        self._stopping.set()
        self._thread.join(timeout=2.0)

    def _run(self) -> None:
        while not (self._stopping.is_set() and self._queue.empty()):
            held = self._taken()
            while held and not self._stored(held):
                if self._stopping.wait(RETRY_S):
                    self._stored(held)
                    return

    def _taken(self) -> list[tuple[int, Reading] | ClockSet]:
        """What came in up to the next setting of the clock, or that setting alone."""
        try:
            taken = [self._queue.get(timeout=0.2)]
        except queue.Empty:
            return []
        while len(taken) < WRITE_AT_ONCE and not self._queue.empty():
            if isinstance(taken[-1], ClockSet) or isinstance(self._queue.queue[0], ClockSet):
                break
            taken.append(self._queue.get_nowait())
        if isinstance(taken[0], ClockSet):
            self._to_move = list(self._stamped)
        return taken

    def _stored(self, held: list[tuple[int, Reading] | ClockSet]) -> bool:
        by_sensor: dict[int, list[Reading]] = defaultdict(list)
        try:
            for one in held:
                if isinstance(one, ClockSet):
                    self._move_along(one)
                else:
                    by_sensor[one[0]].append(one[1])
            for sensor_id, readings in by_sensor.items():
                # A doubt that lasts holds from a reading's first moment, not from the next look.
                doubts = self._store.suspects.lasting(sensor_id)
                doubted = [replace(r, flags=r.flags | doubts) for r in readings]
                self._store.readings.add(sensor_id, doubted if doubts else readings)
        except StoreError as fault:
            if self.trouble is None:
                _log.error("%s %s", *fault.lines())
            self.trouble = fault.lines()
            return False
        if self._clocks is not None:
            for sensor_id, readings in by_sensor.items():
                self._stamped[sensor_id].extend(us_from(reading.at) for reading in readings)
        if self.trouble is not None:
            _log.warning("The database takes readings again.")
            self.trouble = None
        return True

    def _move_along(self, clock: ClockSet) -> None:
        _log.warning("This computer's clock was set by %+.0f s.", clock.by.total_seconds())
        shift_us = clock.by // timedelta(microseconds=1)
        # Where the database refuses in the middle, those that have been moved stay moved.
        while self._to_move:
            sensor_id = self._to_move[-1]
            times_us = self._stamped[sensor_id]
            self._store.suspects.restamp(sensor_id, times_us, clock.by, clock.at)
            self._stamped[sensor_id] = deque((t + shift_us for t in times_us), HELD_READINGS)
            self._to_move.pop()


class Listener:
    """One sensor's port and the thread that reads it."""

    def __init__(self, sensor: Sensor, writer: Writer, clock: Callable[[], datetime]) -> None:
        self.sensor = sensor
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

    def outdated_by(self, sensor: Sensor) -> bool:
        """Whether the book has put right how it is to be read."""
        own = self.sensor
        return (own.port, own.unit, own.format) != (sensor.port, sensor.unit, sensor.format)

    def kept_going(self) -> None:
        """Begin again where the thread has died."""
        if not self._thread.is_alive():
            _log.error("The thread of sensor %s had ended; it is started again.", self.sensor.name)
            self._begin()

    def stop(self) -> None:
        self._source.stop()

    def join(self) -> None:
        self._thread.join(timeout=1.5)


class Daemon:
    """Collects, checks and alerts until stopped. `clock` is what stamps and judges by.

    `steady` counts seconds and is never set: by it a setting of the clock is noticed.
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
        postman: Postman | None = None,
    ) -> None:
        self._store, self._telling, self._clock = store, telling, clock
        self._postman = Postman(store, (), clock) if postman is None else postman
        self._ways = Ways(tuple(channels), self._postman.names)
        self._desk = Desk(store, keeps=True) if desk is None else desk
        self._writer = Writer(store, None if steady is None else (clock, steady))
        self._listeners: dict[int, Listener] = {}
        self._said: dict[int, tuple[str, str] | None] = {}
        self._scheduler = BackgroundScheduler(
            timezone=UTC,
            job_defaults={"coalesce": True, "misfire_grace_time": None, "max_instances": 1},
        )
        self._scheduler.add_job(self.look, "interval", seconds=look_every_s)
        self._scheduler.add_job(self.sweep, "interval", seconds=SWEEP_EVERY_S)

    def start(self) -> None:
        self._writer.start()
        self.sweep()
        self._postman.start()
        self._scheduler.start()

    def stop(self) -> None:
        """End every thread, and store what had come in. Takes under three seconds."""
        self._scheduler.shutdown(wait=False)
        self._postman.stop()
        for listener in self._listeners.values():
            listener.stop()
        for listener in self._listeners.values():
            listener.join()
        self._writer.stop()

    @property
    def statuses(self) -> tuple[SourceStatus, ...]:
        return tuple(listener.status for listener in self._listeners.values())

    def look(self) -> None:
        """Doubt what can't be so, ask about everything open, and settle what is due."""
        now = self._clock()
        try:
            for sensor in self._store.book.sensors():
                look_over(self._store, sensor, now)
            seen = overview(self._store, now, self._desk)
            doubts = doubted(self._store, seen, self._telling.zone)
            look = look_at(self._store, seen, self._telling)
            due = aloud(due_now(look), doubts, seen)
            due += unsent(self._store, self._postman.names, now, self._telling.zone)
            settle(self._store, look, due, self._ways)
            self._postman.knock()
        except MonitorError as fault:
            _log.error("%s %s", *fault.lines())

    def sweep(self) -> None:
        """Start what was added, restart what died, keep what was learnt, and say what changed."""
        try:
            for sensor in self._store.book.sensors():
                self._tend(sensor)
        except MonitorError as fault:
            _log.error("%s %s", *fault.lines())

    def _tend(self, sensor: Sensor) -> None:
        listener = self._listeners.get(sensor.id)
        if listener is not None and listener.outdated_by(sensor):
            listener.stop()
            listener.join()
            listener = None
        if listener is None:
            if sensor.port != NO_PORT:
                self._listeners[sensor.id] = Listener(sensor, self._writer, self._clock)
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
