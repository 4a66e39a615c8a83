"""What one look at the book leaves for the next: readings, settled records, and what's ahead.

A desk made for one look fetches what that look needs. One that is kept answers again from the
last day's readings and from what the records before them came to, so that a look costs the same
however long the parts have stood.
"""

import math
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from threading import RLock

from monitor.assess import Case, Settled, settle, settling_point
from monitor.cure.outlook import NoOutlook
from monitor.cure.verdict import CLOCK_IN_DOUBT
from monitor.overview.ahead import NOTHING_AHEAD, Ahead, Outlooks
from monitor.overview.views import Beside
from monitor.records import Reading, Readings, Sheet, Stay
from monitor.sheets import parse_sheet
from monitor.store import LateNews, Store, Tails

KEPT = timedelta(days=1)
"""Readings younger than this are always at hand: what alerts and pages ask of is younger."""

_HELD_MOST = 4_000_000
"""Readings held at once while records are settled for the first time."""

Place = tuple[Stay, datetime, datetime | None]


@dataclass(frozen=True)
class HangsOn:
    """All of the book that a batch's settled record hangs on."""

    sheet: Sheet
    mixed_at: datetime
    give_or_take: timedelta
    seen_warm: tuple[datetime, ...]
    counted: tuple[Place, ...]
    watched: tuple[Place, ...]


@dataclass(frozen=True)
class _Kept:
    hangs_on: HangsOn
    settled: Settled

    def has(self, sensor_id: int) -> bool:
        return any(stay.sensor_id == sensor_id for stay, _, _ in self.hangs_on.watched)


@dataclass
class Desk:
    """Kept between looks, or made for one. One look at a time: hold `looking` around it."""

    store: Store
    keeps: bool = False
    looking: RLock = field(default_factory=RLock)

    def __post_init__(self) -> None:
        self.outlooks = Outlooks(self.store)
        self._newest: dict[int, Reading] | None = None
        self._sheets: dict[int, Sheet] = {}
        self._tails = Tails(self.store.readings)
        self._kept: dict[int, _Kept] = {}
        self._late = LateNews(self.store.readings.late_changes)

    def begin(self) -> None:
        """Take in what has changed since the last look."""
        if self.keeps:
            self._forget_changed()
        self._newest = None
        if self._tails:
            self._tails.go_on(self.newest)

    def end(self, now: datetime, batches: set[int]) -> None:
        """Let go of what the next look won't ask for: `batches` are those still open."""
        if not self.keeps:
            return
        for gone in self._kept.keys() - batches:
            del self._kept[gone]
        self._tails.let_go((now - KEPT).timestamp())

    @property
    def newest(self) -> dict[int, Reading]:
        """The newest reading of each sensor, good or bad, as this look found it."""
        if self._newest is None:
            self._newest = self.store.readings.newest()
        return self._newest

    @property
    def clock_in_doubt(self) -> bool:
        return self.store.health.stands("clock")

    def sheet(self, id: int) -> Sheet:
        """A kept sheet, read once: its text never changes."""
        if id not in self._sheets:
            kept = self.store.book.kept_sheet(id)
            self._sheets[id] = _parsed(kept.text, f"{kept.stem}.toml as kept")
        return self._sheets[id]

    def heard(self, sensor_id: int, since_s: float) -> Readings:
        """A sensor's readings from that moment on, and perhaps some before it."""
        return self._tails.since(sensor_id, since_s)

    def make_room(self, now: datetime) -> None:
        """Between two layups, while the first look goes through whole records."""
        if self.keeps and self._tails.held > _HELD_MOST:
            self._tails.let_go((now - KEPT).timestamp(), asked_for=True)

    def ahead(self, counted: tuple[Beside, ...], now: datetime) -> Ahead:
        """From the place it stands at now; nothing where it stands nowhere."""
        here = [b for b in counted if b.since <= now and (b.until is None or b.until > now)]
        if not here:
            return NOTHING_AHEAD
        if self.clock_in_doubt:
            return NoOutlook(CLOCK_IN_DOUBT), None
        return self.outlooks.at(here[-1].stay.sensor_id, here[-1].stay.channel, now)

    def settled(self, batch_id: int, hangs_on: HangsOn, now: datetime) -> Settled | None:
        """What the batch's record came to before, where nothing that it hangs on has changed."""
        kept = self._kept.get(batch_id)
        if kept is None or kept.hangs_on != hangs_on:
            return None
        return kept.settled if kept.settled.since.knot_s <= now.timestamp() else None

    def settle(self, batch_id: int, hangs_on: HangsOn, case: Case, now: datetime) -> Settled | None:
        """Keep what the record comes to, where enough readings have come since it was settled."""
        if not self.keeps:
            return None
        point_s = settling_point(case, now.timestamp())
        if point_s is None:
            return None
        settled = settle(case, point_s)
        self._kept[batch_id] = _Kept(hangs_on, settled)
        return settled

    def _forget_changed(self) -> None:
        """Readings that came late, or were doubted: what was made of them is made again."""
        for change in self._late.take():
            self._tails.forget(change.sensor_id)
            self.outlooks.forget(change.sensor_id)
            since_s = -math.inf if change.since is None else change.since.timestamp()
            for batch_id, kept in list(self._kept.items()):
                if kept.has(change.sensor_id) and since_s <= kept.settled.since.knot_s:
                    del self._kept[batch_id]


@lru_cache(maxsize=64)
def _parsed(text: str, name: str) -> Sheet:
    return parse_sheet(text, name)
