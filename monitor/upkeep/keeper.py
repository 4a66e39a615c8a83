"""What a running watch does for its database between readings: backups, and mending."""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta

from monitor.config import Shop
from monitor.errors import MonitorError
from monitor.records import Sensor
from monitor.store import Store
from monitor.store.faults import AwayStore, DamagedStore
from monitor.store.rescue import rescue
from monitor.store.waiting import WaitingFile
from monitor.upkeep.backups import due, make_backup, nightly, thin_out
from monitor.upkeep.known import KnownSensors

DAY = timedelta(days=1)

_log = logging.getLogger("layupwatch")


class Upkeep:
    """One shop's. `waiting`: where readings are kept that the database can't take yet."""

    def __init__(self, shop: Shop, store: Store, clock: Callable[[], datetime]) -> None:
        self._shop, self._store, self._clock = shop, store, clock
        self.waiting = WaitingFile(shop.folder)
        self._last: datetime | None = None
        self._known = KnownSensors(shop.folder)

    def own_sensors(self) -> tuple[Sensor, ...]:
        """Those that this machine reads; while its server is away, those it read last.

        Raises StoreError for any other fault.
        """
        try:
            found = self._store.book.own_sensors()
        except AwayStore:
            return self._known.recall()
        if self._store.database.file is None:
            self._known.keep(found)
        return found

    def farewell(self) -> str:
        """What became of all that came in."""
        if self.waiting.path.exists():
            return f"Stopped. What could not be stored waits in {self.waiting.path}: run again."
        return "Stopped; everything that came in is stored."

    def tend(self) -> None:
        """Make the backup that is due. What stands in its way is told on the page and the log."""
        try:
            self._back_up(self._clock())
            self._let_go(self._clock())
        except MonitorError as fault:
            if self._store.health.say("backup", fault.lines()):
                _log.error("%s %s", *fault.lines())
        else:
            self._store.health.well("backup")

    def _back_up(self, now: datetime) -> None:
        keeping = self._shop.keeping
        if not keeping.nightly:
            return
        target = due(self._shop.backups, now, self._shop.zone)
        if target is not None:
            make_backup(self._store, target)
            thin_out(self._shop.backups, keeping.keep)
            _log.info("Backup made: %s.", target)

    def _let_go(self, now: datetime) -> None:
        """Raw readings older than shop.toml's raw_days, once a day; on a server by one machine."""
        days = self._shop.keeping.raw_days
        if days is None or (self._last is not None and now - self._last < DAY):
            return
        if self._store.leads():
            hours = self._store.let_go_before(now - timedelta(days=days))
            self._last = now
            if hours:
                _log.info("Raw readings of %d hours were let go; their sums stay.", hours)

    def must_be_whole(self) -> None:
        """A quick look through a file whose last run was cut off. Raises DamagedStore."""
        if self._store.database.file is not None:
            with self._store.database.reading() as connection:
                found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
            if found != "ok":
                raise DamagedStore(f"The database {self._store.database.name} is damaged.", _MEND)

    def mend(self) -> str:
        """Set a damaged database aside and put a whole one in its place; what became of it.

        Raises MonitorError.
        """
        stamp = f"{self._clock().astimezone(self._shop.zone):%Y-%m-%d-%H%M}"
        newest = next(iter(nightly(self._shop.backups)), None)
        done = rescue(self._store.database, stamp, newest)
        self.tell_of_rescue(done.sentence())
        return done.sentence()

    def tell_of_rescue(self, sentence: str) -> None:
        """On every page, until the next start."""
        self._store.health.say("rescued", (sentence, _LOOK_IT_OVER))


_MEND = "Set it aside and rescue what can be read: layupwatch check --mend."
_LOOK_IT_OVER = (
    "Look over what is open; keep the file aside until you have. This stands until the next start."
)
