"""The one thread that stores what the sensors say, and holds what can't be stored yet."""

import logging
import queue
import threading
from collections import defaultdict, deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import islice, takewhile

from monitor.errors import MonitorError, StoreError
from monitor.records import Flags, Reading
from monitor.sensing.clock_steps import ClockWatch, Stamped
from monitor.store import Store
from monitor.store.columns import us_from
from monitor.store.faults import DamagedStore, RefusedRow
from monitor.store.waiting import ClockSet, Waiting
from monitor.upkeep import Upkeep

HELD_READINGS = 200_000
"""Readings held while the database can't be written: at one a second, more than two days."""
WRITE_AT_ONCE = 2_000
RETRY_S = 1.0

Clocks = tuple[Callable[[], datetime], Callable[[], float]]

_log = logging.getLogger("layupwatch")


class Writer:
    """Stores readings. What can't be stored is held, on the disk too, and tried again.

    `clocks`: the wall clock and one that only runs on (seconds), read as each reading comes in.
    Where the first was set, what this run had stored before is moved along. `upkeep`: keeps what
    waits over a kill, and mends a damaged database; without it what waits is in memory alone.
    """

    def __init__(
        self,
        store: Store,
        clocks: Clocks | None = None,
        upkeep: Upkeep | None = None,
    ) -> None:
        self._store, self._upkeep = store, upkeep
        self._file = None if upkeep is None else upkeep.waiting
        self._clocks, self._watch, self._watching = clocks, ClockWatch(), threading.Lock()
        self._stamped: dict[int, Stamped] = defaultdict(Stamped)
        self._moving: ClockSet | None = None
        self._to_move: list[int] = []
        self._queue: queue.Queue[Waiting] = queue.Queue(HELD_READINGS)
        self._held: deque[Waiting] = deque()
        self._on_disk = 0
        self._damaged = threading.Event()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="writer", daemon=True)
        self.lost = self.turns = 0
        self.trouble: tuple[str, str] | None = None

    def start(self) -> None:
        self._thread.start()

    def kept_going(self) -> None:
        """Start its thread again where it has died of something nobody foresaw."""
        if not self._stopping.is_set() and self._thread.ident and not self._thread.is_alive():
            _log.error("What stores the readings had stopped by itself; it is started again.")
            self._thread = threading.Thread(target=self._go_on, name="writer", daemon=True)
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

    def met(self, fault: MonitorError) -> None:
        """Whoever else reads the database met a fault; a damaged one is mended soon."""
        if isinstance(fault, DamagedStore):
            self._damaged.set()

    def stop(self) -> None:
        """Store what is held, or leave it on the disk for the next run, then end."""
        self._stopping.set()
        self._thread.join(timeout=2.0)
        if self._thread.is_alive():
            # It waits for a server that doesn't answer; what it holds it has put on the disk.
            self._leave(list(_emptied(self._queue)))

    def _run(self) -> None:
        self._take_over()
        self._go_on()

    def _go_on(self) -> None:
        while self._held or not (self._stopping.is_set() and self._queue.empty()):
            self.turns += 1
            self._take_in()
            if self.trouble is not None:
                self._keep()
            if self._damaged.is_set():
                self._mended()
            if not self._all_stored():
                self._keep()
                if self._stopping.is_set():
                    return
                self._stopping.wait(RETRY_S)

    def _take_over(self) -> None:
        """Begin with what an earlier run could not store."""
        if self._file is None:
            return
        try:
            self._held.extend(self._file.left_over())
        except OSError as fault:
            _log.error("%s can't be read: %s.", self._file.path, fault.strerror)
        self._on_disk = len(self._held)
        if self._held:
            _log.info("%d readings waited on the disk; they are stored now.", len(self._held))

    def _take_in(self) -> None:
        if not self._held:
            try:
                self._held.append(self._queue.get(timeout=0.2))
            except queue.Empty:
                return
        room = HELD_READINGS - len(self._held)
        self._held.extend(islice(_emptied(self._queue), max(0, room)))

    def _all_stored(self) -> bool:
        """Store from the oldest on, some at a time; False at the first fault."""
        while self._held:
            batch = self._batch()
            try:
                self._store_batch(batch)
            except StoreError as fault:
                self._met(fault)
                return False
            for _ in batch:
                self._held.popleft()
            self._on_disk = max(0, self._on_disk - len(batch))
            if self.trouble is not None:
                _log.warning("The database takes readings again.")
                self.trouble = None
                self._store.health.well("readings")
        self._clear_file()
        return True

    def _clear_file(self) -> None:
        """All of it is stored; where the disk doesn't let it go, it is stored once more later."""
        if self._file is not None and self._file.path.exists():
            try:
                self._file.clear()
            except OSError as fault:
                _log.warning("%s can't be removed: %s.", self._file.path, fault.strerror)

    def _batch(self) -> list[Waiting]:
        """The oldest up to the next setting of the clock, or that setting alone."""
        first = self._held[0]
        if isinstance(first, ClockSet):
            if first is not self._moving:
                self._moving, self._to_move = first, list(self._stamped)
            return [first]
        some = islice(self._held, WRITE_AT_ONCE)
        return list(takewhile(lambda one: not isinstance(one, ClockSet), some))

    def _store_batch(self, batch: Sequence[Waiting]) -> None:
        by_sensor: dict[int, list[Reading]] = defaultdict(list)
        for one in batch:
            if isinstance(one, ClockSet):
                self._move_along(one)
            else:
                by_sensor[one[0]].append(one[1])
        # A doubt that lasts holds from a reading's first moment, not from the next look.
        lasting = self._store.suspects.lasting() if by_sensor else {}
        for sensor_id, readings in by_sensor.items():
            doubts = lasting.get(sensor_id, Flags())
            doubted = [replace(r, flags=r.flags | doubts) for r in readings]
            try:
                self._store.readings.add(sensor_id, doubted if doubts else readings)
            except RefusedRow as fault:
                _log.error("%s %s", *fault.lines())
                self._leave([(sensor_id, reading) for reading in readings], refused=True)
        if self._clocks is not None:
            for sensor_id, readings in by_sensor.items():
                self._stamped[sensor_id].add(us_from(reading.at) for reading in readings)

    def _move_along(self, clock: ClockSet) -> None:
        _log.warning("This computer's clock was set by %+.0f s.", clock.by.total_seconds())
        shift_us = clock.by // timedelta(microseconds=1)
        # Where the database refuses in the middle, those that have been moved stay moved.
        while self._to_move:
            sensor_id = self._to_move[-1]
            stamped = self._stamped[sensor_id]
            self._store.suspects.restamp(sensor_id, stamped.times_us, clock.by, clock.at)
            stamped.move(shift_us)
            self._to_move.pop()

    def _keep(self) -> None:
        """Put on the disk what is held and isn't there yet."""
        if self._file is None:
            return
        try:
            if self._on_disk < len(self._held):
                self._file.add(islice(self._held, self._on_disk, None))
                self._on_disk = len(self._held)
        except OSError:
            # It stays in memory; the trouble that is told says so.
            return
        finally:
            self._tell()

    def _leave(self, waiting: list[Waiting], *, refused: bool = False) -> None:
        """Out of the writer's hands, to the disk where that can be."""
        try:
            if self._file is None:
                raise OSError(0, "there is no file for them")
            (self._file.refuse if refused else self._file.add)(waiting)
        except OSError as fault:
            self.lost += len(waiting)
            _log.error("%d readings are lost: %s.", len(waiting), fault.strerror)

    def _met(self, fault: StoreError) -> None:
        if self.trouble is None:
            _log.error("%s %s", *fault.lines())
        self.met(fault)
        self.trouble = fault.lines()
        self._tell()

    def _tell(self) -> None:
        """What stands in the way, what becomes of the readings, and what to do."""
        if self.trouble is None:
            return
        what, remedy = self.trouble
        count = len(self._held) + self._queue.qsize()
        if self._file is None or self._on_disk < len(self._held):
            fate = f"{count} readings wait in memory, and are lost if this computer stops."
        else:
            fate = f"{count} readings wait in the shop folder, and are stored when it goes again."
        if self.lost:
            fate += f" {self.lost} more are lost: there was no room left to hold them."
        self._store.health.say("readings", (f"{what} {fate}", remedy))

    def _mended(self) -> None:
        self._damaged.clear()
        if self._upkeep is None:
            return
        try:
            _log.warning("%s", self._upkeep.mend())
        except MonitorError as fault:
            self.trouble = fault.lines()
            self._tell()


def _emptied(waiting: "queue.Queue[Waiting]") -> Iterator[Waiting]:
    while True:
        try:
            yield waiting.get_nowait()
        except queue.Empty:
            return
