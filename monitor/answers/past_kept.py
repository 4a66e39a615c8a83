"""What one's own cups did, worked out a part at a time and kept: most parts never change again."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import groupby
from threading import Lock

from monitor.answers.past import PastJob, jobs_of, told_until
from monitor.overview import Desk
from monitor.store import LateNews, OpenLayup, Store

_NEVER_HEARD = datetime(1, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class _Part:
    """One part's jobs by sheet, and all that they hang on."""

    written: OpenLayup
    heard: tuple[datetime, ...]
    until: datetime
    jobs: tuple[tuple[str, PastJob], ...] = ()


class PastCups:
    """Earlier cups by sheet. A part is worked out anew when its book, or a reading, changed."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._parts: dict[int, _Part] = {}
        self._late = LateNews(store.readings.late_changes)
        self._lock = Lock()

    def of(self, stem: str, now: datetime) -> tuple[PastJob, ...]:
        """Every batch mixed by that sheet that has a mark to tell, newest first."""
        with self._lock:
            self._forget_changed()
            written = self._store.book.every_layup()
            for gone in self._parts.keys() - {one.layup.id for one in written}:
                del self._parts[gone]
            self._work_out(self._stale(written), now)
            told = [pair for part in self._parts.values() for pair in part.jobs]
        jobs = (job for own, job in told if own == stem)
        return tuple(sorted(jobs, key=lambda job: job.mixed_at, reverse=True))

    def _stale(self, written: Iterable[OpenLayup]) -> Iterator[_Part]:
        """Parts whose book has changed, or that have been heard since, with no jobs yet."""
        newest = {id: reading.at for id, reading in self._store.readings.newest().items()}
        for one in written:
            until = told_until(one.batches, one.marks)
            if until is None:
                self._parts.pop(one.layup.id, None)
                continue
            heard = tuple(min(newest.get(s.sensor_id, _NEVER_HEARD), until) for s in one.stays)
            kept = self._parts.get(one.layup.id)
            if kept is None or (kept.written, kept.heard) != (one, heard):
                yield _Part(one, heard, until)

    def _work_out(self, stale: Iterable[_Part], now: datetime) -> None:
        # Those of one place share what was heard there; what one place said fits in memory.
        oldest_first = sorted(stale, key=lambda part: (_place(part), _begun(part)))
        for _, alike in groupby(oldest_first, key=_place):
            desk = Desk(self._store)
            for part in alike:
                layup = part.written.layup
                jobs = tuple(jobs_of(self._store, layup, now, desk))
                self._parts[layup.id] = replace(part, jobs=jobs)

    def _forget_changed(self) -> None:
        """Readings that came late, were doubted, or put right by a check."""
        for change in self._late.take():
            self._forget(change.sensor_id, change.since)

    def _forget(self, sensor_id: int, since: datetime | None) -> None:
        for id, part in list(self._parts.items()):
            beside = any(stay.sensor_id == sensor_id for stay in part.written.stays)
            if beside and (since is None or since <= part.until):
                del self._parts[id]


def _place(part: _Part) -> list[int]:
    return sorted({stay.sensor_id for stay in part.written.stays})


def _begun(part: _Part) -> datetime:
    return min((batch.mixed_at for batch in part.written.batches), default=part.until)
