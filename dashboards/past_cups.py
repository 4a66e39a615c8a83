"""What one's own cups did, worked out once: it takes every part's count, and seldom changes."""

from collections.abc import Hashable
from datetime import datetime, timedelta

from monitor.answers.past import PastJob, past_jobs
from monitor.store import Store

HELD_FOR = timedelta(minutes=10)
"""A later reading, or a doubt about one, shows after this long at most."""


class PastCups:
    """Earlier cups by sheet. Held until a part, a batch or a mark is written or put right."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._held: dict[str, tuple[Hashable, datetime, tuple[PastJob, ...]]] = {}

    def of(self, stem: str, now: datetime) -> tuple[PastJob, ...]:
        """Every batch mixed by that sheet that has a mark to tell, newest first."""
        written = self._written()
        held = self._held.get(stem)
        if held is not None and held[0] == written and abs(now - held[1]) < HELD_FOR:
            return held[2]
        jobs = past_jobs(self._store, stem, now)
        self._held[stem] = written, now, jobs
        return jobs

    def _written(self) -> Hashable:
        book = self._store.book
        layups = book.layups(open_only=False)
        return tuple((part, book.batches(part.id), book.marks(part.id)) for part in layups)
