"""Counts kept between two looks at the same part: zooming counts nothing anew."""

from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from threading import Lock

from monitor.answers.counts import Standing, standing_of
from monitor.answers.picture import Kept
from monitor.overview import Desk, LayupView, view
from monitor.store import Store

_PARTS = 64
"""As many as a yard of forty benches looks at, and some."""
_SAME = timedelta(seconds=60)
"""As long as nothing new was read the count is shown as it stood, at most so long."""

_LATE_PER_READING = timedelta(microseconds=2)
"""The longer a record, the less a reading changes: a year's may be six seconds behind."""

_LONG = 20_000
"""A record of more readings is asked of the kept desk, which has settled most of it."""


@dataclass(frozen=True, slots=True)
class _Held:
    book: Kept
    newest: Hashable
    standing: Standing


class Standings:
    """What the counts of the parts last looked at came to. May be asked from several threads."""

    def __init__(self, store: Store, zone: tzinfo, desk: Desk) -> None:
        self._store, self._zone, self._desk = store, zone, desk
        self._held: OrderedDict[int, _Held] = OrderedDict()
        self._lock = Lock()

    def look(self, kept: Kept, at: datetime) -> LayupView:
        """The layup at `at`: the whole of a short record, of a long one what isn't settled."""
        held = self._held.get(kept.layup.id)
        if held is not None and held.standing.readings > _LONG and kept.layup.ended_at is None:
            return view(self._store, kept.layup, at, self._desk)
        return view(self._store, kept.layup, at)

    def of(self, kept: Kept, at: datetime, seen: LayupView | None = None) -> Standing:
        """The counts of a layup at `at`, or a little before. `seen`: it was looked at already."""
        newest = self._newest(kept)
        with self._lock:
            held = self._held.get(kept.layup.id)
            if seen is None and held is not None and _still_holds(held, kept, newest, at):
                return held.standing
            earlier = held.standing if held is not None and held.book == kept else None
            standing = self._counted(kept, at, seen or self.look(kept, at), earlier)
            self._held[kept.layup.id] = _Held(kept, newest, standing)
            self._held.move_to_end(kept.layup.id)
            while len(self._held) > _PARTS:
                self._held.popitem(last=False)
        return standing

    def _counted(
        self, kept: Kept, at: datetime, seen: LayupView, earlier: Standing | None
    ) -> Standing:
        standing = standing_of(seen, at, self._zone, earlier)
        if standing is None:
            standing = standing_of(view(self._store, kept.layup, at), at, self._zone)
        if standing is None:
            raise RuntimeError("a view of the whole record was settled before it was asked for")
        return standing

    def _newest(self, kept: Kept) -> Hashable:
        latest = self._store.readings.latest
        return tuple(
            reading and reading.at
            for reading in (latest(id) for id in sorted({s.sensor_id for s in kept.stays}))
        )


def _still_holds(held: _Held, kept: Kept, newest: Hashable, at: datetime) -> bool:
    age = at - held.standing.at
    if held.book != kept or age < timedelta(0):
        return False
    if held.newest == newest and age < _SAME:
        return True
    return age < held.standing.readings * _LATE_PER_READING
